"""Draw a foot's own outlines at true scale on squared paper, with their sizes."""

from collections.abc import Sequence
from math import ceil, floor

from patterns.drawing.drawing import (
    ASCENT,
    Box,
    Drawing,
    Fill,
    Stroke,
    Words,
    box_round,
    joined,
)
from patterns.pieces.piece import Point

SQUARE_MM = 10.0
NUMBER_EVERY_MM = 50.0
WORDS_MM = 3.6
_NUMBER_MM = 3.2
_VIEW_GAP_MM = 15.0


def draw_foot_preview(
    sole_outline_mm: Sequence[Point], side_profile_mm: Sequence[Point] = ()
) -> Drawing:
    """Return a foot from the side and from above, heel under heel, on squares of 10 mm.

    Parameters
    ----------
    sole_outline_mm : sequence of (x, y)
        Closed outline of the sole, heel at x = 0; may be empty.
    side_profile_mm : sequence of (x, z)
        Line from the toe up the front and down the back; may be empty.
    """
    side, sole = tuple(side_profile_mm), tuple(sole_outline_mm)
    if not side and not sole:
        return Drawing()
    across = box_round((*side, *sole))
    parts: list[Drawing] = []
    level = 0.0
    views = (("from the side", "high", side, False), ("from above", "wide", sole, True))
    for caption, breadth, points, closed in views:
        if not points:
            continue
        view = _view(caption, breadth, points, across, closed=closed)
        parts.append(view.moved(0.0, level - view.extents.top_mm if parts else 0.0))
        level = parts[-1].extents.bottom_mm - _VIEW_GAP_MM / 3
    return joined(parts)


def _view(
    caption: str, breadth: str, points: tuple[Point, ...], across: Box, *, closed: bool
) -> Drawing:
    box = box_round(points)
    grid = Box(
        floor(across.left_mm / SQUARE_MM - 0.3) * SQUARE_MM,
        floor(box.bottom_mm / SQUARE_MM - (0.3 if closed else 0.0)) * SQUARE_MM,
        ceil(across.right_mm / SQUARE_MM + 0.3) * SQUARE_MM,
        ceil(box.top_mm / SQUARE_MM + 0.3) * SQUARE_MM,
    )
    # The leg may lean out behind the heel, so the side view tells no length of the foot.
    length = f"{box.width_mm:.1f} mm long, " if closed else ""
    size = f"{length}{box.height_mm:.1f} mm {breadth}"
    top = grid.top_mm + 2.2
    words = (
        Words(caption, grid.left_mm, top, WORDS_MM, face="italic", ink="quiet"),
        Words(size, grid.right_mm, top, WORDS_MM, "end"),
    )
    closing = () if closed else (Stroke((points[-1], points[0]), "detail"),)
    outline = Drawing(
        (*_squares(grid), *closing, Stroke(points, "contour", closed=closed)),
        (Fill(points, "foot"),),
        words,
    )
    return joined((outline, _numbers(grid)))


def _squares(grid: Box) -> list[Stroke]:
    columns = round(grid.width_mm / SQUARE_MM)
    rows = round(grid.height_mm / SQUARE_MM)
    upright = [
        ((x, grid.bottom_mm), (x, grid.top_mm))
        for x in (grid.left_mm + k * SQUARE_MM for k in range(columns + 1))
    ]
    level = [
        ((grid.left_mm, y), (grid.right_mm, y))
        for y in (grid.bottom_mm + k * SQUARE_MM for k in range(rows + 1))
    ]
    return [Stroke(ends, "square") for ends in (*upright, *level)]


def _numbers(grid: Box) -> Drawing:
    """Return the millimetres along the lower and the left edge, every 50."""
    below = grid.bottom_mm - 1.2 - ASCENT * _NUMBER_MM
    words = [
        Words(f"{x:.0f}", x, below, _NUMBER_MM, "middle", ink="quiet")
        for x in _fifties(grid.left_mm, grid.right_mm)
    ]
    words += [
        Words(f"{y:.0f}", grid.left_mm - 1.2, y - 1.0, _NUMBER_MM, "end", ink="quiet")
        for y in _fifties(grid.bottom_mm, grid.top_mm)
    ]
    return Drawing(words=tuple(words))


def _fifties(low: float, high: float) -> list[float]:
    first = ceil(low / NUMBER_EVERY_MM)
    return [k * NUMBER_EVERY_MM for k in range(first, floor(high / NUMBER_EVERY_MM) + 1)]
