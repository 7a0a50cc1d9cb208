"""A dimension: its line with arrows, the figure set into it, and thin lines to what is measured."""

from patterns.drawing.drawing import ASCENT, Drawing, Stroke, Words
from patterns.drawing.fonts import text_width_mm
from patterns.pieces.piece import Point

FIGURE_MM = 3.4
AWAY_MM = 7.0  # from the thing measured to a dimension line
WITNESS_MM = 1.2  # how far the thin lines go beyond it
ARROW_MM = 2.2


def dimension(
    start: Point,
    end: Point,
    from_mm: tuple[float, float],
    unit: float,
    tilt_deg: float = 0.0,
    *,
    length_mm: float | None = None,
) -> Drawing:
    """Return a dimension line with arrows, its figure set into it, and lines to what is measured.

    `unit` is what comes out as one millimetre of paper; `length_mm` is the figure where the drawing
    is larger or smaller than what it shows. `from_mm` tells where the witness lines begin: heights
    under a level line, else places beside an upright one. The figure stays level however the line
    is tipped later.
    """
    upright = start[0] == end[0]
    drawn = max(abs(end[0] - start[0]), abs(end[1] - start[1]))
    length = drawn if length_mm is None else length_mm
    text = f"{length:.1f}".removesuffix(".0") + " mm"
    along = (0.0, 1.0) if upright else (1.0, 0.0)
    room = FIGURE_MM * 1.3 if upright else text_width_mm(text, FIGURE_MM) + 2.4
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    strokes = []
    for point, way, seen_from in ((start, -1.0, from_mm[0]), (end, 1.0, from_mm[1])):
        out = (way * along[0], way * along[1])
        inner = (
            middle[0] + out[0] * room / 2 * unit,
            middle[1] + out[1] * room / 2 * unit,
        )
        strokes += [Stroke((inner, point), "leader"), _arrow(point, out, unit)]
        near = (seen_from, point[1]) if upright else (point[0], seen_from)
        beyond = (-WITNESS_MM * unit, 0.0) if upright else (0.0, -WITNESS_MM * unit)
        strokes.append(Stroke((near, (point[0] + beyond[0], point[1] + beyond[1])), "leader"))
    base = middle[1] - ASCENT / 2 * FIGURE_MM * unit
    words = Words(text, middle[0], base, FIGURE_MM, "middle", -tilt_deg, ink="quiet")
    return Drawing(tuple(strokes), words=(words,))


def _arrow(tip: Point, out: Point, unit: float) -> Stroke:
    back, aside = ARROW_MM * unit, ARROW_MM * unit / 4
    ends = [
        (tip[0] - back * out[0] + side * out[1], tip[1] - back * out[1] + side * out[0])
        for side in (aside, -aside)
    ]
    return Stroke((ends[0], tip, ends[1]), "leader")
