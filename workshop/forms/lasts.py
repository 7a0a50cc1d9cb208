"""What is asked before a last goes out as a file."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from workshop.forms.library import LengthField
from workshop.models import FootVersion

KINDS = [
    ("stl", _("STL, for a printer")),
    ("obj", _("OBJ")),
    ("cards", _("slotted cards, to cut out (PDF, true scale)")),
]
WRAP_MOST_MM = Decimal(10)


class LastForm(forms.Form):
    """A last bare or wrapped, left or right, as a body or as cards."""

    kind = forms.ChoiceField(label=_("As"), choices=KINDS)
    side = forms.ChoiceField(
        label=_("Which foot"),
        choices=FootVersion.Side.choices,
        help_text=_("The other foot is this one mirrored."),
    )
    wrap_mm = LengthField(
        label=_("Wrap (mm)"),
        least=Decimal(0),
        most=WRAP_MOST_MM,
        required=False,
        help_text=_(
            "What is added all round: film or sock, lining and half the leather. Empty or 0: bare."
        ),
    )
    top_mm = LengthField(
        label=_("Cut flat at (mm above the ground)"),
        least=Decimal(1),
        most=Decimal(1000),
        required=False,
        help_text=_("Empty: as high as the leg is known."),
    )
    card_mm = LengthField(
        label=_("Thickness of the card (mm)"), least=Decimal("0.1"), most=Decimal(5), required=False
    )
    spacing_mm = LengthField(
        label=_("Cross cards apart (mm)"), least=Decimal(1), most=Decimal(60), required=False
    )

    def __init__(self, data: Any = None, *, version: FootVersion) -> None:
        initial = {
            "kind": "stl",
            "side": version.foot_side,
            "card_mm": "1",
            "spacing_mm": f"{max(4.0, float(version.foot_length) / 12):.0f}",
        }
        super().__init__(data, label_suffix="", initial=initial)
        self.version = version

    def clean(self) -> dict[str, Any]:
        """Fill what may be left out of a plain address."""
        data = super().clean()
        for name in ("card_mm", "spacing_mm"):
            if data.get(name) is None:
                data[name] = Decimal(self.initial[name])
        return data

    def wrap_added_mm(self) -> float:
        """Return what is added all round, 0 for a bare last."""
        return float(self.cleaned_data["wrap_mm"] or 0)
