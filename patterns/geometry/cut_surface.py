"""Curves cut into a surface: the zero set of a function becomes a run of edges.

Cut every curve into the whole surface first and part it afterwards: both parts then share the
curve's points exactly, so that their seams fit on the last without any gap.
"""

from dataclasses import dataclass, replace

import numpy as np

from patterns.errors import PatternError
from patterns.geometry.surface import (
    NO_ORIGIN,
    BoolArray,
    EdgeTable,
    FloatArray,
    IntArray,
    Surface,
    edge_table,
)

SNAP = 0.18  # share of an edge within which a point slides onto the curve, against slivers
SAME_PLACE = 1e-3  # share of an edge within which a point is taken to lie on the curve as it is
LEAST_AREA = 0.1  # a triangle keeps at least this share of its area when its corners slide


def cut_surface(surface: Surface, name: str, values: FloatArray, *, snap: float = SNAP) -> Surface:
    """Return the surface with a curve made of edges: where a function is zero.

    Parameters
    ----------
    surface : Surface
        What to cut, with the curves cut before.
    name : str
        Name of the new curve.
    values : array of shape (n,)
        The function at the points, taken as linear along edges. Points at which it is exactly
        zero lie on the curve and stay where they are.
    snap : float
        Share of an edge, 0 to below 0.5. A point nearer than this to the curve slides along its
        edge onto it; it never leaves a curve it lies on already nor the boundary, and a point on
        two of them stays.

    Returns
    -------
    Surface
        No triangle lies on both sides of this or an earlier curve. Fields and the functions of
        earlier curves are interpolated at new and moved points; triangles keep their turn.

    Raises
    ------
    PatternError
        Code ``curve_values``: the values are not finite, not one for each point, or the name is
        taken.
    """
    _check(surface, name, values)
    edges = edge_table(surface.triangles)
    slid = _slid(surface, edges, np.asarray(values, dtype=float).copy(), snap)
    return _parted(slid, edges.ends, name)


def _check(surface: Surface, name: str, values: FloatArray) -> None:
    fault = ""
    if name in surface.curves:
        fault = "has been cut already"
    elif np.shape(values) != (surface.point_count,):
        fault = f"needs one value for each of {surface.point_count} points"
    elif not np.isfinite(values).all():
        fault = "is not a number everywhere on the last"
    if fault:
        raise PatternError(f"Curve {name!r} {fault}.", code="curve_values", curve=name)


@dataclass(frozen=True)
class _Slid:
    """A surface whose points near a curve lie on it, and the curve's function at its points."""

    surface: Surface
    heights: FloatArray


@dataclass(frozen=True)
class _Slides:
    """Points that slide: `points` towards `towards`, by `shares` of the edge between them."""

    points: IntArray
    towards: IntArray
    shares: FloatArray

    def only(self, mask: BoolArray) -> "_Slides":
        return _Slides(self.points[mask], self.towards[mask], self.shares[mask])


def _slid(surface: Surface, edges: EdgeTable, heights: FloatArray, snap: float) -> _Slid:
    slides = _wanted_slides(surface, edges, heights, snap)
    same = slides.shares <= SAME_PLACE
    heights[slides.points[same]] = 0.0
    slides = slides.only(~same)
    while True:
        points = _mixed(surface.points_mm, slides)
        spoiled = _spoiled(surface, points, heights, slides)
        if not spoiled.any():
            break
        slides = slides.only(~spoiled)
    heights[slides.points] = 0.0
    moved = replace(
        surface,
        points_mm=points,
        fields={name: _mixed(values, slides) for name, values in surface.fields.items()},
        curves={name: _mixed(values, slides) for name, values in surface.curves.items()},
    )
    return _Slid(moved, heights)


def _mixed(values: FloatArray, slides: _Slides) -> FloatArray:
    """Return values at the points after they have slid, linear along each edge."""
    share = slides.shares if values.ndim == 1 else slides.shares[:, None]
    after = values.copy()
    after[slides.points] = (1.0 - share) * values[slides.points] + share * values[slides.towards]
    return after


