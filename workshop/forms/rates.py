"""The form of a rate card: its figures in groups, and the work steps as rows."""

import tomllib
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from workshop.forms.seen import BegunFromForm
from workshop.lengths import length_text
from workshop.models import RateCard, WorkStepRow
from workshop.selectors.rates import GROUPS

SPARE_ROWS = 5
STEPS_MAX = 60
POSITION_STEP = 10  # room to type a number between two steps
WORK_STEPS = Path(__file__).resolve().parent.parent / "data" / "work_steps.toml"

FIGURES = [name for _words, names in GROUPS for name in names]
MAY_BE_LEFT_OUT = (
    "fee_payments",
    "payment_fee_pct",
    "payment_fee_fixed",
    "round_ending",
    "round_way",
    "least_price",
    "rush_pct",
    "rush_fixed",
    "packing_cost",
    "lace_tip_mm",
    "lacing",
)
STEP_VALUES = ("name", "minutes", "per", "passive", "way", "less_again_pct")


class RateCardForm(BegunFromForm, forms.ModelForm):
    """Every figure of a rate card, and why there is a new one."""

    class Meta:
        model = RateCard
        fields = [*FIGURES, "reason"]
        help_texts = {
            "leather_waste_pct": gettext_lazy("Of what is taken; a layout replaces it."),
            "fee_on": gettext_lazy("Look it up in the terms of the place of sale."),
            "overhead_per_active_hour": gettext_lazy("Rent, tools and power for each hour."),
            "round_up_to": gettext_lazy("A price a pair goes up to a multiple of this."),
            "profit_pct": gettext_lazy("25 % on cost is 20 % of the price."),
            "round_ending": gettext_lazy("0.90 with steps of 1 gives prices such as 148.90."),
            "fee_payments": gettext_lazy("Fixed fees fall with each payment."),
            "tax_spares_postage": gettext_lazy("Look up the local law."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in MAY_BE_LEFT_OUT:  # the record's own default then holds
            self.fields[name].required = False

    def clean(self) -> dict[str, Any]:
        """Profit of the price must leave something of it; who is exempt charges no tax."""
        data = super().clean()
        if data.get("tax_exempt") and data.get("tax_pct"):
            self.add_error(
                "tax_pct", _("Who is not registered charges no tax; set it to 0, or be registered.")
            )
        profit = data.get("profit_pct")
        if data.get("profit_kind") == RateCard.ProfitKind.MARGIN and profit and profit >= 100:
            self.add_error("profit_pct", _("Profit must be below 100 % of the price."))
        return data

    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Return the fields under their headings."""
        return [(words, [self[name] for name in names]) for words, names in GROUPS]


class StepForm(forms.ModelForm):
    """One work step; an empty row is left out."""

    position = forms.IntegerField(
        label=gettext_lazy("Place"), min_value=0, max_value=30_000, required=False
    )

    class Meta:
        model = WorkStepRow
        fields = ["position", *STEP_VALUES]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("name", "minutes", "way", "less_again_pct"):
            self.fields[name].required = False

    def clean(self) -> dict[str, Any]:
        """Ask for a name and minutes together, unless the row is empty."""
        data = super().clean()
        if data.get("less_again_pct") is None and "less_again_pct" not in self.errors:
            data["less_again_pct"] = Decimal(0)
        has_name = bool((data.get("name") or "").strip())
        if has_name and data.get("minutes") is None and "minutes" not in self.errors:
            self.add_error("minutes", _("Give the minutes, or empty the row."))
        if not has_name and data.get("minutes") is not None:
            self.add_error("name", _("Give the step a name, or empty the row."))
        return data

    def _get_validation_exclusions(self) -> set[str]:
        """Leave out the card and the place: both are given when the step is stored."""
        return {*super()._get_validation_exclusions(), "rate_card", "position"}

    @property
    def is_filled(self) -> bool:
        """Return whether the row is a step."""
        return bool((self.cleaned_data.get("name") or "").strip())


StepRows = forms.formset_factory(
    StepForm, extra=SPARE_ROWS, max_num=STEPS_MAX + SPARE_ROWS, validate_max=True
)


@cache
def first_steps() -> tuple[Mapping[str, Any], ...]:
    """Return the work steps a first rate card begins with."""
    table = tomllib.loads(WORK_STEPS.read_text(encoding="utf-8"))
    return tuple(table["steps"])


def _first_rows() -> list[dict[str, Any]]:
    return [
        {
            "name": step["name"],
            "minutes": step["minutes"],
            "per": step["per"],
            "passive": step.get("waiting", False),
            "way": step.get("way", ""),
            "less_again_pct": "0",
        }
        for step in first_steps()
    ]


def _rows_of(card: RateCard) -> list[dict[str, Any]]:
    return [
        {name: _as_typed(getattr(row, name)) for name in STEP_VALUES} for row in card.steps.all()
    ]


def _as_typed(value: Any) -> Any:
    """Return a decimal without the noughts a database adds, anything else as it is."""
    return length_text(value) if isinstance(value, Decimal) else value


class RateEntry:
    """A rate card's form with its rows of work steps, beginning with the newest card."""

    def __init__(self, data: Mapping[str, Any] | None, *, newest: RateCard | None) -> None:
        rows = _first_rows() if newest is None else _rows_of(newest)
        for place, row in enumerate(rows, 1):
            row["position"] = place * POSITION_STEP
        source = newest or RateCard()
        figures = {name: _as_typed(getattr(source, name)) for name in FIGURES}
        if newest is None:
            figures["reason"] = _("first rate card")
        self.form = RateCardForm(data, initial=figures)
        self.steps = StepRows(data, prefix="step", initial=rows)
        self.form.begin_with(newest.version if newest is not None else 0)
        self.is_first = newest is None

    def is_valid(self) -> bool:
        """Return whether the figures and every row hold by themselves."""
        return all([self.form.is_valid(), self.steps.is_valid()])

    def card(self) -> RateCard:
        """Return the new card, unsaved."""
        return self.form.save(commit=False)

    def step_rows(self) -> list[WorkStepRow]:
        """Return the filled rows as steps in their order; rows without a place come last."""
        filled = [row for row in self.steps if row.is_filled]
        filled.sort(key=_place)
        return [
            WorkStepRow(
                name=row.cleaned_data["name"].strip(),
                minutes=row.cleaned_data["minutes"],
                per=row.cleaned_data["per"],
                passive=row.cleaned_data["passive"],
                way=row.cleaned_data["way"],
                less_again_pct=row.cleaned_data["less_again_pct"] or Decimal(0),
            )
            for row in filled
        ]


def _place(row: StepForm) -> int:
    place = row.cleaned_data.get("position")
    return 30_001 if place is None else place
