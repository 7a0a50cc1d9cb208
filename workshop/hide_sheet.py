"""A hide drawn for a page, with the figures that stand beside it."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing, Fill, Stroke, Turn, box_round
from patterns.drawing.layout import draw_layout
from patterns.drawing.svg import drawing_svg
from patterns.hide import Hide as HideValue
from patterns.hide_area import (
    hide_along_tight_way,
    plain_ring,
    ring_box,
    usable_hide_area_mm2,
    whole_area_mm2,
)
from patterns.layout.values import Layout, LayoutPiece, LayoutRequest
from workshop.bridge import hide_as_recorded, ring_from_points
from workshop.models import Hide, LeatherLot
from workshop.services.stock import area_decimal, hide_cost

SMALL_WIDTH_MM = 42.0
SMALL_HEIGHT_MM = 34.0
SMALL_DETAIL_MM = 0.15  # what a small drawing may leave out, as drawn


@dataclass(frozen=True, slots=True)
class HideSheet:
    """A hide's drawing and figures; `lot_cost` is what a lot's price makes of it, if asked."""

    svg: SafeString
    width_mm: float
    height_mm: float
    whole_mm2: Decimal
    usable_mm2: Decimal
    defects: int
    areas: int
    lot_cost: Decimal | None
    turned_deg: float

    @property
    def lost_percent(self) -> Decimal:
        """Return the share of the whole area that defects take."""
        return round(100 * (1 - self.usable_mm2 / self.whole_mm2), 1)


def hide_sheet_of(hide: Hide, *, priced_by: LeatherLot | None = None) -> HideSheet:
    """Return the sheet of a recorded hide."""
    return hide_sheet(hide_as_recorded(hide), float(hide.tight_way_deg), priced_by=priced_by)


def hide_sheet(
    value: HideValue, tight_way_deg: float, *, priced_by: LeatherLot | None = None
) -> HideSheet:
    """Return the sheet of a hide, drawn with its tight way along x as layouts take it.

    Parameters
    ----------
    value : patterns.hide.Hide
        As recorded or typed.
    tight_way_deg : float
        Its tight way, counter-clockwise from x.
    priced_by : LeatherLot, optional
        The lot whose price to work out a cost from; only for whoever may see money.
    """
    _left, _bottom, width_mm, height_mm = ring_box(value.outline_mm)
    whole = area_decimal(whole_area_mm2(value))
    return HideSheet(
        svg=_hide_svg(hide_along_tight_way(value, tight_way_deg)),
        width_mm=width_mm,
        height_mm=height_mm,
        whole_mm2=whole,
        usable_mm2=area_decimal(usable_hide_area_mm2(value)),
        defects=len(value.defects_mm),
        areas=len(value.areas),
        lot_cost=hide_cost(priced_by, whole) if priced_by is not None else None,
        turned_deg=-tight_way_deg,
    )


def _hide_svg(hide: HideValue) -> SafeString:
    # A layout is asked for at least one piece; none is laid here, only the hide is drawn.
    piece = LayoutPiece("none", hide.outline_mm, 1)
    bare = Layout((), 0, 1, 0, 0.0, usable_hide_area_mm2(hide), 0, 0)
    drawing = draw_layout(LayoutRequest((hide,), (piece,)), bare)
    title = _("Hide %(hide)s with its defects, grain side up") % {"hide": hide.id}
    return mark_safe(drawing_svg(drawing, title=title))  # the writer escapes every text


def small_drawings(hides: Sequence[Hide]) -> dict[int, SafeString]:
    """Return a small drawing of each hide by its id, all to one scale so that sizes compare."""
    rings = {hide.pk: ring_from_points(hide.outline) for hide in hides}
    boxes = [box_round(ring) for ring in rings.values()]
    scale = min(
        [SMALL_WIDTH_MM / box.width_mm for box in boxes]
        + [SMALL_HEIGHT_MM / box.height_mm for box in boxes],
        default=1.0,
    )
    return {hide.pk: _small_svg(hide, scale) for hide in hides}


def _small_svg(hide: Hide, scale: float) -> SafeString:
    shrink = Turn(scale=scale)
    detail_mm = SMALL_DETAIL_MM / scale
    outline = shrink.many(plain_ring(ring_from_points(hide.outline), detail_mm))
    defects = [
        shrink.many(plain_ring(ring_from_points(row["outer"]), detail_mm)) for row in hide.defects
    ]
    drawing = Drawing(
        strokes=(
            Stroke(outline, "hide", closed=True),
            *(Stroke(ring, "mark", closed=True) for ring in defects),
        ),
        fills=(Fill(outline, "hide"), *(Fill(ring, "defect") for ring in defects)),
        scale=scale,
    )
    title = _("Outline of hide %(hide)s") % {"hide": hide.code}
    return mark_safe(drawing_svg(drawing, title=title))  # the writer escapes every text