def _wanted_slides(surface: Surface, edges: EdgeTable, heights: FloatArray, snap: float) -> _Slides:
    """Return for each point near the curve its shortest way onto it that is allowed."""
    signs = np.sign(heights)
    first, second = edges.ends.T
    crossed = np.flatnonzero(signs[first] * signs[second] < 0)
    first, second = first[crossed], second[crossed]
    share = heights[first] / (heights[first] - heights[second])
    points = np.concatenate([first, second])
    towards = np.concatenate([second, first])
    shares = np.concatenate([share, 1.0 - share])
    allowed = _may_slide(surface, edges, points, np.concatenate([crossed, crossed]))
    allowed &= _link_changes(surface.triangles, signs)[points] <= 2
    near = (shares <= SAME_PLACE) | (allowed & (shares < snap))
    order = np.lexsort((towards[near], shares[near]))
    chosen, place = np.unique(points[near][order], return_index=True)
    return _Slides(chosen, towards[near][order][place], shares[near][order][place])


def _may_slide(
    surface: Surface, edges: EdgeTable, points: IntArray, edge_ids: IntArray
) -> BoolArray:
    """Return for each pair of a point and an edge at it whether the point may slide along it.

    Free points may slide along any edge, points on one curve (or the boundary) only along its
    own edges, points on two along none.
    """
    border = np.bincount(edges.of_side) == 1
    at_border = np.zeros(surface.point_count, dtype=np.bool_)
    at_border[edges.ends[border]] = True
    held = at_border.astype(np.int64)
    along = at_border[points] & border[edge_ids]
    for values in surface.curves.values():
        on_it = values == 0.0
        held += on_it
        along |= on_it[points] & _edges_along(surface.triangles, values, edges)[edge_ids]
    return np.asarray((held[points] == 0) | ((held[points] == 1) & along))


def _edges_along(triangles: IntArray, values: FloatArray, edges: EdgeTable) -> BoolArray:
    """Return which edges are part of a curve: both ends on it, and it on both sides of them."""
    along: BoolArray = (values[edges.ends] == 0.0).all(axis=1)
    of_side = edges.of_side
    sides = np.flatnonzero(along[of_side])
    against = np.sign(values[triangles[:, [2, 0, 1]].ravel()[sides]])
    above, below = np.zeros_like(along), np.zeros_like(along)
    above[of_side[sides[against > 0]]] = True
    below[of_side[sides[against < 0]]] = True
    return above & below


def _edge_index(keys: IntArray, size: int, first: IntArray, second: IntArray) -> IntArray:
    """Return the row of each edge in a rising table of edges."""
    wanted = np.minimum(first, second) * size + np.maximum(first, second)
    return np.asarray(np.searchsorted(keys, wanted), dtype=np.int64)


def _link_changes(triangles: IntArray, signs: FloatArray) -> IntArray:
    """Return how often a function changes its sign along the ring round each point.

    Above two, several strands of the curve pass the point: to slide onto one would join them.
    """
    changes = np.zeros(len(signs), dtype=np.int64)
    for turn in range(3):
        a, b, c = (triangles[:, (turn + k) % 3] for k in range(3))
        changes += np.bincount(a[signs[b] * signs[c] < 0], minlength=len(signs))
    return changes


