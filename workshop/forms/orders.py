"""Forms for jobs and quotes."""

from decimal import Decimal

from django import forms
from django.utils.translation import gettext_lazy as _

from workshop.models import Commission, Customer, Doll, FootVersion, Hide, QuoteMessage
from workshop.selectors.orders import feet_of, hides_on_shelf, number_in, styles_offered

YES_NO = [("", _("as the style")), ("true", _("yes")), ("false", _("no"))]


class CommissionForm(forms.Form):
    """A new job: whose doll, and what was asked."""

    customer = forms.CharField(
        label=_("Customer"),
        max_length=130,
        required=False,
        help_text=_("A name, or a code such as C-0001; a new name makes a new customer."),
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
        help_text=_("A name, or a code such as D-0001; a new name makes a new doll."),
        widget=forms.TextInput(attrs={"list": "dolls", "autocomplete": "off"}),
    )
    material = forms.ChoiceField(
        label=_("Material of a new doll"), choices=Doll.Material.choices, required=False
    )
    wanted_on = forms.DateField(
        label=_("Wanted on"), required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    note = forms.CharField(
        label=_("What was asked"),
        max_length=8000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
    )

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
            return Doll(name=text, material=self.data.get("material") or Doll.Material.RESIN)
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
            return Customer(name=text, email=self.cleaned_data.get("email") or "")
        customer = Customer.objects.filter(number=number).first()
        if customer is None:
            self.add_error("customer", _("There is no customer %(code)s.") % {"code": text})
        return customer


def _coded(text: str, letter: str) -> int | None:
    """Return the number of a text that begins with a code, as a suggestion does."""
    word = text.split(" ")[0] if text else ""
    return number_in(word) if word[:1].upper() == letter else None


class CommissionNoteForm(forms.ModelForm):
    """What may be changed of a job once it is taken in."""

    class Meta:
        model = Commission
        fields = ["wanted_on", "note"]
        widgets = {
            "wanted_on": forms.DateInput(attrs={"type": "date"}),
            "note": forms.Textarea(attrs={"rows": 4}),
        }


class ChoiceForm(forms.Form):
    """What a quote is for; sent as a query, so that trying out stores nothing."""

    style = forms.TypedChoiceField(label=_("Style"), coerce=int)
    foot = forms.TypedChoiceField(label=_("Foot"), coerce=int)
    hide = forms.TypedChoiceField(label=_("Leather"), coerce=int, required=False, empty_value=None)
    pairs = forms.IntegerField(label=_("Pairs"), min_value=1, max_value=20)
    boot_height_mm = forms.DecimalField(
        label=_("Height (mm)"), required=False, max_digits=7, decimal_places=2
    )
    eyelet_count = forms.IntegerField(
        label=_("Eyelets in a row"), required=False, min_value=0, max_value=40
    )
    heel_height_mm = forms.DecimalField(
        label=_("Heel (mm)"), required=False, max_digits=6, decimal_places=2
    )
    lining = forms.ChoiceField(label=_("Lining"), choices=YES_NO, required=False)

    OPTIONS = ("boot_height_mm", "eyelet_count", "heel_height_mm", "lining")

    def __init__(self, data: object, *, doll_id: int) -> None:
        self.feet = list(feet_of(doll_id))
        self.styles = styles_offered()
        self.hides = hides_on_shelf()
        self.data_given = data
        super().__init__(self._with_defaults(data))
        self.fields["style"].choices = [(v.pk, v.style.name) for v in self.styles]
        self.fields["foot"].choices = [(foot.pk, _foot_label(foot)) for foot in self.feet]
        self.fields["hide"].choices = [(hide.pk, _hide_label(hide)) for hide in self.hides]

    def _with_defaults(self, data: object) -> dict[str, object]:
        """Fill what the query leaves out, so that the bare address shows something useful."""
        first = {
            "style": self.styles[0].pk if self.styles else "",
            "foot": self.feet[0].pk if self.feet else "",
            "hide": self.hides[0].pk if self.hides else "",
            "pairs": 1,
        }
        return first | {name: data[name] for name in data if data[name] != "" or name == "hide"}

    def options(self) -> dict[str, str]:
        """Return the style parameters that were typed here."""
        typed = {name: self.cleaned_data.get(name) for name in self.OPTIONS}
        return {
            name: format(value, "f") if isinstance(value, Decimal) else str(value)
            for name, value in typed.items()
            if value not in (None, "")
        }

    def chosen(self, name: str) -> FootVersion | Hide | object | None:
        """Return the chosen record of one of the three lists."""
        rows = {"style": self.styles, "foot": self.feet, "hide": self.hides}[name]
        return next((row for row in rows if row.pk == self.cleaned_data.get(name)), None)


def _foot_label(foot: FootVersion) -> str:
    return f"{foot.get_foot_side_display()} {foot.version}, {foot.foot_length.normalize():f} mm"


def _hide_label(hide: Hide) -> str:
    return f"{hide.code} {hide.lot.name}, {hide.lot.colour}, {hide.thickness_mm} mm"


class AnswerForm(forms.Form):
    """The customer's answer as it came by mail, typed in by the maker."""

    answer = forms.ChoiceField(
        label=_("Answer"), choices=[("accepted", _("accepted")), ("declined", _("declined"))]
    )
    way = forms.ChoiceField(
        label=_("It came by"),
        choices=[("mail", _("mail")), ("telephone", _("telephone")), ("in person", _("in person"))],
    )
    note = forms.CharField(
        label=_("The message"),
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class QuestionForm(forms.ModelForm):
    """A customer's question on the open quote page."""

    class Meta:
        model = QuoteMessage
        fields = ["text"]
        widgets = {"text": forms.Textarea(attrs={"rows": 4, "maxlength": 2000})}
