"""A hide drawn for a page, with the figures that stand beside it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing, Fill, Stroke, Turn, box_round
from patterns.drawing.layout import draw_hide, layout_scale
from patterns.drawing.leftovers import draw_leftovers
from patterns.drawing.svg import drawing_svg
from patterns.hide import Hide as HideValue
from patterns.hide_area import (
    hide_along_tight_way,
    plain_ring,
    ring_box,
    usable_hide_area_mm2,
    whole_area_mm2,
)
from patterns.layout.leftovers import leftovers
from patterns.layout.values import Layout, LayoutPiece, LayoutRequest
from workshop.bridge import hide_as_recorded, hide_from_record, ring_from_points
from workshop.models import Hide, LeatherLot
from workshop.services.stock import area_decimal, hide_cost

LEFT_WIDTH_MM, LEFT_HEIGHT_MM = 70.0, 60.0
LABEL_WIDTH_MM, LABEL_HEIGHT_MM = 46.0, 20.0
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
    return hide_sheet(
        hide_as_recorded(hide),
        float(hide.tight_way_deg),
        priced_by=priced_by,
        places=hide.thickness_places,
    )


def hide_sheet(
    value: HideValue,
    tight_way_deg: float,
    *,
    priced_by: LeatherLot | None = None,
    places: Sequence[Mapping[str, str]] = (),
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
    places : sequence of mapping
        Where which thickness was measured, as records keep it.
    """
    _left, _bottom, width_mm, height_mm = ring_box(value.outline_mm)
    whole = area_decimal(whole_area_mm2(value))
    return HideSheet(
        svg=_hide_svg(hide_along_tight_way(value, tight_way_deg), _spots(places, tight_way_deg)),
        width_mm=width_mm,
        height_mm=height_mm,
        whole_mm2=whole,
        usable_mm2=area_decimal(usable_hide_area_mm2(value)),
        defects=len(value.defects_mm),
        areas=len(value.areas),
        lot_cost=hide_cost(priced_by, whole) if priced_by is not None else None,
        turned_deg=-tight_way_deg,
    )


Spot = tuple[tuple[float, float], str]


def _spots(places: Sequence[Mapping[str, str]], tight_way_deg: float) -> list[Spot]:
    """Return where which thickness is written, turned as the drawing is."""
    turn = Turn(angle_deg=-tight_way_deg)
    return [
        (turn((float(place["x_mm"]), float(place["y_mm"]))), place["thickness_mm"])
        for place in places
    ]


def _bare_layout(hide: HideValue) -> tuple[LayoutRequest, Layout]:
    # A layout is asked for at least one piece; none is laid here, only the hide is drawn.
    piece = LayoutPiece("none", hide.outline_mm, 1)
    bare = Layout((), 0, 1, 0, 0.0, usable_hide_area_mm2(hide), 0, 0)
    return LayoutRequest((hide,), (piece,)), bare


def _hide_svg(hide: HideValue, spots: Sequence[Spot] = ()) -> SafeString:
    scale = layout_scale([hide], 170.0, 150.0)
    drawing, _key = draw_hide(hide, *_bare_layout(hide), scale=scale, spots=spots)
    title = _("Hide %(hide)s with its defects, grain side up") % {"hide": hide.id}
    return _svg(drawing, title)


def _svg(drawing: Drawing, title: str, **options: Any) -> SafeString:
    # The writer escapes every text.
    return mark_safe(drawing_svg(drawing, title=title, **options))


@dataclass(frozen=True, slots=True)
class LeftoversSheet:
    """What would be left of a hide: its drawing, and how the area adds up."""

    svg: SafeString
    count: int
    pieces_mm2: float
    remnants_mm2: float
    waste_mm2: float


def leftovers_sheet(
    hide: Hide,
    request: LayoutRequest,
    layout: Layout,
    least_width_mm: float,
    least_area_mm2: float,
) -> LeftoversSheet:
    """Return what would be left of a hide that is cut by a layout."""
    value = hide_from_record(hide)
    left = leftovers(
        value,
        request,
        layout,
        least_width_mm=least_width_mm,
        least_area_mm2=least_area_mm2,
    )
    return LeftoversSheet(
        svg=leftovers_drawing(value, request, layout, left.remnants),
        count=len(left.remnants),
        pieces_mm2=left.pieces_mm2,
        remnants_mm2=left.remnants_mm2,
        waste_mm2=left.waste_mm2,
    )


def leftovers_drawing(
    hide: HideValue, request: LayoutRequest, layout: Layout, remnants: Sequence[HideValue]
) -> SafeString:
    """Return a hide with what was cut from it and what is left, numbered."""
    drawing = draw_leftovers(hide, request, layout, remnants)
    return _svg(drawing, _("What is left of hide %(hide)s") % {"hide": hide.id})


def left_drawing(remnant: HideValue) -> SafeString:
    """Return a piece left, with the rulers its outline is redrawn by."""
    scale = layout_scale([remnant], LEFT_WIDTH_MM, LEFT_HEIGHT_MM)
    drawing, _key = draw_hide(remnant, *_bare_layout(remnant), scale=scale)
    return _svg(drawing, _("Piece %(piece)s, grain side up") % {"piece": remnant.id})


def label_drawing(hide: Hide) -> SafeString:
    """Return the outline of a hide for its label, in the papers' own inks."""
    ring = ring_from_points(hide.outline)
    box = box_round(ring)
    scale = min(LABEL_WIDTH_MM / box.width_mm, LABEL_HEIGHT_MM / box.height_mm)
    title = _("Outline of hide %(hide)s") % {"hide": hide.code}
    return _svg(_small_drawing(hide, scale), title, own_colours=True)


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
    title = _("Outline of hide %(hide)s") % {"hide": hide.code}
    return _svg(_small_drawing(hide, scale), title)


def _small_drawing(hide: Hide, scale: float) -> Drawing:
    shrink = Turn(scale=scale)
    detail_mm = SMALL_DETAIL_MM / scale
    outline = shrink.many(plain_ring(ring_from_points(hide.outline), detail_mm))
    defects = [
        shrink.many(plain_ring(ring_from_points(row["outer"]), detail_mm)) for row in hide.defects
    ]
    return Drawing(
        strokes=(
            Stroke(outline, "hide", closed=True),
            *(Stroke(ring, "mark", closed=True) for ring in defects),
        ),
        fills=(Fill(outline, "hide"), *(Fill(ring, "defect") for ring in defects)),
        scale=scale,
    )