def _spoiled(
    surface: Surface, points: FloatArray, heights: FloatArray, slides: _Slides
) -> BoolArray:
    """Return the slides to give up, the longest one of each triangle they would spoil.

    A triangle is spoiled when it turns over, loses nearly all of its area, or comes to lie on
    the curve with all three corners.
    """
    share = np.zeros(len(points))
    share[slides.points] = slides.shares
    triangles = surface.triangles[(share[surface.triangles] > 0.0).any(axis=1)]
    before, after = (_area_vectors(p, triangles) for p in (surface.points_mm, points))
    kept = np.einsum("ij,ij->i", before, after)
    small = kept < LEAST_AREA * np.einsum("ij,ij->i", before, before)
    on_it = (heights == 0.0) | (share > 0.0)
    bad = triangles[small | on_it[triangles].all(axis=1)]
    longest = bad[np.arange(len(bad)), np.argmax(share[bad], axis=1)]
    return np.isin(slides.points, longest)


def _area_vectors(points: FloatArray, triangles: IntArray) -> FloatArray:
    a, b, c = (points[triangles[:, turn]] for turn in range(3))
    return np.asarray(np.cross(b - a, c - a))


def _parted(slid: _Slid, edges: IntArray, name: str) -> Surface:
    """Return the surface with new points where the curve crosses edges, triangles parted there."""
    surface, heights = slid.surface, slid.heights
    signs = np.sign(heights)
    crossed = edges[signs[edges[:, 0]] * signs[edges[:, 1]] < 0]
    a, b = crossed[:, 0], crossed[:, 1]
    share = heights[a] / (heights[a] - heights[b])

    def with_new(values: FloatArray) -> FloatArray:
        part = share if values.ndim == 1 else share[:, None]
        return np.concatenate([values, (1.0 - part) * values[a] + part * values[b]])

    points = with_new(surface.points_mm)
    curves = {known: with_new(values) for known, values in surface.curves.items()}
    curves[name] = np.concatenate([heights, np.zeros(len(a))])
    added = np.full(len(a), NO_ORIGIN) if surface.is_part else len(heights) + np.arange(len(a))
    return Surface(
        points_mm=points,
        triangles=_parted_triangles(surface.triangles, signs, crossed, points),
        fields={known: with_new(values) for known, values in surface.fields.items()},
        curves=curves,
        origin=np.concatenate([surface.origin, added]),
        is_part=surface.is_part,
    )


def _parted_triangles(
    triangles: IntArray, signs: FloatArray, crossed: IntArray, points: FloatArray
) -> IntArray:
    size = len(signs)
    keys = crossed[:, 0] * size + crossed[:, 1]

    def new_point(first: IntArray, second: IntArray) -> IntArray:
        return size + _edge_index(keys, size, first, second)

    corners = signs[triangles]
    cut = (corners.max(axis=1) > 0) & (corners.min(axis=1) < 0)
    through = cut & (corners == 0).any(axis=1)
    across = cut & ~through
    a, b, c = _turned(triangles[through], np.argmax(corners[through] == 0, axis=1))
    middle = new_point(b, c)
    halves = [np.column_stack([a, b, middle]), np.column_stack([a, middle, c])]
    alone = -corners[across].sum(axis=1)  # the sign of the one corner on its own side
    a, b, c = _turned(triangles[across], np.argmax(corners[across] == alone[:, None], axis=1))
    p, q = new_point(a, b), new_point(a, c)
    shorter = _apart(points, p, c) < _apart(points, q, b)
    first = np.where(shorter[:, None], np.column_stack([p, b, c]), np.column_stack([p, b, q]))
    second = np.where(shorter[:, None], np.column_stack([p, c, q]), np.column_stack([q, b, c]))
    parts = [triangles[~cut], *halves, np.column_stack([a, p, q]), first, second]
    return np.vstack(parts).astype(np.int64)


def _turned(triangles: IntArray, first: IntArray) -> tuple[IntArray, IntArray, IntArray]:
    """Return the corners of triangles, each beginning at its own corner, in the same turn."""
    rows = np.arange(len(triangles))
    a, b, c = (triangles[rows, (first + k) % 3] for k in range(3))
    return a, b, c


def _apart(points: FloatArray, first: IntArray, second: IntArray) -> FloatArray:
    return np.asarray(np.linalg.norm(points[first] - points[second], axis=1))
