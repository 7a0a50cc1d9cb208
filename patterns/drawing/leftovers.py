"""Draw what is left of a cut hide: the layout, and over it the pieces worth keeping, numbered."""

from collections.abc import Sequence

from shapely.geometry import Polygon

from patterns.drawing.drawing import (
    ASCENT,
    DESCENT,
    Drawing,
    Fill,
    Stroke,
    Turn,
    Words,
    joined,
)
from patterns.drawing.fonts import text_width_mm
from patterns.drawing.free_spot import free_spot
from patterns.drawing.layout import draw_hide, layout_scale
from patterns.hide import Hide
from patterns.layout.values import Layout, LayoutRequest

NUMBER_SIZES_MM = (9.0, 6.0, 3.8)


def draw_leftovers(
    hide: Hide,
    request: LayoutRequest,
    layout: Layout,
    remnants: Sequence[Hide],
    *,
    scale: float | None = None,
) -> Drawing:
    """Return one hide with what was cut from it, and each remnant filled and numbered from 1.

    Parameters
    ----------
    hide : Hide
        One of the request's.
    request : LayoutRequest
    layout : Layout
    remnants : sequence of Hide
        In the frame of the layout.
    scale : float, optional
        Millimetres drawn per millimetre of hide; left out, the largest usual one within
        170 by 150 mm.
    """
    chosen = scale or layout_scale([hide], 170.0, 150.0)
    shrink = Turn(scale=chosen)
    ground, _key = draw_hide(hide, request, layout, scale=chosen)
    fills = tuple(
        Fill(
            shrink.many(remnant.outline_mm),
            "here",
            tuple(shrink.many(ring) for ring in remnant.defects_mm),
        )
        for remnant in remnants
    )
    strokes = tuple(
        Stroke(shrink.many(ring), "fold", closed=True)
        for remnant in remnants
        for ring in (remnant.outline_mm, *remnant.defects_mm)
    )
    words = tuple(
        word
        for number, remnant in enumerate(remnants, 1)
        for word in _number(str(number), remnant, shrink)
    )
    return joined((ground, Drawing(strokes, fills, words)))


def _number(text: str, remnant: Hide, shrink: Turn) -> tuple[Words, ...]:
    free = Polygon(
        shrink.many(remnant.outline_mm), [shrink.many(ring) for ring in remnant.defects_mm]
    )
    for size in NUMBER_SIZES_MM:
        height = size * (ASCENT + DESCENT)
        spot = free_spot(free, text_width_mm(text, size, "bold"), height)
        if spot is not None:
            level = spot.y_mm - height / 2 + DESCENT * size
            return (Words(text, spot.x_mm, level, size, "middle", face="bold"),)
    return ()
