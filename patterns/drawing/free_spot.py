"""Find a clear spot for a rectangle, such as a label or an arrow, inside a shape."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.affinity import rotate
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from patterns.pieces.piece import Point

_MOST_CELLS = 120


@dataclass(frozen=True, slots=True)
class Spot:
    """A clear rectangle: its centre and the angle its width runs at."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    angle_deg: float

    def shape(self) -> Polygon:
        """Return the rectangle as a polygon."""
        half_w, half_h = self.width_mm / 2, self.height_mm / 2
        upright = box(
            self.x_mm - half_w, self.y_mm - half_h, self.x_mm + half_w, self.y_mm + half_h
        )
        return rotate(upright, self.angle_deg, origin=(self.x_mm, self.y_mm))


def free_spot(
    free: BaseGeometry,
    width_mm: float,
    height_mm: float,
    *,
    angle_deg: float = 0.0,
    near: Point | None = None,
) -> Spot | None:
    """Return a clear rectangle inside ``free``, as near to a point as can be; None if none.

    A grid of test points finds candidates; each is then held against the shape itself, so the
    rectangle returned lies wholly inside.

    Parameters
    ----------
    free : shapely geometry
        Where the rectangle may lie.
    width_mm, height_mm : float
        Its size, above zero.
    angle_deg : float
        Turn of the rectangle, counter-clockwise.
    near : (x, y), optional
        Wished centre; the shape's own centre if left out.
    """
    if free.is_empty or free.area < width_mm * height_mm:
        return None
    grid = _grid(free, angle_deg)
    target = near or (free.centroid.x, free.centroid.y)
    wish = rotate(shapely.Point(target), -angle_deg, origin=(0, 0))
    for x_mm, y_mm in _candidates(grid, width_mm, height_mm, (wish.x, wish.y)):
        half_w, half_h = width_mm / 2, height_mm / 2
        if grid.level.covers(box(x_mm - half_w, y_mm - half_h, x_mm + half_w, y_mm + half_h)):
            centre = rotate(shapely.Point(x_mm, y_mm), angle_deg, origin=(0, 0))
            return Spot(centre.x, centre.y, width_mm, height_mm, angle_deg)
    return None


@dataclass(frozen=True, slots=True)
class _Grid:
    """A shape turned level, test points over it, and how many lie inside up to each."""

    level: BaseGeometry
    step_mm: float
    xs_mm: np.ndarray
    ys_mm: np.ndarray
    sums: np.ndarray  # one row and one column more than there are points


@lru_cache(maxsize=32)  # one shape is searched for words and arrows of many sizes in turn
def _grid(free: BaseGeometry, angle_deg: float) -> _Grid:
    level = rotate(free, -angle_deg, origin=(0, 0)) if angle_deg else free
    left, bottom, right, top = level.bounds
    step = max((right - left) / _MOST_CELLS, (top - bottom) / _MOST_CELLS, 0.4)
    xs = np.arange(left, right + step, step)
    ys = np.arange(bottom, top + step, step)
    shapely.prepare(level)
    inside = shapely.contains_xy(level, *np.meshgrid(xs, ys))
    sums = np.pad(inside.astype(np.int64).cumsum(0).cumsum(1), ((1, 0), (1, 0)))
    return _Grid(level, step, xs, ys, sums)


def _candidates(grid: _Grid, width_mm: float, height_mm: float, wish: Point) -> list[Point]:
    step, xs, ys, sums = grid.step_mm, grid.xs_mm, grid.ys_mm, grid.sums
    wide, high = int(np.ceil(width_mm / step)) + 1, int(np.ceil(height_mm / step)) + 1
    if wide > len(xs) or high > len(ys):
        return []
    count = sums[high:, wide:] - sums[:-high, wide:] - sums[high:, :-wide] + sums[:-high, :-wide]
    rows, columns = np.nonzero(count == wide * high)
    centre_x = xs[columns] + (wide - 1) * step / 2
    centre_y = ys[rows] + (high - 1) * step / 2
    order = np.argsort(np.hypot(centre_x - wish[0], centre_y - wish[1]), kind="stable")[:12]
    return [(float(centre_x[k]), float(centre_y[k])) for k in order]
