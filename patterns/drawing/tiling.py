"""Drawings too large for a sheet: over several that overlap, with crosses to join them by."""

from dataclasses import dataclass
from math import ceil

from patterns.drawing.drawing import ASCENT, Box, Drawing, Stroke, Turn, Words, joined
from patterns.drawing.labels import LEAST_SIZE_MM

OVERLAP_MM = 10.0
CROSS_MM = 3.0


@dataclass(frozen=True, slots=True)
class Tiling:
    """A drawing too large for a sheet, cut into tiles that overlap."""

    drawing: Drawing
    landscape: bool
    columns: int
    rows: int
    step_x_mm: float
    step_y_mm: float

    @property
    def count(self) -> int:
        """Return how many tiles there are."""
        return self.columns * self.rows


def tiling_of(drawing: Drawing, boxes: tuple[Box, Box]) -> Tiling:
    """Return the way with the fewest sheets; ``boxes`` are free of an upright and a lying one."""
    best: Tiling | None = None
    for turned in (False, True):
        shown = drawing.turned(Turn(angle_deg=90.0)) if turned else drawing
        size = shown.extents.grown(1.0)
        for landscape, box in zip((False, True), boxes, strict=True):
            step_x, step_y = box.width_mm - OVERLAP_MM, box.height_mm - OVERLAP_MM
            columns = max(1, ceil((size.width_mm - OVERLAP_MM) / step_x))
            rows = max(1, ceil((size.height_mm - OVERLAP_MM) / step_y))
            if best is None or columns * rows < best.count:
                best = Tiling(shown, landscape, columns, rows, step_x, step_y)
    assert best is not None
    return best


def marked_drawing(tiling: Tiling, box: Box) -> Drawing:
    """Return the drawing in the middle of all its tiles together, with the crosses that join them.

    The lower left corner of all tiles is the origin; ``box`` is the part of a page a tile fills.
    """
    centred = _centred(tiling, box)
    return joined((centred, _join_marks(tiling, box)))


def _whole_size(tiling: Tiling, box: Box) -> tuple[float, float]:
    return (
        (tiling.columns - 1) * tiling.step_x_mm + box.width_mm,
        (tiling.rows - 1) * tiling.step_y_mm + box.height_mm,
    )


def _centred(tiling: Tiling, box: Box) -> Drawing:
    """Return the drawing in the middle of all its tiles together, their corner at the origin."""
    width, height = _whole_size(tiling, box)
    size = tiling.drawing.extents
    return tiling.drawing.moved(
        (width - size.width_mm) / 2 - size.left_mm, (height - size.height_mm) / 2 - size.bottom_mm
    )


def tile_letter(tile: int) -> str:
    """Return the letter of a tile: A to Z, then AA, AB and on.

    >>> tile_letter(0), tile_letter(27)
    ('A', 'AB')
    """
    letters = ""
    number = tile + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _join_marks(tiling: Tiling, box: Box) -> Drawing:
    """Return crosses in the middle of every overlap, between the letters of its two tiles."""
    marks = []
    for tile in range(tiling.count):
        row, column = divmod(tile, tiling.columns)
        left = column * tiling.step_x_mm
        bottom = (tiling.rows - 1 - row) * tiling.step_y_mm
        if column + 1 < tiling.columns:
            x = left + box.width_mm - OVERLAP_MM / 2
            pair = (tile_letter(tile), tile_letter(tile + 1))
            marks += [
                _join_cross(x, bottom + box.height_mm * share, pair, upright=False)
                for share in (0.2, 0.8)
            ]
        if row + 1 < tiling.rows:
            y = bottom + OVERLAP_MM / 2
            pair = (tile_letter(tile), tile_letter(tile + tiling.columns))
            marks += [
                _join_cross(left + box.width_mm * share, y, pair, upright=True)
                for share in (0.2, 0.8)
            ]
    return joined(marks)


def _join_cross(x: float, y: float, pair: tuple[str, str], *, upright: bool) -> Drawing:
    strokes = (
        Stroke(((x - CROSS_MM, y), (x + CROSS_MM, y)), "register"),
        Stroke(((x, y - CROSS_MM), (x, y + CROSS_MM)), "register"),
    )
    size = LEAST_SIZE_MM
    if upright:
        words = (
            Words(pair[0], x + 1.0, y + 1.0, size),
            Words(pair[1], x + 1.0, y - 1.0 - ASCENT * size, size),
        )
    else:
        words = (
            Words(pair[0], x - 1.0, y + 1.0, size, "end"),
            Words(pair[1], x + 1.0, y + 1.0, size),
        )
    return Drawing(strokes, words=words)
