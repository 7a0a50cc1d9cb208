"""The form a correction is noted by: where, which way, how much, why."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from patterns.style import Style as Pattern
from workshop.forms.library import LengthField
from workshop.models.corrections import CHANGE_MOST_MM
from workshop.selectors.corrections import CURVE, GIRTH, places_of, ways_of

LESS, MORE = "less", "more"
USUAL_AMOUNTS = ("0.5", "1", "1.5", "2", "3", "4")


class CorrectionForm(forms.Form):
    """What a mock-up or wear taught about one girth or line: "topline, lower", 2 mm, and why."""

    what = forms.ChoiceField(label=_("What to change"))
    amount_mm = LengthField(label=_("By how much (mm)"), least=Decimal("0.05"), most=CHANGE_MOST_MM)
    reason = forms.CharField(
        label=_("Why"),
        max_length=200,
        help_text=_("Such as: felt mock-up gapes at the ankle."),
    )

    def __init__(self, *args: Any, pattern: Pattern, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        pairs = [
            (f"{place} {sign}", f"{words}: {way}")
            for place, words in places_of(pattern).items()
            for sign, way in zip((LESS, MORE), ways_of(place, pattern), strict=True)
        ]
        groups = [
            (_("Girths"), [pair for pair in pairs if pair[0].startswith(GIRTH)]),
            (_("Lines of the style"), [pair for pair in pairs if pair[0].startswith(CURVE)]),
        ]
        self.fields["what"].choices = [group for group in groups if group[1]]
        self.fields["amount_mm"].widget.attrs |= {"list": "usual-amounts"}

    def place(self) -> str:
        """Return the key of the place that was chosen."""
        return str(self.cleaned_data["what"]).rpartition(" ")[0]

    def change_mm(self) -> Decimal:
        """Return the change with its sign."""
        amount: Decimal = self.cleaned_data["amount_mm"]
        return -amount if self.cleaned_data["what"].endswith(LESS) else amount
