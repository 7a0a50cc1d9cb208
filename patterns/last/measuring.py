"""The measures of a foot taken on a last, by the definitions used for meshes.

A girth is the perimeter of the convex hull of a plane section of the surface's triangles: what
a tape bridges. The triangles' edges are cut directly, which gives the same hull.
"""

from collections.abc import Mapping
from functools import lru_cache
from math import hypot

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull, QhullError

from patterns.last.last import Last
from patterns.mesh.section import SECTION_TOP

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

HEEL_CORNER = 0.04  # of foot length: where the slanting girth passes under the heel
ANKLE_STEP = 0.01  # of foot length, between the heights at which the smallest girth is looked for
ANKLE_ROUNDS = 8  # halvings of that step


class GridTape:
    """A tape for one grid: its edges are sorted out once, then cut by any number of planes.

    Parameters
    ----------
    grid : array of shape (stations, turns, 3)
        Outer side towards +y, in any unit.
    """

    def __init__(self, grid: FloatArray) -> None:
        self.grid = grid
        self.points = grid.reshape(-1, 3)
        self.start, self.end = _edges(grid)

    def section(
        self, origin: npt.ArrayLike, normal: npt.ArrayLike, top: float | None = None
    ) -> FloatArray:
        """Return the points where a plane crosses the surface's edges, shape (n, 3)."""
        offset = self.points - np.asarray(origin, float)
        height: FloatArray = offset @ np.asarray(normal, float)
        below = height < 0.0
        crossing = np.flatnonzero(below[self.start] != below[self.end])
        start, end = self.start[crossing], self.end[crossing]
        share = (height[start] / (height[start] - height[end]))[:, None]
        found: FloatArray = self.points[start] + share * (self.points[end] - self.points[start])
        return found if top is None else found[found[:, 2] <= top]

    def girth(
        self, origin: npt.ArrayLike, normal: npt.ArrayLike, top: float | None = None
    ) -> float:
        """Return what a tape in a plane bridges, zero where the plane misses the surface."""
        return hull_girth(self.section(origin, normal, top), np.asarray(normal, float))

    def level_girth(self, height: float) -> float:
        """Return the girth with the tape held level."""
        return self.girth((0.0, 0.0, height), (0.0, 0.0, 1.0))


def hull_girth(points: FloatArray, normal: FloatArray) -> float:
    """Return the perimeter of the convex hull of points of a plane."""
    if len(points) < 3:
        return 0.0
    unit = normal / np.linalg.norm(normal)
    across = np.cross(unit, [0.0, 0.0, 1.0] if abs(unit[2]) < 0.9 else [1.0, 0.0, 0.0])
    across /= np.linalg.norm(across)
    flat = points @ np.column_stack([across, np.cross(unit, across)])
    try:
        return float(ConvexHull(flat).area)
    except QhullError:
        return 0.0


def foot_measures(tape: GridTape, length: float, heel_raise: float) -> dict[str, float]:
    """Return the measures taken on the foot itself, by key, in the grid's unit.

    Everything but the leg's girths; `heel_raise` says where the heel's seat is looked for.
    """
    points = tape.points
    along, height = points[:, 0] / length, points[:, 2]
    seat = points[(along > 0.05) & (along < 0.2), 2]
    inner, outer = ball_points(points, length)
    direction = outer - inner
    top = SECTION_TOP * length + heel_raise
    half_way = tape.section((0.5 * length, 0.0, 0.0), (1.0, 0.0, 0.0), top)
    instep = half_way[half_way[:, 2].argmax()]
    heel = np.array([HEEL_CORNER * length, 0.0, heel_raise])
    slant = np.cross(instep - heel, [0.0, 1.0, 0.0])
    at_toe = tape.section((0.9 * length, 0.0, 0.0), (1.0, 0.0, 0.0))
    heel_part = (along < 0.25) & (height < 0.15 * length + heel_raise)
    return {
        "foot_length": float(np.ptp(points[height < 0.3 * length + heel_raise, 0])),
        "ball_width": hypot(direction[0], direction[1]),
        "ball_girth": tape.girth(inner, (direction[1], -direction[0], 0.0)),
        "heel_width": float(np.ptp(points[heel_part, 1])),
        "instep_girth": hull_girth(half_way, np.array([1.0, 0.0, 0.0])),
        "instep_height": float(instep[2]),
        "heel_instep_girth": tape.girth(heel, slant, top),
        "toe_height": float(max(points[along > 0.9, 2].max(), at_toe[:, 2].max())),
        "heel_raise": float(seat.min()),
    }


