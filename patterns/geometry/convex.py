"""Convex parts: cutting a shape into them, growing them, and summing them row by row.

The set of all sums a + b of two convex shapes is convex again, with edges that are just the edges
of both in the order of their slope. Two pieces overlap exactly when the place of one lies inside
the sum of the other and its own mirror image through the origin; so these sums, sampled on a
grid, tell every place at which two pieces may lie.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

# Cells this near the border of a sum count as outside it, so that shapes may touch.
# A fifth of the 0.001 mm by which a layout is checked.
TOUCH_MM = 2e-4
LEVEL_MM = 1e-9  # far above the rounding of any coordinate, far below TOUCH_MM
_CONVEX_SLACK_MM2 = 1e-9  # a corner this flat still counts as convex
DISC_CORNERS = 12  # a disc's circumscribed polygon then stands out by 3.5 % of its radius


def disc_around(radius_mm: float, corners: int = DISC_CORNERS) -> FloatArray:
    """Return a regular polygon, shape (corners, 2), that contains the disc of that radius.

    Examples
    --------
    >>> disc_around(1.0, corners=4).round(6).tolist()
    [[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]]
    """
    angles = (np.arange(corners) + 0.5) * (2.0 * math.pi / corners)
    if corners == 4:
        angles = (np.arange(4) + 0.5) * (math.pi / 2.0)
    reach = radius_mm / math.cos(math.pi / corners)
    return np.stack([reach * np.cos(angles), reach * np.sin(angles)], axis=1)


def convex_parts(shape: Polygon) -> list[FloatArray]:
    """Return convex rings, each of shape (n, 2) counter-clockwise, that together cover a polygon.

    The polygon is cut into triangles and neighbours are joined again while the join is convex.

    Notes
    -----
    Source: Hertel and Mehlhorn, "Fast triangulation of simple polygons", 1983: joining so leaves
    at most four times the least number of parts.
    """
    triangles = [
        np.asarray(shapely.get_coordinates(triangle.exterior)[:3])
        for triangle in shapely.constrained_delaunay_triangles(shape).geoms
    ]
    corners: list[tuple[float, float]] = []
    index_of: dict[tuple[float, float], int] = {}
    loops: list[list[int] | None] = []
    for triangle in triangles:
        loop = []
        for x, y in triangle.tolist():
            if (x, y) not in index_of:
                index_of[(x, y)] = len(corners)
                corners.append((x, y))
            loop.append(index_of[(x, y)])
        loops.append(loop if _turn(corners, *loop) > 0 else loop[::-1])
    return [
        np.array([corners[index] for index in loop])
        for loop in _joined(loops, corners)
        if abs(_loop_area(loop, corners)) > 0.0
    ]


def _turn(corners: Sequence[tuple[float, float]], a: int, b: int, c: int) -> float:
    (xa, ya), (xb, yb), (xc, yc) = corners[a], corners[b], corners[c]
    return (xb - xa) * (yc - yb) - (yb - ya) * (xc - xb)


def _loop_area(loop: Sequence[int], corners: Sequence[tuple[float, float]]) -> float:
    points = [corners[index] for index in loop]
    pairs = zip(points, [*points[1:], points[0]], strict=True)
    return sum(xa * yb - xb * ya for (xa, ya), (xb, yb) in pairs) / 2.0


def _joined(
    loops: list[list[int] | None], corners: Sequence[tuple[float, float]]
) -> list[list[int]]:
    owner = {
        (loop[k - 1], loop[k]): number
        for number, loop in enumerate(loops)
        if loop is not None
        for k in range(len(loop))
    }
    diagonals = [(a, b) for a, b in owner if a < b and (b, a) in owner]
    # Long diagonals first: dropping them leaves the plumpest parts.
    diagonals.sort(key=lambda d: -math.dist(corners[d[0]], corners[d[1]]))
    for a, b in diagonals:
        first, second = owner[(a, b)], owner[(b, a)]
        one, two = loops[first], loops[second]
        if first == second or one is None or two is None:
            continue
        start, other = one.index(b), two.index(a)
        # From b round the first loop to a, then round the second back to b.
        loop = one[start:] + one[:start] + (two[other:] + two[:other])[1:-1]
        if not _convex_at(loop, 0, corners) or not _convex_at(loop, len(one) - 1, corners):
            continue
        loops[first], loops[second] = loop, None
        for k in range(len(loop)):
            owner[(loop[k - 1], loop[k])] = first
    return [loop for loop in loops if loop is not None]


def _convex_at(loop: Sequence[int], place: int, corners: Sequence[tuple[float, float]]) -> bool:
    after = loop[(place + 1) % len(loop)]
    return _turn(corners, loop[place - 1], loop[place], after) >= -_CONVEX_SLACK_MM2


def grown(parts: Iterable[FloatArray], radius_mm: float) -> list[FloatArray]:
    """Return convex parts that hold every point within that distance of the given ones."""
    if radius_mm <= 0.0:
        return list(parts)
    disc = disc_around(radius_mm)
    result = []
    for part in parts:
        sums = (part[:, None, :] + disc[None, :, :]).reshape(-1, 2)
        hull = shapely.convex_hull(shapely.multipoints(sums))
        result.append(shapely.get_coordinates(shapely.orient_polygons(hull))[:-1])
    return result


@dataclass(frozen=True, slots=True)
class _Side:
    """The right or left border of many convex parts, from the bottom up, padded with no-edges."""

    start: FloatArray  # (parts, 2)
    edges: FloatArray  # (parts, edges, 2)
    order: FloatArray  # (parts, edges): edges of a sum follow each other by this


@dataclass(frozen=True, slots=True)
class ConvexStack:
    """Many convex parts at once, ready to be summed with others."""

    right: _Side
    left: _Side
    bottom: FloatArray  # (parts,)
    top: FloatArray  # (parts,)

    @property
    def count(self) -> int:
        """Return how many parts there are."""
        return int(self.bottom.shape[0])


def stacked(parts: Sequence[FloatArray]) -> ConvexStack:
    """Return counter-clockwise convex rings, each of shape (n, 2), as one stack."""
    return ConvexStack(
        right=_side(parts, 1.0),
        left=_side([part * (-1.0, 1.0) for part in parts], -1.0),
        bottom=np.array([part[:, 1].min() for part in parts]),
        top=np.array([part[:, 1].max() for part in parts]),
    )


def _side(parts: Sequence[FloatArray], sign: float) -> _Side:
    """Return the right border; the left one comes from rings mirrored beforehand."""
    count, most = len(parts), max(len(part) for part in parts)
    start = np.zeros((count, 2))
    edges = np.zeros((count, most, 2))
    order = np.full((count, most), np.inf)
    for number, part in enumerate(parts):
        ring = part if sign > 0 else part[::-1]
        # Turned rings have level edges that rounding tilts either way: all of them count as level,
        # so that the border begins at the far end of the lowest one and loses no part of it.
        lowest = ring[:, 1] <= ring[:, 1].min() + LEVEL_MM
        start[number] = ring[lowest][ring[lowest][:, 0].argmax()]
        steps = np.roll(ring, -1, axis=0) - ring
        rising = steps[steps[:, 1] > LEVEL_MM]
        slope = -rising[:, 0] / rising[:, 1]
        by_slope = np.argsort(slope, kind="stable")
        edges[number, : len(rising)] = rising[by_slope]
        order[number, : len(rising)] = slope[by_slope]
    return _Side(start, edges, order)


@dataclass(frozen=True, slots=True)
class Runs:
    """Runs of grid cells: on ``row``, every column from ``first`` to ``last`` included."""

    row: IntArray
    first: IntArray
    last: IntArray


def sum_runs(one: ConvexStack, two: ConvexStack, grid_mm: float) -> Runs:
    """Return the cells of a grid that lie inside the sum of two shapes.

    Parameters
    ----------
    one, two : ConvexStack
        The shapes, each as a stack of convex parts; every part of one is summed with every part
        of the other.
    grid_mm : float
        Distance of the grid's points; cell (row, column) lies at (column, row) times it.

    Returns
    -------
    Runs
        Runs of cells, which may lie over each other. Cells nearer than ``TOUCH_MM`` to the
        border of a partial sum are left out.
    """
    pair_one = np.repeat(np.arange(one.count), two.count)
    pair_two = np.tile(np.arange(two.count), one.count)
    bottom = one.bottom[pair_one] + two.bottom[pair_two] + TOUCH_MM
    top = one.top[pair_one] + two.top[pair_two] - TOUCH_MM
    lowest = np.ceil(bottom / grid_mm).astype(np.int64)
    count = np.maximum(np.floor(top / grid_mm).astype(np.int64) - lowest + 1, 0)
    pair = np.repeat(np.arange(len(count)), count)
    row = np.arange(int(count.sum())) - np.repeat(np.cumsum(count) - count, count) + lowest[pair]
    # Each pair's border is moved up by its own amount, so that one look-up serves them all.
    lift = 4.0 * (1.0 + max(float(np.abs(bottom).max()), float(np.abs(top).max())))
    heights = row * grid_mm + pair * lift
    right = _border_at(one.right, two.right, pair_one, pair_two, heights, lift)
    left = -_border_at(one.left, two.left, pair_one, pair_two, heights, lift)
    first = np.ceil((left + TOUCH_MM) / grid_mm).astype(np.int64)
    last = np.floor((right - TOUCH_MM) / grid_mm).astype(np.int64)
    keep = last >= first
    return Runs(row[keep], first[keep], last[keep])


def _border_at(
    one: _Side, two: _Side, pair_one: IntArray, pair_two: IntArray, heights: FloatArray, lift: float
) -> FloatArray:
    order = np.concatenate([one.order[pair_one], two.order[pair_two]], axis=1)
    edges = np.concatenate([one.edges[pair_one], two.edges[pair_two]], axis=1)
    by_slope = np.argsort(order, axis=1, kind="stable")
    steps = np.take_along_axis(edges, by_slope[:, :, None], axis=1)
    start = (one.start[pair_one] + two.start[pair_two])[:, None, :]
    corners = np.concatenate([start, start + np.cumsum(steps, axis=1)], axis=1)
    ys = corners[:, :, 1] + (np.arange(len(pair_one)) * lift)[:, None]
    found: FloatArray = np.interp(heights, ys.ravel(), corners[:, :, 0].ravel())
    return found


def cells_of_runs(
    runs: Runs, *, bottom: int, left: int, rows: int, columns: int
) -> npt.NDArray[np.bool_]:
    """Return a mask, shape (rows, columns), of the cells in runs, clipped to the window given."""
    row = runs.row - bottom
    first = np.maximum(runs.first - left, 0)
    after = np.minimum(runs.last - left + 1, columns)
    keep = (row >= 0) & (row < rows) & (after > first)
    width = columns + 1
    size = rows * width
    opened = np.bincount(row[keep] * width + first[keep], minlength=size)
    closed = np.bincount(row[keep] * width + after[keep], minlength=size)
    depth = np.cumsum((opened - closed).reshape(rows, width), axis=1)
    return depth[:, :columns] > 0
