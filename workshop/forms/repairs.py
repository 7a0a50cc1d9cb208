"""Forms of alterations, repairs and remakes: what came of what, the small price, the answer."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from costing.errors import CostError
from costing.job import MaterialUse
from costing.labour import LONGEST_NAME, WorkStep
from workshop.bridge import as_written
from workshop.forms.enquiry import WantedField
from workshop.forms.pairs import MOST_MONEY, DayField, MoneyField
from workshop.models import Commission, Kept, LeatherLot, Quote, Repair, RepairPrice, Supply
from workshop.selectors.repairs import causes_offered, price_shown
from workshop.selectors.work_log import snapshot_parts
from workshop.tokens import random_token

MOST_MINUTES = Decimal(20_000)
MOST_ROWS = 20


class CauseForm(forms.ModelForm):
    """What a repair comes of, in words and by step, glue and leather, to be counted by."""

    step = forms.CharField(
        label=gettext_lazy("Step of the work it comes from"),
        max_length=80,
        required=False,
        widget=forms.TextInput(attrs={"list": "steps", "autocomplete": "off"}),
    )
    glue = forms.ModelChoiceField(
        label=gettext_lazy("Glue it comes from"),
        queryset=Supply.objects.filter(kind=Supply.Kind.GLUE).order_by("name"),
        required=False,
        empty_label=gettext_lazy("not a glue"),
    )
    leather = forms.ModelChoiceField(
        label=gettext_lazy("Leather it comes from"),
        queryset=LeatherLot.objects.order_by("-number"),
        required=False,
        empty_label=gettext_lazy("not a leather"),
    )

    class Meta:
        model = Repair
        fields = ["cause", "step", "glue", "leather"]
        widgets = {"cause": forms.Textarea(attrs={"rows": 3})}

    @property
    def steps(self) -> list[str]:
        """Return the steps offered while typing."""
        return causes_offered()


class RepairForm(CauseForm):
    """An alteration, repair or remake as it is taken in."""

    wanted_on = WantedField(label=gettext_lazy("Wanted on"), required=False)
    note = forms.CharField(
        label=gettext_lazy("What the customer wrote"),
        max_length=8000,
        required=False,
        help_text=gettext_lazy("The message may be pasted whole, up to 8000 signs."),
        widget=forms.Textarea(attrs={"rows": 6}),
    )
    form_key = forms.CharField(
        max_length=43, required=False, initial=random_token, widget=forms.HiddenInput
    )

    class Meta(CauseForm.Meta):
        fields = ["kind", "feet", "is_free", "cause", "step", "glue", "leather"]

    def __init__(self, *args: Any, first: Commission, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["kind"] = self.initial.get("kind") or Repair.Kind.REPAIR
        # The leather of the first order stands at the head of the list: most likely it is that.
        lot = _lot_of(first)
        if lot is not None:
            self.fields["leather"].help_text = _("The first order is of %(lot)s.") % {"lot": lot}


def _lot_of(first: Commission) -> str | None:
    accepted = Quote.objects.filter(commission=first, state=Quote.State.ACCEPTED)
    quote_id = accepted.values_list("pk", flat=True).first()
    if quote_id is None:
        return None
    hide = snapshot_parts([quote_id], "hide")[quote_id]["hide"] or {}
    return ", ".join(str(hide[key]) for key in ("leather", "colour") if hide.get(key)) or None


class WorkRow(forms.Form):
    """Minutes of one step; empty where there is none."""

    name = forms.CharField(
        label=gettext_lazy("Step"),
        max_length=LONGEST_NAME,
        required=False,
        widget=forms.TextInput(attrs={"list": "steps", "autocomplete": "off"}),
    )
    minutes = forms.DecimalField(
        label=gettext_lazy("Minutes"),
        min_value=Decimal("0.1"),
        max_value=MOST_MINUTES,
        max_digits=8,
        decimal_places=2,
        required=False,
    )

    def clean(self) -> dict[str, Any]:
        """Ask for both or neither."""
        data = super().clean()
        if data.get("name") and data.get("minutes") is None and "minutes" not in self.errors:
            self.add_error("minutes", _("Write how many minutes."))
        if data.get("minutes") is not None and not data.get("name") and "name" not in self.errors:
            self.add_error("name", _("Write what is done."))
        return data

    @property
    def work(self) -> WorkStep | None:
        """Return the step, None of an empty row."""
        data = self.cleaned_data
        return WorkStep(data["name"], data["minutes"], "order") if data.get("name") else None


class MaterialRow(forms.Form):
    """One material: a supply by its name, or anything else with its unit and price."""

    name = forms.CharField(
        label=gettext_lazy("Material"),
        max_length=LONGEST_NAME,
        required=False,
        widget=forms.TextInput(attrs={"list": "supplies", "autocomplete": "off"}),
    )
    quantity = forms.DecimalField(
        label=gettext_lazy("Quantity"),
        min_value=Decimal("0.001"),
        max_value=Decimal(100_000),
        max_digits=10,
        decimal_places=3,
        required=False,
    )
    unit = forms.CharField(label=gettext_lazy("Unit"), max_length=20, required=False)
    unit_cost = forms.DecimalField(
        label=gettext_lazy("Cost of one unit"),
        min_value=Decimal(0),
        max_value=MOST_MONEY,
        max_digits=14,
        decimal_places=6,
        required=False,
    )

    def clean(self) -> dict[str, Any]:
        """Fill unit and price in by the supply of that name, and ask for what is missing."""
        data = super().clean()
        if self.errors or not any(data.get(name) for name in ("name", "quantity", "unit")):
            return data
        supply = Supply.objects.filter(name__iexact=data.get("name") or "").first()
        offered = {
            "name": None,
            "quantity": None,
            "unit": supply.get_unit_display() if supply is not None else None,
            "unit_cost": as_written(supply.unit_cost) if supply is not None else None,
        }
        for name, value in offered.items():
            if data.get(name) in (None, ""):
                data[name] = value
                if value is None:
                    self.add_error(name, _("Needed; a supply's name fills unit and cost in."))
        return data

    @property
    def use(self) -> MaterialUse | None:
        """Return the material, None of an empty row."""
        data = self.cleaned_data
        if not data.get("name"):
            return None
        return MaterialUse(
            data["name"], data["quantity"], str(data["unit"]), data["unit_cost"], Decimal(0)
        )


WorkRows = forms.formset_factory(WorkRow, extra=2, max_num=MOST_ROWS, absolute_max=MOST_ROWS)
MaterialRows = forms.formset_factory(
    MaterialRow, extra=2, max_num=MOST_ROWS, absolute_max=MOST_ROWS
)


class RepairPriceForm(forms.Form):
    """Whether it is charged, and a price typed by hand in place of the worked out one."""

    is_free = forms.BooleanField(
        label=gettext_lazy("Free for the customer"),
        required=False,
        help_text=gettext_lazy("What it costs is then ours, and shown as such."),
    )
    asked = MoneyField(
        label=gettext_lazy("Price asked, if not the one worked out"),
        required=False,
        help_text=gettext_lazy("As prices are said on the rate card, with tax or without."),
    )

    def clean(self) -> dict[str, Any]:
        """Refuse a price for what is free."""
        data = super().clean()
        if data.get("is_free") and data.get("asked"):
            self.add_error("asked", _("What is free has no price; empty this, or charge it."))
        return data


class PriceEntry:
    """The form of a repair's price: the choice, the rows of work and of material."""

    def __init__(self, data: Any, repair: Repair, newest: RepairPrice | None) -> None:
        # Only to begin with: a row sent as it stood before would else count as left empty.
        shown = price_shown(newest) if data is None else None
        self.form = RepairPriceForm(data, initial={"is_free": repair.is_free})
        self.work = WorkRows(
            data,
            prefix="work",
            initial=[
                {"name": step.name, "minutes": as_written(step.minutes)} for step in shown.job.steps
            ]
            if shown is not None
            else [],
        )
        self.materials = MaterialRows(
            data,
            prefix="material",
            initial=[
                {
                    "name": use.name,
                    "quantity": as_written(use.quantity),
                    "unit": use.unit,
                    "unit_cost": as_written(use.unit_cost),
                }
                for use in shown.job.materials
            ]
            if shown is not None
            else [],
        )

    def is_valid(self) -> bool:
        """Return whether all of it holds; each part is asked, so that every fault is told."""
        holds = [self.form.is_valid(), self.work.is_valid(), self.materials.is_valid()]
        return all(holds)

    def values(self) -> dict[str, Any]:
        """Return what the price is worked out of.

        Raises
        ------
        ValidationError
            A line that costing does not take.
        """
        try:
            return {
                "steps": [row.work for row in self.work if row.work is not None],
                "materials": [row.use for row in self.materials if row.use is not None],
                "is_free": self.form.cleaned_data["is_free"],
                "asked": self.form.cleaned_data["asked"],
            }
        except CostError as error:
            raise ValidationError(error.text) from None


