"""Says what is wrong when a piece fits no hide: what it needs and what is there."""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from patterns.errors import LayoutError
from patterns.hide import Hide
from patterns.layout.ground import usable_shape
from patterns.layout.orientations import Orientation
from patterns.layout.values import LayoutRequest

POINTS_ACROSS = 150


def too_large_error(request: LayoutRequest, piece: str, ways: Sequence[Orientation]) -> LayoutError:
    """Return the error to raise for a piece that fits no hide in any way allowed."""
    edge = 2.0 * request.edge_spacing_mm
    sizes = [_size_mm(way, edge) for way in ways]
    width, height = min(sizes, key=lambda size: (size[0] * size[1], size))
    index = next(i for i, candidate in enumerate(request.pieces) if candidate.id == piece)
    grade = request.pieces[index].grade
    spots = [(hide, _largest_spot_mm(_good_shape(hide, grade))) for hide in request.hides]
    hide, (clear_width, clear_height) = max(spots, key=lambda spot: spot[1][0] * spot[1][1])
    where = _where(request.hides, hide)
    name = piece[:1].upper() + piece[1:]
    worse = grade is not None and any(area.grade > grade for h in request.hides for area in h.areas)
    off, lower = (
        (f" and of leather below grade {grade}", ", or let the piece take a lower grade")
        if worse
        else ("", "")
    )
    return LayoutError(
        f"{name} does not fit {where}: it needs {width:.0f} × {height:.0f} mm clear of "
        f"defects{off}; "
        f"the largest clear spot is {clear_width:.0f} × {clear_height:.0f} mm. "
        f"Pick another hide{lower}.",
        field=f"pieces.{index}.outer",
        code="piece_too_large",
        piece=piece,
        hide=hide.id,
        hide_count=len(request.hides),
        grade=grade if worse else None,
        needed_width_mm=width,
        needed_height_mm=height,
        clear_width_mm=clear_width,
        clear_height_mm=clear_height,
    )


def _good_shape(hide: Hide, grade: int | None) -> BaseGeometry:
    """Return where a piece that asks for a grade may lie."""
    usable = usable_shape(hide)
    if grade is None:
        return usable
    worse = [shapely.Polygon(area.outline_mm) for area in hide.areas if area.grade > grade]
    return usable.difference(shapely.union_all(worse))


def _size_mm(way: Orientation, edge_mm: float) -> tuple[float, float]:
    x0, y0, x1, y1 = way.bounds_mm
    return x1 - x0 + edge_mm, y1 - y0 + edge_mm


def _where(hides: Sequence[Hide], roomiest: Hide) -> str:
    if len(hides) == 1:
        return f"hide {roomiest.id}"
    return f"any of the {len(hides)} hides, not even {roomiest.id}"


def _largest_spot_mm(usable: BaseGeometry) -> tuple[float, float]:
    """Return width and height of about the largest upright rectangle inside a shape."""
    x0, y0, x1, y1 = usable.bounds
    pitch = max(x1 - x0, y1 - y0) / POINTS_ACROSS
    columns = max(1, int(np.floor((x1 - x0) / pitch + 1e-9)))
    rows = max(1, int(np.floor((y1 - y0) / pitch + 1e-9)))
    xs, ys = np.meshgrid(
        x0 + (np.arange(columns) + 0.5) * pitch, y0 + (np.arange(rows) + 0.5) * pitch
    )
    shapely.prepare(usable)
    clear = shapely.contains_xy(usable, xs, ys)
    best = (0, 0)
    depth = np.zeros(columns, dtype=np.int64)
    for row in clear:
        depth = np.where(row, depth + 1, 0)
        found = _largest_under(depth.tolist())
        if found[0] * found[1] > best[0] * best[1]:
            best = found
    return best[0] * pitch, best[1] * pitch


def _largest_under(depths: list[int]) -> tuple[int, int]:
    """Return width and height of the largest rectangle under a row of columns.

    Source: the stack method for the largest rectangle under a histogram, common knowledge.
    """
    best = (0, 0)
    open_columns: list[tuple[int, int]] = []
    for place, depth in enumerate([*depths, 0]):
        start = place
        while open_columns and open_columns[-1][1] >= depth:
            start, tall = open_columns.pop()
            if (place - start) * tall > best[0] * best[1]:
                best = (place - start, tall)
        open_columns.append((start, depth))
    return best
