"""Forms for choosing leather, cutting it, and deciding about what is left."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from patterns.layout.leftovers import (
    AREA_MAX_MM2,
    LEAST_AREA_MM2,
    LEAST_WIDTH_MM,
    WIDTH_MAX_MM,
)
from workshop.forms.outlines import points_read, points_written
from workshop.models import Hide, LeatherLot, LeftPiece
from workshop.selectors.leather_need import LeatherWanted
from workshop.services.cuttings import Decision

MM2_PER_CM2 = Decimal(100)


def _thickness_field(label: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        min_value=Decimal(0),
        max_value=Decimal(6),
        max_digits=4,
        decimal_places=2,
        required=False,
    )


class LeatherWantedForm(forms.Form):
    """What the leather must be like; sent as a query, so that trying out stores nothing."""

    colour = forms.CharField(
        label=gettext_lazy("Colour"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"list": "colours", "autocomplete": "off"}),
    )
    thinnest_mm = _thickness_field(gettext_lazy("Thinnest (mm)"))
    thickest_mm = _thickness_field(gettext_lazy("Thickest (mm)"))

    def clean_colour(self) -> str:
        """Take a colour that some leather has; name those there are otherwise."""
        colour = str(self.cleaned_data["colour"]).strip()
        if not colour:
            return ""
        there = Hide.objects.filter(
            lot__colour__iexact=colour, state__in=[Hide.State.ON_SHELF, Hide.State.RESERVED]
        ).exists()
        if (
            not there
            and not LeatherLot.objects.filter(colour__iexact=colour, bought_on=None).exists()
        ):
            raise ValidationError(
                _("No hide of the colour “%(colour)s” is in the stock. Choose another colour."),
                params={"colour": colour},
                code="no_such_colour",
            )
        return colour

    def clean(self) -> dict[str, Any]:
        """Refuse a thinnest above the thickest."""
        data = super().clean()
        least, most = data.get("thinnest_mm"), data.get("thickest_mm")
        if least is not None and most is not None and least > most:
            self.add_error("thickest_mm", _("This is thinner than the thinnest."))
        return data

    def wanted(self) -> LeatherWanted:
        """Return what is asked for, as far as it holds."""
        data = self.cleaned_data if self.is_valid() else {}
        return LeatherWanted(
            data.get("colour") or "", data.get("thinnest_mm"), data.get("thickest_mm")
        )


class CutForm(forms.Form):
    """From which size on the rest of a hide is worth keeping."""

    least_width_mm = forms.DecimalField(
        label=gettext_lazy("Smallest useful width (mm)"),
        min_value=Decimal(0),
        max_value=Decimal(int(WIDTH_MAX_MM)),
        max_digits=6,
        decimal_places=1,
        initial=Decimal(int(LEAST_WIDTH_MM)),
        help_text=gettext_lazy("Narrower slivers are cut off. Common practice, no source."),
    )
    least_area_cm2 = forms.DecimalField(
        label=gettext_lazy("Smallest useful area (cm²)"),
        min_value=Decimal(0),
        max_value=Decimal(int(AREA_MAX_MM2)) / MM2_PER_CM2,
        max_digits=8,
        decimal_places=1,
        initial=Decimal(int(LEAST_AREA_MM2)) / MM2_PER_CM2,
        help_text=gettext_lazy("Smaller pieces are waste."),
    )

    @property
    def least_area_mm2(self) -> Decimal:
        """Return the smallest useful area in mm²."""
        return Decimal(self.cleaned_data["least_area_cm2"]) * MM2_PER_CM2


FATES = [(LeftPiece.Fate.KEPT, gettext_lazy("keep")), (LeftPiece.Fate.BINNED, gettext_lazy("bin"))]


class LeftPieceForm(forms.Form):
    """What becomes of one piece left; its outline may be redrawn."""

    fate = forms.ChoiceField(
        label=gettext_lazy("What becomes of it"), choices=FATES, widget=forms.RadioSelect
    )
    corners = forms.CharField(
        label=gettext_lazy("Its outline, redrawn (mm)"),
        required=False,
        strip=True,
        widget=forms.Textarea(attrs={"rows": 6, "class": "points", "spellcheck": "false"}),
        help_text=gettext_lazy("One “x, y” a line, in the frame of the drawing."),
    )

    def __init__(self, data: Mapping[str, Any] | None, *, piece: LeftPiece) -> None:
        self.piece = piece
        self.proposed = points_written(piece.outline)
        # Nothing is ticked beforehand: what joins the stock is for the maker to say.
        super().__init__(data, prefix=f"piece-{piece.position}", initial={"corners": self.proposed})
        self.fields["corners"].widget.attrs["data-ring"] = _("piece %(n)s") % {"n": piece.position}

    def clean(self) -> dict[str, Any]:
        """Read the outline of what is kept."""
        data = super().clean()
        data["ring"] = None
        typed = str(data.get("corners") or "")
        is_redrawn = typed.split() != self.proposed.split()
        if data.get("fate") == LeftPiece.Fate.KEPT and is_redrawn:
            try:
                data["ring"] = points_read(typed, name=_("outline of the piece"))
            except ValidationError as error:
                self.add_error("corners", error)
        return data

    @property
    def decision(self) -> Decision:
        """Return what was decided."""
        is_kept = self.cleaned_data["fate"] == LeftPiece.Fate.KEPT
        return Decision(is_kept, self.cleaned_data["ring"])


def piece_forms(data: Mapping[str, Any] | None, pieces: Sequence[LeftPiece]) -> list[LeftPieceForm]:
    """Return a form for each piece left."""
    return [LeftPieceForm(data, piece=piece) for piece in pieces]