class RepairAnswerForm(forms.Form):
    """The customer's yes as it came."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    way = forms.ChoiceField(
        label=gettext_lazy("It came by"),
        choices=[
            ("mail", gettext_lazy("mail")),
            ("telephone", gettext_lazy("telephone")),
            ("in person", gettext_lazy("in person")),
        ],
    )
    on = DayField(label=gettext_lazy("Agreed on"), required=False)
    note = forms.CharField(
        label=gettext_lazy("The message"),
        max_length=8000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
    )


class KeptForm(forms.ModelForm):
    """Goods of the customer as they came; their value is asked of those who may see money."""

    received_on = DayField(label=gettext_lazy("Received on"))
    value = MoneyField(
        label=gettext_lazy("Value"),
        required=False,
        help_text=gettext_lazy("As the customer said, for the insurance."),
    )
    photo_file = forms.FileField(
        label=gettext_lazy("Photograph of the condition (JPEG, PNG or WebP)"),
        required=False,
        widget=forms.ClearableFileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )

    class Meta:
        model = Kept
        fields = ["what", "received_on", "condition", "value"]
        widgets = {"condition": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, with_money: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["received_on"] = timezone.localdate()
        if not with_money:
            del self.fields["value"]


class SentBackForm(forms.Form):
    """When and how goods in keeping went back."""

    sent_back_on = DayField(label=gettext_lazy("Sent back on"))
    sent_back_note = forms.CharField(
        label=gettext_lazy("How it went back"), max_length=200, required=False
    )
