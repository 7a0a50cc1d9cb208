"""Edges of triangles: which lie on each other, which are open, what hangs together."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from patterns.errors import PatternError

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class HalfEdges:
    """The three directed sides of every triangle, side k of triangle t at index 3 t + k.

    `start` and `end` are point numbers; `twin` is the index of the same edge in the neighbouring
    triangle, or -1 on the boundary.
    """

    start: IntArray
    end: IntArray
    twin: IntArray


def half_edges(triangles: IntArray) -> HalfEdges:
    """Return the directed sides of triangles and which of them lie on each other.

    Raises
    ------
    PatternError
        Code ``surface_not_manifold``: more than two triangles share an edge, or two neighbours
        turn opposite ways.
    """
    start, end = triangles.ravel(), triangles[:, [1, 2, 0]].ravel()
    keys = _edge_keys(start, end)
    order = np.argsort(keys, kind="stable")
    ordered = keys[order]
    same = ordered[1:] == ordered[:-1]
    first, second = order[:-1][same], order[1:][same]
    if (same[1:] & same[:-1]).any() or (start[first] == start[second]).any():
        raise PatternError(
            "More than two triangles of the surface share an edge, or two neighbours turn "
            "opposite ways: mend the mesh.",
            code="surface_not_manifold",
        )
    twin = np.full(len(start), -1, dtype=np.int64)
    twin[first], twin[second] = second, first
    return HalfEdges(start, end, twin)


@dataclass(frozen=True)
class EdgeTable:
    """Every edge once: `ends`, (k, 2), and for each side of the triangles its edge, (3 m,).

    The lower point number comes first in `ends`; the edges are in rising order.
    """

    ends: IntArray
    of_side: IntArray


def edge_table(triangles: IntArray) -> EdgeTable:
    """Return the edges of triangles, and which edge each side of them is."""
    keys = _edge_keys(triangles.ravel(), triangles[:, [1, 2, 0]].ravel())
    order = np.argsort(keys, kind="stable")
    ordered = keys[order]
    new = np.concatenate([[True], ordered[1:] != ordered[:-1]])
    of_side = np.empty(len(keys), dtype=np.int64)
    of_side[order] = np.cumsum(new) - 1
    return EdgeTable(_edge_ends(ordered[new]), of_side)


def edges_of(triangles: IntArray) -> IntArray:
    """Return every edge once, shape (k, 2), the lower point number first, in rising order."""
    keys = np.sort(_edge_keys(triangles.ravel(), triangles[:, [1, 2, 0]].ravel()))
    new = np.concatenate([[True], keys[1:] != keys[:-1]])
    return _edge_ends(keys[new])


MOST_POINTS = 2**31  # an edge's key holds two point numbers


def _edge_keys(start: IntArray, end: IntArray) -> IntArray:
    keys = np.minimum(start, end) * MOST_POINTS + np.maximum(start, end)
    return np.asarray(keys, dtype=np.int64)


def _edge_ends(keys: IntArray) -> IntArray:
    return np.column_stack([keys // MOST_POINTS, keys % MOST_POINTS])


def euler_number(triangles: IntArray) -> int:
    """Return points - edges + triangles: 1 for a disc, 0 for a ring, 2 for a closed ball."""
    points = int((np.bincount(triangles.ravel()) > 0).sum())
    return points - len(edges_of(triangles)) + len(triangles)


def boundary_loops(triangles: IntArray, points_mm: FloatArray | None = None) -> list[IntArray]:
    """Return the closed runs of boundary points, each with the surface on its left.

    Parameters
    ----------
    triangles : array of shape (m, 3)
        Numbers of corner points, counter-clockwise seen from outside.
    points_mm : array of shape (n, 2 or 3), optional
        With it the longest loop comes first, without it the one of most points: the outer one.

    Returns
    -------
    list of arrays of point numbers
        The first point is not repeated. Empty for a closed surface.
    """
    sides = half_edges(triangles)
    open_sides = np.flatnonzero(sides.twin < 0)
    left = dict.fromkeys(open_sides.tolist())
    loops = []
    while left:
        first = next(iter(left))
        loop, here = [], first
        while here in left:
            del left[here]
            loop.append(int(sides.start[here]))
            here = _next_open_side(sides, here)
        loops.append(np.array(loop, dtype=np.int64))
    return sorted(loops, key=lambda loop: -_loop_size(loop, points_mm))


def _next_open_side(sides: HalfEdges, here: int) -> int:
    """Return the boundary side that starts where this one ends, in the same fan of triangles."""
    following = 3 * (here // 3) + (here + 1) % 3
    while sides.twin[following] >= 0:
        other = int(sides.twin[following])
        following = 3 * (other // 3) + (other + 1) % 3
    return following


def _loop_size(loop: IntArray, points_mm: FloatArray | None) -> float:
    if points_mm is None:
        return float(len(loop))
    steps = np.roll(points_mm[loop], -1, axis=0) - points_mm[loop]
    return float(np.linalg.norm(steps, axis=1).sum())


def component_labels(triangles: IntArray) -> IntArray:
    """Return for each triangle the number of the piece it hangs together with by edges."""
    twin = half_edges(triangles).twin
    joined = np.flatnonzero(twin >= 0)
    size = len(triangles)
    graph = coo_array((np.ones(len(joined)), (joined // 3, twin[joined] // 3)), shape=(size, size))
    _, labels = connected_components(graph, directed=False)
    return np.asarray(labels, dtype=np.int64)
