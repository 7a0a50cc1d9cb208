"""Forms of jobs without a customer: lines, hides, and how many pairs came out well."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from patterns.layout.values import SPACING_MAX_MM
from workshop.forms.for_sale import LOTS_MOST, lined_field
from workshop.models import FootVersion, LeatherLot, StyleVersion
from workshop.models.stock_runs import PAIRS_MOST
from workshop.selectors.orders import styles_offered
from workshop.selectors.sizes import house_sizes
from workshop.selectors.stock_runs import leathers_on_shelf
from workshop.tokens import random_token

SIZE_PREFIX = "size-"


class LinesForm(forms.Form):
    """One style in one leather: how many pairs of each house size."""

    style = forms.TypedChoiceField(
        label=_("Style"),
        coerce=int,
        error_messages={"invalid_choice": _("There is no such style on offer; choose one.")},
    )
    leather = forms.TypedChoiceField(
        label=_("Leather"),
        coerce=int,
        error_messages={"invalid_choice": _("There is no such leather; choose one.")},
    )

    is_lined = lined_field()

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        self.styles = styles_offered()
        self.house = house_sizes()
        there = leathers_on_shelf()
        lots = LeatherLot.objects.order_by("-number")[:LOTS_MOST]
        self.lots = sorted(lots, key=lambda lot: (lot.name, lot.colour) not in there)
        self.fields["style"].choices = [(v.pk, v.style.name) for v in self.styles]
        self.fields["leather"].choices = [
            (lot.pk, lot_words(lot, is_there=(lot.name, lot.colour) in there)) for lot in self.lots
        ]
        for size in self.house:
            self.fields[f"{SIZE_PREFIX}{size.version.pk}"] = forms.IntegerField(
                label=f"{size.version.doll.name} ({size.length} mm)",
                min_value=1,
                max_value=PAIRS_MOST,
                required=False,
                error_messages={
                    "min_value": _("Write 1 pair or more, or leave it empty."),
                    "max_value": _("Write %(most)d pairs at most.") % {"most": PAIRS_MOST},
                },
                widget=forms.NumberInput(attrs={"class": "few-digits"}),
            )

    def size_fields(self) -> list[forms.BoundField]:
        """Return the fields of the house sizes."""
        return [self[f"{SIZE_PREFIX}{size.version.pk}"] for size in self.house]

    def clean(self) -> dict[str, Any]:
        """Refuse a list without a pair, and sizes that are no house size."""
        data = super().clean()
        known = {field.html_name for field in self.size_fields()}
        if any(name.startswith(SIZE_PREFIX) and name not in known for name in self.data):
            self.add_error(None, _("There is no such house size any more; look at them again."))
        elif not self.errors and not self.pairs():
            self.add_error(None, _("Write how many pairs of one size at least."))
        return data

    def style_version(self) -> StyleVersion:
        """Return the chosen style's version."""
        return next(v for v in self.styles if v.pk == self.cleaned_data["style"])

    def lot(self) -> LeatherLot:
        """Return the chosen leather."""
        return next(lot for lot in self.lots if lot.pk == self.cleaned_data["leather"])

    def pairs(self) -> dict[FootVersion, int]:
        """Return how many pairs of each size are wanted, the smallest size first."""
        wanted = {
            size.version: self.cleaned_data.get(f"{SIZE_PREFIX}{size.version.pk}")
            for size in self.house
        }
        return {foot: int(count) for foot, count in wanted.items() if count}


def lot_words(lot: LeatherLot, *, is_there: bool) -> str:
    """Return a leather in words; one of which no hide is free says so."""
    words = f"{lot.name}, {lot.colour} ({lot.code})"
    return words if is_there else _("%(leather)s: no hide is free") % {"leather": words}


class RunForm(LinesForm):
    """A new job without a customer, with its first lines."""

    note = forms.CharField(
        label=_("What for"),
        max_length=200,
        required=False,
        widget=forms.TextInput(attrs={"placeholder": _("a stall, a fair; may be left empty")}),
    )
    form_key = forms.CharField(
        max_length=43, required=False, initial=random_token, widget=forms.HiddenInput
    )


class PairCountForm(forms.Form):
    """How many pairs of one line; `line_id` is whose, so that a fault stands beside it."""

    line_id: int | None = None

    pairs = forms.IntegerField(
        label=_("Pairs"),
        min_value=1,
        max_value=PAIRS_MOST,
        error_messages={
            "min_value": _("Write 1 pair or more, or take the line out."),
            "max_value": _("Write %(most)d pairs at most.") % {"most": PAIRS_MOST},
        },
    )


class HidesForm(forms.Form):
    """Which hides a job for stock is cut from, and how far apart the pieces lie."""

    hides = forms.TypedMultipleChoiceField(
        label=_("Hides"),
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "invalid_choice": _("One of these hides is taken meanwhile; look at them again.")
        },
    )
    spacing_mm = forms.DecimalField(
        label=_("Gap between pieces (mm)"),
        min_value=Decimal(0),
        max_value=Decimal(int(SPACING_MAX_MM)),
        max_digits=5,
        decimal_places=2,
        help_text=_("1.5 for a knife round the card, 3 placed by eye; common practice, no source."),
    )

    def __init__(self, *args: Any, offered: Mapping[int, str], **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        self.fields["hides"].choices = list(offered.items())


class MadeForm(forms.Form):
    """How many pairs of each line came out well."""

    def __init__(self, *args: Any, lines: list[dict[str, Any]], **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        for line in lines:
            count = int(line["pair_count"])
            self.fields[f"made-{line['position']}"] = forms.IntegerField(
                label=f"{line['letter']} {line['style']['name']}, {line['size']}",
                min_value=0,
                max_value=count,
                initial=count,
                widget=forms.NumberInput(attrs={"class": "few-digits"}),
            )

    def made(self) -> dict[int, int]:
        """Return how many pairs were made, by the line's position."""
        return {int(name.removeprefix("made-")): n for name, n in self.cleaned_data.items()}
