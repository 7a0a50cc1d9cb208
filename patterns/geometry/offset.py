"""Outlines moved outward, each edge by its own distance, with corners chosen by the caller."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, ceil, cos, dist, hypot, inf, pi, sin

import numpy as np
import shapely

from patterns.geometry.curves import Point, thinned, without_doubles
from patterns.geometry.outline import polygon_of

MITRE_LIMIT = 2.5  # a corner reaches at most this many allowances out, else it is cut square
SMOOTH_TURN = 0.26  # sine of 15 degrees: edges that meet flatter run into each other
FAN_STEP = pi / 60  # arcs round outer bends are drawn in steps of 3 degrees at most
SIMPLER_BY_MM = 0.002  # points that lie this close to a straight line are dropped
CLOSED_MM = 1e-6  # parts that touch but for rounding are one
FILE_GRID_MM = 1e-4  # lengths are written to four decimals
Corner = str  # "mitre", "folded" or "crossed", see `offset_edges`


@dataclass(frozen=True, slots=True)
class OffsetEdge:
    """A run of a counter-clockwise ring, how far it moves out, and whether it is turned in."""

    points_mm: Sequence[Point]
    distance_mm: float
    turned: bool = False


def offset_edges(edges: Sequence[OffsetEdge], *, spare_mm: float = 1.0) -> list[Point]:
    """Return the ring whose every point lies the edge's own distance outside that edge.

    Parameters
    ----------
    edges : sequence of OffsetEdge
        Runs that follow each other counter-clockwise, each beginning where the last one ended.
    spare_mm : float
        What is left over a corner where two turned edges meet.

    Returns
    -------
    list of (x, y)
        The outer ring, counter-clockwise, first point not repeated.

    Notes
    -----
    Outer corners: two plain edges meet in a mitre. A turned edge beside a plain one ends in the
    mirror image of its neighbour, so that it lies flat and flush once it is folded over. Where
    two turned edges meet the corner is cut across, so that the folds meet in a mitre.
    """
    ring = [point for edge in edges for point in list(edge.points_mm)[:-1]]
    parts: list[shapely.Polygon] = [polygon_of(ring)]
    for edge in edges:
        parts += _band(edge)
    cuts: list[shapely.Polygon] = []
    for before, after in zip(edges, [*edges[1:], edges[0]], strict=True):
        corner, cut = _corner(before, after, spare_mm)
        if corner is not None and corner.is_valid and corner.area > 0:
            parts.append(corner)
        if cut is not None:
            cuts.append(cut)
    union = _together(parts)
    if cuts:
        union = shapely.difference(union, shapely.union_all(cuts))
        # A fold wider than the piece it lies on: what is cut for it is never of the piece itself.
        if not union.buffer(SIMPLER_BY_MM).covers(parts[0]):
            union = _together([union, parts[0]])
    if union.geom_type != "Polygon":
        union = max(union.geoms, key=lambda part: float(part.area))
    outer = shapely.Polygon(union.exterior).simplify(SIMPLER_BY_MM)
    # On the files' own grid, so that writing it down cannot make it cross itself.
    outer = shapely.set_precision(outer, FILE_GRID_MM)
    if outer.geom_type != "Polygon":
        outer = max(outer.geoms, key=lambda part: float(part.area))
    coords = shapely.geometry.polygon.orient(outer).exterior.coords[:-1]
    return [(float(x), float(y)) for x, y in coords]


def _together(parts: Sequence[shapely.Geometry]) -> shapely.Geometry:
    """Return the union of shapes, with slits no wider than rounding closed.

    Rounding the union takes a third of the time of a union on a grid.
    """
    return shapely.set_precision(shapely.union_all(parts), CLOSED_MM)


def _band(edge: OffsetEdge) -> list[shapely.Polygon]:
    """Return the band outside an edge, in one part unless a hollow is too narrow for it."""
    if edge.distance_mm <= 0:
        return []
    run = thinned(without_doubles(edge.points_mm), SIMPLER_BY_MM / 2)
    normals = [_normal(a, b) for a, b in pairwise(run)]
    rim = _rim(run, normals, edge.distance_mm)
    whole = polygon_of([*run, *reversed(rim)]) if rim is not None else None
    if whole is not None and whole.is_valid:
        return [whole]
    return _strips(run, normals, edge.distance_mm)


def _rim(run: list[Point], normals: list[Point], distance: float) -> list[Point] | None:
    """Return the outer rim of a band, or None where a step of it would have to run backward.

    Round each outer bend it is an arc; in each inner bend two neighbouring steps are cut off
    where they meet, which is where the outline of their boxes runs.
    """
    rim = [_along(run[0], normals[0], distance)]
    used = 0.0  # of the step in hand, by the cut at its beginning
    for k, (before, after) in enumerate(pairwise(normals), start=1):
        cross = before[0] * after[1] - before[1] * after[0]
        dot = before[0] * after[0] + before[1] * after[1]
        if cross >= 0:
            rim += _arc(run[k], before, after, distance) or [_along(run[k], after, distance)]
            used = 0.0
            continue
        cut = -distance * cross / (1.0 + dot) if dot > -0.9 else inf  # distance x tan(half turn)
        length, following = dist(run[k - 1], run[k]), dist(run[k], run[k + 1])
        if used + cut >= length or cut >= following:
            return None
        used = cut
        half = (before[0] + after[0], before[1] + after[1])
        rim.append(_along(run[k], half, distance / (1.0 + dot)))
    rim.append(_along(run[-1], normals[-1], distance))
    return rim


def _strips(run: list[Point], normals: list[Point], distance: float) -> list[shapely.Polygon]:
    """Return the band outside a run: one box for each step, a fan at each outer bend."""
    starts, ends, out = np.array(run[:-1]), np.array(run[1:]), distance * np.array(normals)
    parts = list(shapely.polygons(np.stack([starts, ends, ends + out, starts + out], axis=1)))
    for at, (before, after) in zip(run[1:-1], pairwise(normals), strict=True):
        rim = _arc(at, before, after, distance)
        if rim:
            parts.append(polygon_of([at, *rim]))
    return parts


def _normal(a: Point, b: Point) -> Point:
    """Return the unit normal to the right of a step, outward on a counter-clockwise ring."""
    length = hypot(b[0] - a[0], b[1] - a[1])
    return ((b[1] - a[1]) / length, -(b[0] - a[0]) / length)


def _arc(at: Point, start: Point, end: Point, radius: float) -> list[Point]:
    """Return points round an outer bend from one normal to the next; none where it is straight."""
    turn = atan2(start[0] * end[1] - start[1] * end[0], start[0] * end[0] + start[1] * end[1])
    if turn <= 1e-9:
        return []
    first, count = atan2(start[1], start[0]), max(1, ceil(turn / FAN_STEP))
    angles = [first + turn * k / count for k in range(count + 1)]
    return [(at[0] + radius * cos(a), at[1] + radius * sin(a)) for a in angles]


def _corner(
    before: OffsetEdge, after: OffsetEdge, spare_mm: float
) -> tuple[shapely.Polygon | None, shapely.Polygon | None]:
    """Return what to add at the corner between two edges, and what to take away."""
    run, on = without_doubles(before.points_mm), without_doubles(after.points_mm)
    at, a, b = run[-1], before.distance_mm, after.distance_mm
    into, out = _unit(run[-2], run[-1]), _unit(on[0], on[1])
    turn = into[0] * out[1] - into[1] * out[0]
    if turn <= 1e-6 or max(a, b) <= 0:
        return None, None
    if turn < SMOOTH_TURN and into[0] * out[0] + into[1] * out[1] > 0:  # hardly a corner
        side_a, side_b = _along(at, (into[1], -into[0]), a), _along(at, (out[1], -out[0]), b)
        return shapely.Polygon([at, side_a, side_b]), None
    if before.turned and after.turned and min(a, b) > 0:
        return _mitred(at, into, out, a, b), _cut_across(at, into, out, a, b, spare_mm)
    if before.turned and a > 0:
        return _folded(at, into, out, a, b)
    if after.turned and b > 0:  # the same corner seen from the other end
        back_in, back_out = (-out[0], -out[1]), (-into[0], -into[1])
        return _folded(at, back_in, back_out, b, a, mirrored=True)
    return _mitred(at, into, out, a, b), None


def _unit(a: Point, b: Point) -> Point:
    length = hypot(b[0] - a[0], b[1] - a[1])
    return ((b[0] - a[0]) / length, (b[1] - a[1]) / length)


def _along(at: Point, direction: Point, distance: float) -> Point:
    return (at[0] + distance * direction[0], at[1] + distance * direction[1])


def _meet(p: Point, d: Point, q: Point, e: Point) -> Point | None:
    """Return where the line through p along d meets the line through q along e."""
    cross = d[0] * e[1] - d[1] * e[0]
    if abs(cross) < 1e-9:
        return None
    t = ((q[0] - p[0]) * e[1] - (q[1] - p[1]) * e[0]) / cross
    return _along(p, d, t)


def _held(at: Point, point: Point, most: float) -> Point:
    away = hypot(point[0] - at[0], point[1] - at[1])
    return point if away <= most else _along(at, _unit(at, point), most)


def _mitred(at: Point, into: Point, out: Point, a: float, b: float) -> shapely.Polygon | None:
    side_a = _along(at, (into[1], -into[0]), a)
    side_b = _along(at, (out[1], -out[0]), b)
    tip = _meet(side_a, into, side_b, out)
    if tip is None:
        return None
    return shapely.Polygon([at, side_a, _held(at, tip, MITRE_LIMIT * max(a, b)), side_b])


def _folded(
    at: Point, into: Point, out: Point, a: float, b: float, *, mirrored: bool = False
) -> tuple[shapely.Polygon | None, shapely.Polygon | None]:
    """Return what a turned edge (distance a) gains and loses where it ends at a plain one (b).

    Its end is the mirror image of the neighbour's cut line in the fold: it reaches further where
    the piece widens below the fold, and less far where it narrows.
    """
    sign = -1.0 if mirrored else 1.0
    normal_a = (sign * into[1], -sign * into[0])
    normal_b = (sign * out[1], -sign * out[0])
    side_a, side_b = _along(at, normal_a, a), _along(at, normal_b, b)
    joint = _meet(at, into, side_b, out)  # where the neighbour's cut line meets the fold
    if joint is None:
        return None, None
    most = MITRE_LIMIT * max(a, b)
    joint = _held(at, joint, most)
    dot = into[0] * out[0] + into[1] * out[1]
    mirror = (2 * dot * into[0] - out[0], 2 * dot * into[1] - out[1])
    end = _meet(joint, mirror, side_a, into)
    if end is None:
        return None, None
    beyond = (end[0] - side_a[0]) * into[0] + (end[1] - side_a[1]) * into[1]
    if beyond >= 0:
        return shapely.Polygon([at, side_a, _held(at, end, most), joint, side_b]), None
    gained = shapely.Polygon([at, joint, side_b]) if b > 0 else None
    corners = (joint, _along(joint, mirror, 2 * most), _along(end, into, 2 * most),
               _along(joint, into, 2 * most))  # fmt: skip
    return gained, shapely.Polygon(corners).convex_hull


def _cut_across(
    at: Point, into: Point, out: Point, a: float, b: float, spare_mm: float
) -> shapely.Polygon:
    """Return what is cut off square to the corner, `spare_mm` outside its tip."""
    outward = _unit((0.0, 0.0), (into[0] - out[0], into[1] - out[1]))
    across = (-outward[1], outward[0])
    reach = 3.0 * max(a, b)
    start = _along(at, outward, min(spare_mm, 0.5 * min(a, b)))
    corners = (
        _along(start, across, reach),
        _along(start, across, -reach),
        _along(_along(start, across, -reach), outward, reach),
        _along(_along(start, across, reach), outward, reach),
    )
    return shapely.Polygon(corners)
