"""A surface of triangles with values at its points: its parts, and slits in it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np

from patterns.errors import PatternError
from patterns.geometry.edges import (
    BoolArray,
    EdgeTable,
    FloatArray,
    IntArray,
    boundary_loops,
    component_labels,
    edge_table,
    edges_of,
    euler_number,
    half_edges,
)

__all__ = [
    "NO_ORIGIN",
    "BoolArray",
    "EdgeTable",
    "FloatArray",
    "IntArray",
    "Surface",
    "boundary_loops",
    "component_count",
    "component_labels",
    "edge_table",
    "edges_of",
    "euler_number",
    "half_edges",
    "largest_component",
    "part_of",
    "side_of",
    "slit",
    "triangle_areas_mm2",
]

NO_ORIGIN = -1  # of a point that lies in a part alone


def _no_ids() -> IntArray:
    return np.zeros(0, dtype=np.int64)


@dataclass(frozen=True)
class Surface:
    """Triangles over points in space, with values at the points.

    Parameters
    ----------
    points_mm : array of shape (n, 3)
        Points in space.
    triangles : array of shape (m, 3)
        Numbers of corner points, counter-clockwise seen from outside.
    fields : mapping of name to array of shape (n,)
        Values at the points, taken as linear along edges.
    curves : mapping of name to array of shape (n,)
        The function of each curve cut so far: exactly 0.0 on points that lie on it, and of one
        sign within each triangle.
    origin : array of shape (n,)
        The number of each point in the whole surface the part was taken from, so that partner
        edges of two parts can be matched; `NO_ORIGIN` for points the whole does not have. Left
        out, every point is its own origin.
    is_part : bool
        Whether it was taken from a whole, or opened by a slit.
    """

    points_mm: FloatArray
    triangles: IntArray
    fields: Mapping[str, FloatArray] = field(default_factory=dict)
    curves: Mapping[str, FloatArray] = field(default_factory=dict)
    origin: IntArray = field(default_factory=_no_ids)
    is_part: bool = False

    def __post_init__(self) -> None:
        if len(self.origin) != len(self.points_mm):
            object.__setattr__(self, "origin", np.arange(len(self.points_mm)))

    @property
    def point_count(self) -> int:
        """Return how many points there are."""
        return len(self.points_mm)

    def on_curve(self, name: str) -> BoolArray:
        """Return for each point whether it lies on a curve."""
        return np.asarray(self.curves[name] == 0.0)


def triangle_areas_mm2(points_mm: FloatArray, triangles: IntArray) -> FloatArray:
    """Return the area of each triangle in space."""
    return np.asarray(np.linalg.norm(_normals(points_mm, triangles), axis=1) / 2.0)


def _normals(points_mm: FloatArray, triangles: IntArray) -> FloatArray:
    corner = points_mm[triangles[:, 0]]
    first, second = points_mm[triangles[:, 1]] - corner, points_mm[triangles[:, 2]] - corner
    return np.asarray(np.cross(first, second))


def side_of(surface: Surface, name: str) -> IntArray:
    """Return on which side of a curve each triangle lies, shape (m,), each -1 or 1.

    1 is where the curve's function is positive. A triangle with all three corners on the curve
    takes the side of a neighbour.
    """
    corners = np.sign(surface.curves[name])[surface.triangles]
    sides = np.sign(corners.sum(axis=1)).astype(np.int64)
    while (sides == 0).any():
        twin = half_edges(surface.triangles).twin.reshape(-1, 3)
        nearby = np.where(twin >= 0, sides[twin // 3], 0).sum(axis=1)
        grown = np.where(sides == 0, np.sign(nearby), sides)
        if np.array_equal(grown, sides):
            grown = np.where(sides == 0, 1, sides)
        sides = grown
    return np.asarray(sides, dtype=np.int64)


def part_of(surface: Surface, mask: BoolArray) -> Surface:
    """Return the triangles of a surface that a mask takes, as a surface of its own.

    A point at which the part only touches itself becomes two points of one origin, so that every
    part is manifold.

    Parameters
    ----------
    surface : Surface
        The whole, or a part of it.
    mask : array of bool, shape (m,)
        True for the triangles to take.

    Raises
    ------
    PatternError
        Code ``part_empty``: no triangle is taken.
    """
    if not mask.any():
        raise PatternError("This part of the surface is empty.", code="part_empty")
    taken = surface.triangles[mask]
    is_used = np.bincount(taken.ravel(), minlength=surface.point_count) > 0
    new_ids = np.cumsum(is_used) - 1
    part = _taken(surface, np.flatnonzero(is_used), new_ids[taken])
    sides = half_edges(part.triangles)
    leaving = np.bincount(sides.start[sides.twin < 0], minlength=part.point_count)
    return _doubled(part, np.flatnonzero(leaving > 1), set())


def _taken(surface: Surface, ids: IntArray, triangles: IntArray) -> Surface:
    """Return a surface of some of the points, in this order, under new triangles."""
    return Surface(
        points_mm=surface.points_mm[ids],
        triangles=np.ascontiguousarray(triangles, dtype=np.int64),
        fields={name: values[ids] for name, values in surface.fields.items()},
        curves={name: values[ids] for name, values in surface.curves.items()},
        origin=surface.origin[ids],
        is_part=True,
    )


def component_count(surface: Surface) -> int:
    """Return into how many pieces a surface falls; pieces that only touch at a point are two."""
    return int(component_labels(surface.triangles).max(initial=-1)) + 1


def largest_component(surface: Surface) -> Surface:
    """Return the piece of a surface with the most area."""
    labels = component_labels(surface.triangles)
    areas = np.bincount(labels, triangle_areas_mm2(surface.points_mm, surface.triangles))
    if len(areas) == 1:
        return surface
    return part_of(surface, labels == int(np.argmax(areas)))


def slit(surface: Surface, point_ids: Sequence[int] | IntArray) -> Surface:
    """Return a surface opened along a run of its points: a dart, or a seam of a part with itself.

    Parameters
    ----------
    surface : Surface
        A part or the whole.
    point_ids : sequence of int, length k >= 2
        Neighbouring points, from a point inside or on the boundary to the boundary; those between
        lie inside.

    Returns
    -------
    Surface
        Every point is doubled but a first one inside. The new ones are appended in the run's
        order: they lie on the left of the run, and keep the origin of those on its right.

    Raises
    ------
    PatternError
        Code ``slit_run``: two neighbours of the run share no edge inside the surface, it does not
        end on the boundary, or touches the boundary in between.
    """
    run = [int(point) for point in point_ids]
    sides = half_edges(surface.triangles)
    at_boundary = set(sides.start[sides.twin < 0].tolist())
    steps = set(pairwise(run))
    inner = sides.twin >= 0
    known = set(zip(sides.start[inner].tolist(), sides.end[inner].tolist(), strict=True))
    good = len(run) >= 2 and steps <= known and len(set(run)) == len(run)
    if not good or run[-1] not in at_boundary or not at_boundary.isdisjoint(run[1:-1]):
        raise PatternError(
            "A slit must run along edges inside the part and end on its boundary.",
            code="slit_run",
        )
    doubled = run if run[0] in at_boundary else run[1:]
    return _doubled(surface, np.array(doubled), steps)


def _doubled(surface: Surface, ids: IntArray, steps: set[tuple[int, int]]) -> Surface:
    """Return the surface with one point for each fan of triangles round the points named.

    Fans are parted by the boundary and by the edges in `steps`; the fan that keeps the point is
    the first that does not lie on the left of a step.
    """
    if not len(ids):
        return surface
    triangles = surface.triangles.copy()
    added: list[int] = []
    around = _triangles_around(surface.triangles, ids)
    for point in ids.tolist():
        fans = _fans(surface.triangles, around[point], point, steps)
        fans.sort(key=lambda fan: fan[1])
        for fan, _ in fans[1:]:
            rows = np.array(fan)
            block = triangles[rows]
            block[surface.triangles[rows] == point] = surface.point_count + len(added)
            triangles[rows] = block
            added.append(point)
    kept = np.concatenate([np.arange(surface.point_count), np.array(added, dtype=np.int64)])
    return _taken(surface, kept, triangles)


def _triangles_around(triangles: IntArray, ids: IntArray) -> dict[int, list[int]]:
    around: dict[int, list[int]] = {int(point): [] for point in ids}
    rows = np.flatnonzero(np.isin(triangles, ids).any(axis=1))
    for row in rows.tolist():
        for point in triangles[row].tolist():
            if point in around:
                around[point].append(row)
    return around


def _fans(
    triangles: IntArray, rows: list[int], point: int, steps: set[tuple[int, int]]
) -> list[tuple[list[int], bool]]:
    """Return the fans of triangles round a point, each with whether it lies left of a step."""
    spokes: dict[int, list[int]] = {}  # neighbour -> triangles at the edge to it
    neighbours: dict[int, tuple[int, int]] = {}
    for row in rows:
        corners: list[Any] = triangles[row].tolist()
        turn = corners.index(point)
        neighbours[row] = (corners[turn - 2], corners[turn - 1])
        for other in neighbours[row]:
            spokes.setdefault(other, []).append(row)
    left_rows = {
        row
        for row, (first, second) in neighbours.items()
        if (point, first) in steps or (second, point) in steps
    }
    fans, seen = [], set()
    for row in rows:
        if row in seen:
            continue
        fan, waiting = [], [row]
        seen.add(row)
        while waiting:
            here = waiting.pop()
            fan.append(here)
            for other in neighbours[here]:
                if (point, other) in steps or (other, point) in steps:
                    continue
                for beside in spokes[other]:
                    if beside not in seen:
                        seen.add(beside)
                        waiting.append(beside)
        fans.append((fan, not left_rows.isdisjoint(fan)))
    return fans
