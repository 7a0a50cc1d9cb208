"""The number fields of a plan by hand: a row for each copy, and the reason of a scrapped piece."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from patterns.layout.values import Placement
from workshop.models import CutLine
from workshop.plan_sheet import Copy, PlanGround, Spot, placement_at, shown_number, spot_of

FURTHEST_MM = Decimal(10_000)  # beyond any hide


def _number_field(label: str, most: Decimal) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        required=False,
        min_value=-most,
        max_value=most,
        max_digits=9,
        decimal_places=4,
    )


class CopyForm(forms.Form):
    """Where one copy lies: the middle of the piece, and how it is turned; empty for nowhere."""

    x_mm = _number_field(gettext_lazy("middle from the left (mm)"), FURTHEST_MM)
    y_mm = _number_field(gettext_lazy("middle from below (mm)"), FURTHEST_MM)
    turn_deg = _number_field(gettext_lazy("turned (°)"), Decimal(360))
    mirrored = forms.BooleanField(label=gettext_lazy("mirrored"), required=False)
    stays = forms.BooleanField(label=gettext_lazy("stays"), required=False)
    # Where it lay exactly, when the page was made: a row nobody touched is taken from here.
    lay = forms.CharField(required=False, widget=forms.HiddenInput, max_length=120)

    def __init__(self, data: Mapping[str, Any] | None, *, copy: Copy, hide: str) -> None:
        self.copy, self.hide = copy, hide
        super().__init__(data, prefix=f"copy-{copy.number}", initial=_initial(copy))
        if not copy.piece.mirror_free:
            del self.fields["mirrored"]
        for name, field in self.fields.items():
            if name != "lay":
                field.widget.attrs["aria-label"] = f"{copy.name}: {field.label}"

    def clean(self) -> dict[str, Any]:
        """Ask for both of the middle's figures, or neither."""
        data = super().clean()
        given = [name for name in ("x_mm", "y_mm") if data.get(name) is not None]
        faulty = any(name in self.errors for name in ("x_mm", "y_mm", "turn_deg", "lay"))
        if len(given) == 1 and not faulty:
            missing = "y_mm" if given == ["x_mm"] else "x_mm"
            self.add_error(missing, _("Give both, or leave both empty to take it off the hide."))
        data["placement"] = None
        if not self.errors and len(given) == 2:
            data["placement"] = self._placement(data)
        return data

    def _placement(self, data: Mapping[str, Any]) -> Placement:
        piece, turn = self.copy.piece, float(data.get("turn_deg") or 0)
        mirrored = data["mirrored"] if piece.mirror_free else self.copy.mirrored
        spot = Spot(float(data["x_mm"]), float(data["y_mm"]), turn, bool(mirrored))
        lay = _lay_read(data.get("lay", ""))
        if lay is not None:
            before = Placement(piece.id, self.hide, *lay, bool(mirrored))
            if _as_shown(spot_of(piece, before)) == _as_shown(spot):
                return before
        return placement_at(piece, spot, self.hide)

    @property
    def placement(self) -> Placement | None:
        """Return where it is to lie."""
        return self.cleaned_data.get("placement")

    @property
    def is_fixed(self) -> bool:
        """Return whether it is to stay there."""
        return bool(self.cleaned_data.get("stays"))


def _initial(copy: Copy) -> dict[str, Any]:
    if copy.placement is None:
        return {"mirrored": copy.mirrored}
    row, spot = copy.placement, spot_of(copy.piece, copy.placement)
    return {
        "x_mm": shown_number(spot.x_mm),
        "y_mm": shown_number(spot.y_mm),
        "turn_deg": shown_number(spot.turn_deg),
        "mirrored": spot.mirrored,
        "stays": copy.is_fixed,
        "lay": f"{row.x_mm!r} {row.y_mm!r} {row.rotation_deg!r}",
    }


def _as_shown(spot: Spot) -> tuple[str, ...]:
    return tuple(shown_number(value) for value in (spot.x_mm, spot.y_mm, spot.turn_deg % 360.0))


def _lay_read(text: str) -> tuple[float, float, float] | None:
    """Return an exact place as the page kept it; what cannot be read is passed over."""
    try:
        x, y, turn = (float(part) for part in text.split(" "))
    except ValueError:
        return None
    inside = all(abs(value) <= float(FURTHEST_MM) for value in (x, y)) and abs(turn) <= 360.0
    return (x, y, turn) if inside else None


def copy_forms(data: Mapping[str, Any] | None, ground: PlanGround) -> list[CopyForm]:
    """Return a form for each copy that may be moved."""
    return [
        CopyForm(data, copy=copy, hide=ground.hide.id)
        for copy in ground.copies
        if not copy.is_locked
    ]


class ScrapForm(forms.Form):
    """Why a piece is thrown away, and from where it is cut again."""

    reason = forms.ChoiceField(
        label=gettext_lazy("Why"),
        choices=[("", gettext_lazy("choose a reason")), *CutLine.Reason.choices],
    )
    reason_note = forms.CharField(
        label=gettext_lazy("In words"), required=False, max_length=200, strip=True
    )
    again_from = forms.ChoiceField(label=gettext_lazy("Cut it again from"), required=False)

    def __init__(
        self, data: Mapping[str, Any] | None, *, line: CutLine, hides: list[tuple[str, str]]
    ) -> None:
        super().__init__(data, prefix=f"line-{line.pk}")
        self.line = line
        if hides:
            self.fields["again_from"].choices = hides
            self.fields["again_from"].required = True
        else:
            del self.fields["again_from"]

    def clean(self) -> dict[str, Any]:
        """Ask for words where the reason is none of the list."""
        data = super().clean()
        if data.get("reason") == CutLine.Reason.OTHER and not data.get("reason_note"):
            self.add_error("reason_note", ValidationError(_("Say in words what happened.")))
        return data


class RecutHideForm(forms.Form):
    """From which hide a piece is cut again that has no place yet."""

    again_from = forms.ChoiceField(label=gettext_lazy("Cut it again from"))

    def __init__(self, data: Mapping[str, Any] | None, *, hides: list[tuple[str, str]]) -> None:
        super().__init__(data)
        self.fields["again_from"].choices = hides