def ball_points(points: FloatArray, length: float) -> tuple[FloatArray, FloatArray]:
    """Return the widest points of the forefoot, inner and outer; the outer side lies at +y."""
    along, low = points[:, 0] / length, points[:, 2] < 0.2 * length
    inner = points[low & (along > 0.62) & (along < 0.80)]
    outer = points[low & (along > 0.52) & (along < 0.75)]
    return inner[inner[:, 1].argmin()], outer[outer[:, 1].argmax()]


def smallest_level_girth(
    tape: GridTape, low: float, high: float, step: float
) -> tuple[float, float]:
    """Return the smallest girth of the leg between two heights, and its height.

    Looked for in even steps, then ever more closely between the neighbours of the smallest.
    """
    top = float(tape.grid[-1, :, 2].min())
    heights = np.arange(low, min(high, top) + 1e-9 * step, step)
    girths = [tape.level_girth(float(height)) for height in heights]
    best = int(np.argmin(girths))
    found = (girths[best], float(heights[best]))
    below = float(heights[max(best - 1, 0)])
    above = float(heights[min(best + 1, len(heights) - 1)])
    for _ in range(ANKLE_ROUNDS):
        for side in (below, above):
            height = 0.5 * (found[1] + side)
            found = min(found, (tape.level_girth(height), height))
        width = 0.5 * (above - below)
        below, above = max(below, found[1] - 0.5 * width), min(above, found[1] + 0.5 * width)
    return found


def measure_last(
    last: Last,
    *,
    calf_height_mm: float | None = None,
    ankle_search_mm: tuple[float, float] | None = None,
) -> Mapping[str, float]:
    """Return the thirteen measures as found on a last's surface, in mm.

    Those the last does not reach are left out. `ankle_search_mm` are the heights between which
    the smallest level girth is looked for, by definition 0.22 to 0.70 of the foot's length above
    the heel.
    """
    grid = last.grid_mm * np.array([1.0, float(last.lateral_sign), 1.0])
    tape = GridTape(grid)
    length, seat = last.foot_length_mm, last.heel_raise_mm
    measures = foot_measures(tape, length, seat)
    low, high = ankle_search_mm or (0.22 * length + seat, 0.70 * length + seat)
    if last.top_mm > low:
        girth, height = smallest_level_girth(tape, low, high, ANKLE_STEP * length)
        measures |= {"ankle_girth": girth, "ankle_height": height}
    calf = length + seat if calf_height_mm is None else calf_height_mm
    if calf <= last.top_mm + 1e-9 * length:
        measures |= {"calf_girth": tape.level_girth(calf), "calf_height": calf}
    return measures


@lru_cache(maxsize=16)
def _edge_indices(stations: int, turns: int) -> tuple[IntArray, IntArray]:
    """Return start and end of edges round sections and along them, pole rows left in."""
    index = np.arange(stations * turns).reshape(stations, turns)
    ring = (index[1:].ravel(), np.roll(index, -1, axis=1)[1:].ravel())
    along = (index[:-1].ravel(), index[1:].ravel())
    return np.concatenate([ring[0], along[0]]), np.concatenate([ring[1], along[1]])


def _edges(grid: FloatArray) -> tuple[IntArray, IntArray]:
    """Return start and end of every edge of a last's triangles, as places in its points."""
    stations, turns = grid.shape[:2]
    start, end = _edge_indices(stations, turns)
    index = np.arange(turns, stations * turns).reshape(stations - 1, turns)
    beside = np.roll(index, -1, axis=1)
    a, b, c, d = index[:-1].ravel(), beside[:-1].ravel(), index[1:].ravel(), beside[1:].ravel()
    points = grid.reshape(-1, 3)
    one, other = points[a] - points[d], points[b] - points[c]
    short = np.einsum("ij,ij->i", one, one) <= np.einsum("ij,ij->i", other, other)
    start = np.concatenate([start, np.where(short, a, b)])
    end = np.concatenate([end, np.where(short, d, c)])
    return start, end
