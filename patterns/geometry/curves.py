"""Smooth curves through points, and what can be asked of a run of points."""

from bisect import bisect_left
from collections.abc import Sequence
from functools import lru_cache
from itertools import islice, pairwise
from math import atan2, dist, hypot, pi
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString

if TYPE_CHECKING:
    from scipy.interpolate import Akima1DInterpolator, PchipInterpolator

# The interpolation is loaded where it is used: it takes longer than all the rest, and most of those
# who import this module, such as the child that reads a sent file, draw no curve.

Point = tuple[float, float]

SAME_POINT_MM = 1e-9  # points closer than this are one point


def polyline_length_mm(points_mm: Sequence[Point]) -> float:
    """Return the length of a run of points.

    >>> polyline_length_mm([(0, 0), (3, 4), (3, 5)])
    6.0
    """
    return sum(map(dist, points_mm, islice(points_mm, 1, None)))


def without_doubles(points_mm: Sequence[Point], apart_mm: float = SAME_POINT_MM) -> list[Point]:
    """Return the run without points that repeat the one before."""
    run = np.asarray(points_mm, dtype=float)
    if len(run) < 2 or float(np.hypot(*np.diff(run, axis=0).T).min()) > apart_mm:
        return [(x, y) for x, y in run.tolist()]
    kept: list[Point] = []
    for x, y in points_mm:
        if not kept or hypot(x - kept[-1][0], y - kept[-1][1]) > apart_mm:
            kept.append((float(x), float(y)))
    return kept


def smooth_curve(control_mm: Sequence[Point], count: int = 200) -> list[Point]:
    """Return `count` points, evenly spaced, of a smooth curve through the control points.

    The curve does not swing out beside its control points (modified Akima interpolation by
    chord length), so a flat run between two points stays flat.
    """
    control = np.array(without_doubles(control_mm))
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(control, axis=0).T))])
    curve = _akima(chord, control)
    return _resampled(curve(np.linspace(0.0, chord[-1], 4 * count)), count)


def rounded(points_mm: Sequence[Point], reach: int = 3, passes: int = 3) -> list[Point]:
    """Return a run of close points with its small kinks averaged out, its ends kept.

    Each pass puts every point at the mean of its neighbours up to `reach` points away.
    """
    run = np.array(points_mm, dtype=float)
    count = len(run)
    near = np.minimum(np.minimum(np.arange(count), np.arange(count)[::-1]), reach)
    for _ in range(passes):
        total = np.vstack([np.zeros((1, 2)), np.cumsum(run, axis=0)])
        first, after = np.arange(count) - near, np.arange(count) + near + 1
        run = (total[after] - total[first]) / (2 * near + 1)[:, None]
    return [(float(x), float(y)) for x, y in run]


def thinned(points_mm: Sequence[Point], within_mm: float = 0.003) -> list[Point]:
    """Return a run without the points that lie within a hair of the line through the others."""
    kept = shapely.simplify(LineString(np.asarray(points_mm)), within_mm)
    return [(x, y) for x, y in shapely.get_coordinates(kept).tolist()]


def resample(points_mm: Sequence[Point], count: int) -> list[Point]:
    """Return `count` points evenly spaced along a run, its two ends kept exactly."""
    return _resampled(np.array(without_doubles(points_mm)), count)


def _akima(chord: np.ndarray, control: np.ndarray) -> "Akima1DInterpolator":
    from scipy.interpolate import Akima1DInterpolator

    return Akima1DInterpolator(chord, control, method="makima")


def _resampled(run: np.ndarray, count: int) -> list[Point]:
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(run, axis=0).T))])
    places = np.linspace(0.0, chord[-1], count)
    xs, ys = np.interp(places, chord, run[:, 0]), np.interp(places, chord, run[:, 1])
    inner = zip(xs[1:-1].tolist(), ys[1:-1].tolist(), strict=True)
    return [_point(run[0]), *inner, _point(run[-1])]


def _point(pair: np.ndarray) -> Point:
    return (float(pair[0]), float(pair[1]))


def value_curve(
    xs: Sequence[float], values: Sequence[float], at: Sequence[float]
) -> tuple[float, ...]:
    """Return a smooth function through (x, value) pairs at the places asked for.

    It never leaves the range of the two values beside a place (monotone cubic), and holds the
    end values beyond the ends.
    """
    places = np.clip(np.asarray(at, float), xs[0], xs[-1])
    return tuple(_monotone(tuple(xs), tuple(values))(places).tolist())


@lru_cache(maxsize=64)
def _monotone(xs: tuple[float, ...], values: tuple[float, ...]) -> "PchipInterpolator":
    """Return the curve through (x, value) pairs; one curve is asked for many places in turn."""
    from scipy.interpolate import PchipInterpolator

    return PchipInterpolator(xs, values)


def point_along(points_mm: Sequence[Point], distance_mm: float) -> tuple[Point, Point]:
    """Return the point at a distance along a run, and the unit direction of travel there."""
    run, way = _ways(tuple(points_mm))
    place = min(max(distance_mm, 0.0), way[-1])
    k = min(max(bisect_left(way, place) - 1, 0), len(run) - 2)
    (xa, ya), (xb, yb) = run[k], run[k + 1]
    step = way[k + 1] - way[k]
    share = min(max((place - way[k]) / step, 0.0), 1.0)
    direction = ((xb - xa) / step, (yb - ya) / step)
    return (xa + share * (xb - xa), ya + share * (yb - ya)), direction


