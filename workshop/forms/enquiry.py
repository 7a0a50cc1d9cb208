"""Forms for taking a job in, and for what may be changed of it: what was asked, and until when."""

import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from workshop.models import Commission, Customer, Doll, WorkshopProfile
from workshop.selectors.orders import number_in
from workshop.tokens import random_token

LONGEST_WAIT = datetime.timedelta(days=3653)


class WantedField(forms.DateField):
    """The day something is wanted on: today or later, within ten years."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def clean(self, value: Any) -> Any:
        """Refuse a day that is over, but the one that stands already."""
        day = super().clean(value)
        if day is None or day == self.initial:
            return day
        today = timezone.localdate()
        if day < today:
            raise ValidationError(_("That day is over; write today or a later one."))
        if day > today + LONGEST_WAIT:
            raise ValidationError(_("That is more than ten years away; check the year."))
        return day


class CommissionForm(forms.Form):
    """A new job: whose doll, and what was asked."""

    customer = forms.CharField(
        label=_("Customer"),
        max_length=130,
        required=False,
        help_text=_("A name, or a code such as C-0001; a name not known yet makes a new customer."),
        widget=forms.TextInput(attrs={"list": "customers", "autocomplete": "off"}),
    )
    email = forms.EmailField(
        label=_("E-mail of a new customer"),
        required=False,
        help_text=_("May be left empty."),
    )
    doll = forms.CharField(
        label=_("Doll"),
        max_length=130,
        help_text=_("A name, or a code such as D-0001; a name not known yet makes a new doll."),
        widget=forms.TextInput(attrs={"list": "dolls", "autocomplete": "off"}),
    )
    material = forms.ChoiceField(
        label=_("Material of a new doll"), choices=Doll.Material.choices, required=False
    )
    wanted_on = WantedField(label=_("Wanted on"), required=False)
    country = forms.CharField(label=_("Country it goes to"), max_length=60, required=False)
    budget = forms.DecimalField(
        label=_("Budget named"),
        min_value=Decimal("0.01"),
        max_digits=12,
        decimal_places=2,
        required=False,
    )
    photo_file = forms.FileField(
        label=_("Photograph (JPEG, PNG or WebP)"),
        required=False,
        help_text=_("More can be added on the job's page."),
        widget=forms.ClearableFileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    note = forms.CharField(
        label=_("What was asked"),
        max_length=8000,
        required=False,
        help_text=_("The customer's message may be pasted whole, up to 8000 signs."),
        widget=forms.Textarea(attrs={"rows": 8}),
    )

    form_key = forms.CharField(
        max_length=43, required=False, initial=random_token, widget=forms.HiddenInput
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["budget"].label = _("Budget named (%(currency)s)") % {
            "currency": WorkshopProfile.current().currency
        }

    def clean(self) -> dict[str, object]:
        """Find the customer and the doll, or prepare new ones."""
        data = super().clean()
        doll = self._doll(data.get("doll", ""))
        customer = self._customer(data.get("customer", ""), doll)
        is_known = doll is not None and customer is not None and not doll._state.adding
        if is_known and doll.customer_id not in (None, customer.pk):
            self.add_error("doll", _("That doll belongs to another customer."))
        data["customer_record"], data["doll_record"] = customer, doll
        return data

    def _doll(self, text: str) -> Doll | None:
        number = _coded(text, "D")
        if number is None:
            return self._doll_named(text)
        doll = Doll.objects.filter(number=number).select_related("customer").first()
        if doll is None and text:
            self.add_error("doll", _("There is no doll %(code)s.") % {"code": text})
        return doll

    def _customer(self, text: str, doll: Doll | None) -> Customer | None:
        if not text:
            if doll is not None and doll.customer_id:
                return doll.customer
            self.add_error("customer", _("Name the customer."))
            return None
        number = _coded(text, "C")
        if number is None:
            return self._customer_named(text)
        customer = Customer.objects.filter(number=number).first()
        if customer is None:
            self.add_error("customer", _("There is no customer %(code)s.") % {"code": text})
        return customer

    def _doll_named(self, name: str) -> Doll | None:
        """Return the customer's doll of that name, or a new one."""
        customer = self.cleaned_data.get("customer", "")
        known = Doll.objects.filter(name__iexact=name).select_related("customer")
        number = _coded(customer, "C")
        if number is not None:
            known = known.filter(customer__number=number)
        elif customer:
            known = known.filter(customer__name__iexact=customer)
            if email := self.cleaned_data.get("email"):
                known = known.filter(customer__email__in=("", email))
        return self._only_one(known, "doll") or Doll(
            name=name, material=self.cleaned_data.get("material") or Doll.Material.RESIN
        )

    def _customer_named(self, name: str) -> Customer | None:
        """Return the customer of that name, or a new one."""
        email = self.cleaned_data.get("email") or ""
        known = Customer.objects.filter(name__iexact=name)
        if email:  # two people may share a name; another address is another person
            known = known.filter(email__in=("", email))
        return self._only_one(known, "customer") or Customer(name=name, email=email)

    def _only_one(self, known: QuerySet[Any], field: str) -> Any:
        """Return the one record found; several need a code to tell them apart."""
        found = list(known.order_by("-number")[:6])
        if len(found) > 1:
            codes = ", ".join(record.code for record in found)
            self.add_error(
                field, _("Several have that name: %(codes)s. Write the code.") % {"codes": codes}
            )
        return found[0] if found else None


def _coded(text: str, letter: str) -> int | None:
    """Return the number of a text that begins with a code, as a suggestion does."""
    word = text.split(" ")[0] if text else ""
    return number_in(word) if word[:1].upper() == letter else None


class CommissionNoteForm(forms.ModelForm):
    """What may be changed of a job once it is taken in."""

    wanted_on = WantedField(label=_("Wanted on"), required=False)

    class Meta:
        model = Commission
        fields = ["wanted_on", "country", "budget", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 12})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["wanted_on"].initial = self.instance.wanted_on


class PhotoForm(forms.Form):
    """One more photograph, and what it shows."""

    photo_file = forms.FileField(
        label=_("Photograph (JPEG, PNG or WebP)"),
        required=False,
        widget=forms.ClearableFileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    note = forms.CharField(label=_("What it shows"), max_length=160, required=False)
