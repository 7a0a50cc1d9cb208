"""Forms of the work log: a press of a timer's button, a stretch by hand, material really used."""

import datetime
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from workshop.forms.stock import RecordForm
from workshop.models import Supply, WorkLog
from workshop.selectors.work_log import SupplyUse

MOST_QUANTITY = Decimal(1_000_000)
EARLIEST = datetime.date(2000, 1, 1)


class PressForm(forms.Form):
    """A press of a timer's button: on which step, by which key, and how long ago."""

    step = forms.CharField(label=gettext_lazy("Step"), max_length=80)
    passive = forms.BooleanField(label=gettext_lazy("Waiting, not working"), required=False)
    key = forms.RegexField(r"^[A-Za-z0-9_-]{8,43}$")
    ago_s = forms.FloatField(required=False)

    def clean_ago_s(self) -> datetime.timedelta:
        """Return how long ago it was pressed; forms without script say nothing of it."""
        seconds = self.cleaned_data.get("ago_s") or 0.0
        # A week at most counts; a number that is no span of time is none at all.
        return datetime.timedelta(seconds=min(max(seconds, 0.0), 1e7))


class StopForm(PressForm):
    """A press of the stop button: the timer is found by the key it was started with."""

    step = None
    passive = None


class StretchForm(RecordForm):
    """A stretch of work written by hand, or one that is corrected."""

    class Meta:
        model = WorkLog
        fields = ["step", "minutes", "worked_on", "passive", "note"]
        widgets = {
            "step": forms.TextInput(attrs={"list": "steps", "autocomplete": "off"}),
            "worked_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }
        help_texts = {
            "minutes": gettext_lazy("0 for a step that was not needed."),
            "passive": gettext_lazy("Drying, baking, cooling: counted apart, costs nothing."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["minutes"].required = True

    def clean_worked_on(self) -> datetime.date:
        """Refuse a day that has not come yet, or is long before there was a workshop."""
        day: datetime.date = self.cleaned_data["worked_on"]
        if day > timezone.localdate():
            raise forms.ValidationError(_("That day has not come yet."))
        if day < EARLIEST:
            raise forms.ValidationError(_("Write a day after the year 2000."))
        return day


class MaterialForm(forms.Form):
    """What a job really used of each supply; rows left empty book nothing."""

    other = forms.ModelChoiceField(
        label=gettext_lazy("Something else"),
        queryset=Supply.objects.order_by("name"),
        required=False,
        empty_label=gettext_lazy("none"),
    )
    other_quantity = forms.DecimalField(
        label=gettext_lazy("Quantity of it"),
        help_text=gettext_lazy("In its own unit."),
        max_digits=10,
        decimal_places=3,
        required=False,
        min_value=-MOST_QUANTITY,
        max_value=MOST_QUANTITY,
    )

    def __init__(self, *args: Any, uses: Iterable[SupplyUse], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.uses = list(uses)
        for use in self.uses:
            self.fields[self.name_of(use)] = forms.DecimalField(
                label=use.supply.name,
                max_digits=10,
                decimal_places=3,
                required=False,
                min_value=-MOST_QUANTITY,
                max_value=MOST_QUANTITY,
            )

    @staticmethod
    def name_of(use: SupplyUse) -> str:
        """Return the name of a supply's field."""
        return f"use_{use.supply.pk}"

    def rows(self) -> list[tuple[SupplyUse, forms.BoundField]]:
        """Return each supply with its field."""
        return [(use, self[self.name_of(use)]) for use in self.uses]

    def clean(self) -> dict[str, Any]:
        """Ask for the supply of a quantity, and for the quantity of a supply."""
        data = super().clean()
        if data.get("other_quantity") and not data.get("other"):
            self.add_error("other", _("Say which supply it was."))
        if data.get("other") and not data.get("other_quantity"):
            self.add_error("other_quantity", _("Say how much of it was used."))
        return data

    def booked(self) -> list[tuple[str, Supply, Decimal]]:
        """Return the field, the supply and the quantity of every row that is filled."""
        data = self.cleaned_data
        rows = [(self.name_of(use), use.supply, data[self.name_of(use)]) for use in self.uses]
        rows.append(("other_quantity", data["other"], data["other_quantity"]))
        return [row for row in rows if row[2]]