@lru_cache(maxsize=64)
def _ways(points_mm: tuple[Point, ...]) -> tuple[list[Point], list[float]]:
    """Return a run without doubles and the way along it at each point; many ask for one run."""
    run = without_doubles(points_mm)
    if len(run) < 2:
        raise ValueError("a run needs two different points")
    way = [0.0]
    for a, b in pairwise(run):
        way.append(way[-1] + hypot(b[0] - a[0], b[1] - a[1]))
    return run, way


def crossings(points_mm: Sequence[Point], through: Point, along: Point) -> list[float]:
    """Return the distances along a run at which it crosses the line through a point."""
    found: list[float] = []
    done = 0.0
    for a, b in pairwise(points_mm):
        step = hypot(b[0] - a[0], b[1] - a[1])
        side_a = (a[0] - through[0]) * along[1] - (a[1] - through[1]) * along[0]
        side_b = (b[0] - through[0]) * along[1] - (b[1] - through[1]) * along[0]
        if (side_a > 0.0) != (side_b > 0.0):
            found.append(done + step * side_a / (side_a - side_b))
        done += step
    return found


def part_of(points_mm: Sequence[Point], start_mm: float, end_mm: float) -> list[Point]:
    """Return the part of a run between two distances along it."""
    first, last_point = point_along(points_mm, start_mm)[0], point_along(points_mm, end_mm)[0]
    inside: list[Point] = []
    done = 0.0
    for a, b in pairwise(points_mm):
        done += hypot(b[0] - a[0], b[1] - a[1])
        if start_mm < done < end_mm:
            inside.append(b)
    return without_doubles([first, *inside, last_point], 1e-6)


def turning_deg(points_mm: Sequence[Point]) -> list[float]:
    """Return how far a run has turned at each of its points, left positive, from 0."""
    turned = [0.0]
    steps = list(pairwise(points_mm))
    for (a, b), (_, c) in pairwise(steps):
        angle = atan2(c[1] - b[1], c[0] - b[0]) - atan2(b[1] - a[1], b[0] - a[0])
        turned.append(turned[-1] + (angle + pi) % (2 * pi) - pi)
    return [t * 180.0 / pi for t in [*turned, turned[-1]]]


def extent_across(ring_mm: Sequence[Point], x_mm: float) -> tuple[float, float] | None:
    """Return the least and greatest y at which a closed ring crosses an upright line."""
    ys: list[float] = []
    for a, b in pairwise([*ring_mm, ring_mm[0]]):
        if min(a[0], b[0]) <= x_mm <= max(a[0], b[0]):
            if a[0] == b[0]:
                ys += [a[1], b[1]]
            else:
                ys.append(a[1] + (x_mm - a[0]) / (b[0] - a[0]) * (b[1] - a[1]))
    return (min(ys), max(ys)) if ys else None


def smooth_ring(control_mm: Sequence[Point], count: int = 240) -> list[Point]:
    """Return `count` points, evenly spaced, of a smooth closed curve through the controls."""
    wrap = 4
    control = [*control_mm[-wrap:], *control_mm, *control_mm[: wrap + 1]]
    run = np.array(control)
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(run, axis=0).T))])
    curve = _akima(chord, run)
    dense = curve(np.linspace(chord[wrap], chord[-wrap - 1], 6 * count))
    return _resampled(dense, count + 1)[:-1]


def offset_run(points_mm: Sequence[Point], distance_mm: Sequence[float] | float) -> list[Point]:
    """Return a run moved to its right hand side, by one distance or by one for each point.

    Each point moves along the mean normal of its two neighbours; meant for runs whose hollows
    are wider than the distance, with points close together.
    """
    run = np.array(points_mm, float)
    ahead = np.gradient(run, axis=0)
    ahead /= np.hypot(ahead[:, 0], ahead[:, 1])[:, None]
    normal = np.column_stack([ahead[:, 1], -ahead[:, 0]])
    moved = run + np.broadcast_to(np.asarray(distance_mm, float), (len(run),))[:, None] * normal
    return [(float(x), float(y)) for x, y in moved]


def parallel_run(points_mm: Sequence[Point], distance_mm: float) -> list[Point]:
    """Return the run at a distance to the right hand side, any loops it would make left out.

    Where a hollow is narrower than the distance the parallel runs have a corner.
    """
    moved = offset_run(points_mm, distance_mm)
    if distance_mm == 0 or LineString(moved).is_simple:
        return moved
    offset = LineString(points_mm).offset_curve(-distance_mm, quad_segs=16)
    parts = [part for part in getattr(offset, "geoms", [offset]) if not part.is_empty]
    if not parts:
        return moved
    longest = max(parts, key=lambda part: float(part.length))
    run = [(float(x), float(y)) for x, y in longest.coords]
    start, end = moved[0], moved[-1]
    forward = hypot(run[0][0] - start[0], run[0][1] - start[1])
    backward = hypot(run[0][0] - end[0], run[0][1] - end[1])
    return run if forward <= backward else run[::-1]


def is_simple_run(points_mm: Sequence[Point]) -> bool:
    """Return whether a run never crosses itself."""
    return bool(LineString(points_mm).is_simple)
