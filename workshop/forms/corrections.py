"""The form a correction is noted by: where, which way, how much, why."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from patterns.style import Style as Pattern
from workshop.forms.library import LengthField
from workshop.models.corrections import CHANGE_MOST_MM
from workshop.selectors.corrections import CURVE, GIRTH, places_of

LESS, MORE = "less", "more"
USUAL_AMOUNTS = ("0.5", "1", "1.5", "2", "3", "4")


class CorrectionForm(forms.Form):
    """What a mock-up or wear taught about one girth or line."""

    place = forms.ChoiceField(label=_("Where"))
    way = forms.ChoiceField(
        label=_("Which way"),
        choices=[(LESS, _("in, shorter")), (MORE, _("out, longer"))],
        widget=forms.RadioSelect,
        initial=LESS,
    )
    amount_mm = LengthField(label=_("By how much (mm)"), least=Decimal("0.05"), most=CHANGE_MOST_MM)
    reason = forms.CharField(
        label=_("Why"),
        max_length=200,
        help_text=_("Such as: felt mock-up gapes at the ankle."),
    )

    def __init__(self, *args: Any, pattern: Pattern, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        places = places_of(pattern)
        groups = [
            (_("Girths"), [pair for pair in places.items() if pair[0].startswith(GIRTH)]),
            (_("Lines of the style"), [p for p in places.items() if p[0].startswith(CURVE)]),
        ]
        self.fields["place"].choices = [group for group in groups if group[1]]
        self.fields["amount_mm"].widget.attrs |= {"list": "usual-amounts"}

    def change_mm(self) -> Decimal:
        """Return the change with its sign: in and shorter are below zero."""
        amount: Decimal = self.cleaned_data["amount_mm"]
        return -amount if self.cleaned_data["way"] == LESS else amount
