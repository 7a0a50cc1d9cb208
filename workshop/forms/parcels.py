"""The form of a parcel; what it cost is asked of those alone who may see money."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from costing.money import to_minor_unit
from workshop.forms.pairs import DayField, MoneyField
from workshop.models import Parcel, WorkshopProfile
from workshop.tokens import random_token

MONEY_FIELDS = ("cost", "packing_cost")


class ParcelForm(forms.ModelForm):
    """One parcel as it was packed and sent."""

    sent_on = DayField(label=gettext_lazy("Sent on"))
    cost = MoneyField(
        label=gettext_lazy("Postage really paid"),
        required=False,
        help_text=gettext_lazy("Takes the place of the quoted postage when the job is counted."),
    )
    packing_cost = MoneyField(label=gettext_lazy("Packing really cost"), required=False)
    form_key = forms.CharField(
        max_length=43, required=False, initial=random_token, widget=forms.HiddenInput
    )

    class Meta:
        model = Parcel
        fields = [
            "sent_on",
            "packing",
            "weight_g",
            "carrier",
            "tracking",
            "cost",
            "packing_cost",
            "note",
        ]
        help_texts = {
            "packing": gettext_lazy("Box, tissue, padding: whatever it is packed in."),
            "carrier": gettext_lazy("In your own words."),
        }

    def __init__(self, *args: Any, with_money: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kept = self.instance.commission.kept.filter(sent_back_on=None)
        if self.instance.pk is None and (names := [row.what for row in self.kept]):
            self.fields["with_goods"] = forms.BooleanField(
                label=_("The customer's goods go back with it: %(what)s")
                % {"what": ", ".join(names)},
                required=False,
                initial=True,
            )
        if not with_money:
            for name in MONEY_FIELDS:
                del self.fields[name]
        if self.instance.pk is not None:
            del self.fields["form_key"]
            currency = WorkshopProfile.current().currency
            for name in MONEY_FIELDS:
                if self.initial.get(name) is not None:
                    self.initial[name] = to_minor_unit(self.initial[name], currency)
        else:
            self.initial["sent_on"] = timezone.localdate()

    def clean_packing_cost(self) -> Decimal:
        """Take an empty cost of packing as none."""
        return self.cleaned_data.get("packing_cost") or Decimal(0)

    def _post_clean(self) -> None:
        super()._post_clean()
        if "form_key" in self.fields:
            self.instance.form_key = self.cleaned_data.get("form_key") or None
