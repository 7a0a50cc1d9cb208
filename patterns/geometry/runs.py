"""Lines on a surface of triangles: runs of places on its edges."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sp

from patterns.geometry.surface import FloatArray, IntArray

NO_STEP = 1e-9  # share of the whole line under which two places are one


@dataclass(frozen=True)
class Run:
    """Places one after another on edges of a surface.

    Parameters
    ----------
    a, b : arrays of shape (k,)
        Point numbers at the ends of each place's edge.
    share : array of shape (k,)
        How far along the edge: the place is ``(1 - share) * p[a] + share * p[b]``.
    """

    a: IntArray
    b: IntArray
    share: FloatArray

    def places_mm(self, points_mm: FloatArray) -> FloatArray:
        """Return the places, shape (k, dimension of the points)."""
        share = self.share[:, None]
        return (1.0 - share) * points_mm[self.a] + share * points_mm[self.b]

    def steps_mm(self, points_mm: FloatArray) -> FloatArray:
        """Return the lengths between neighbouring places, shape (k - 1,)."""
        steps = np.diff(self.places_mm(points_mm), axis=0)
        return np.asarray(np.linalg.norm(steps, axis=1))

    def length_mm(self, points_mm: FloatArray) -> float:
        """Return the length of the whole run over these points, in space or on the flat."""
        return float(self.steps_mm(points_mm).sum())


def run_of_points(point_ids: Sequence[int] | IntArray) -> Run:
    """Return the run through points of the surface themselves, such as a seam on its boundary."""
    ids = np.asarray(point_ids, dtype=np.int64)
    return Run(ids, ids, np.zeros(len(ids)))


def contour_runs(
    points_mm: FloatArray, triangles: IntArray, values: FloatArray, level: float
) -> list[Run]:
    """Return the lines on which a function has a given value.

    Parameters
    ----------
    points_mm : array of shape (n, 2 or 3)
        Points of the surface.
    triangles : array of shape (m, 3)
        Numbers of corner points, counter-clockwise.
    values : array of shape (n,)
        The function at the points, linear along edges.
    level : float
        The value looked for.

    Returns
    -------
    list of Run
        The longest first. Each goes with the higher side on its left; a closed line ends at the
        place where it began. Points exactly at the level count as above it.
    """
    high = values >= level
    corners = high[triangles]
    mixed = np.flatnonzero(corners.any(axis=1) & ~corners.all(axis=1))
    rows = triangles[mixed]
    starts, ends = rows, rows[:, [1, 2, 0]]
    down, up = high[starts] & ~high[ends], ~high[starts] & high[ends]
    # Each triangle's piece of the line goes from the side that falls to the side that climbs.
    entry, leaving = _places(ends[down], starts[down]), _places(starts[up], ends[up])
    following = dict(zip(entry, leaving, strict=True))
    runs = [_run(chain, points_mm, values, level) for chain in _chains(following)]
    kept = [run for run in runs if len(run.a) > 1]
    return sorted(kept, key=lambda run: -run.length_mm(points_mm))


def _places(low: IntArray, up: IntArray) -> list[tuple[int, int]]:
    return list(zip(low.tolist(), up.tolist(), strict=True))


def _chains(
    following: dict[tuple[int, int], tuple[int, int]],
) -> list[list[tuple[int, int]]]:
    """Return the ordered runs of places, open ones first; closed ones repeat their first place."""
    reached = set(following.values())
    heads = [place for place in following if place not in reached]
    left = dict(following)
    chains = []
    for first in [*heads, *following]:
        if first not in left:
            continue
        chain = [first]
        while chain[-1] in left:
            chain.append(left.pop(chain[-1]))
        chains.append(chain)
    return chains


def _run(
    chain: list[tuple[int, int]], points_mm: FloatArray, values: FloatArray, level: float
) -> Run:
    a, b = np.array(chain, dtype=np.int64).T
    run = Run(a, b, (level - values[a]) / (values[b] - values[a]))
    steps = run.steps_mm(points_mm)
    kept = np.concatenate([[True], steps > NO_STEP * max(float(steps.sum()), 1e-300)])
    return Run(run.a[kept], run.b[kept], run.share[kept])


def step_matrix(runs: Sequence[Run], point_count: int) -> Any:
    """Return the sparse matrix from places of points to the steps of all runs.

    Returns
    -------
    sparse array of shape (steps of all runs, point_count)
        Times places of shape (point_count, k) it gives the vectors from each place of a run to
        the next, run after run.
    """
    steps = [sp.csr_array((0, point_count))]
    for run in runs:
        places = _place_matrix(run, point_count)
        steps.append(places[1:] - places[:-1])
    return sp.csr_array(sp.vstack(steps))


def _place_matrix(run: Run, point_count: int) -> Any:
    rows = np.arange(len(run.a))
    entries = np.concatenate([1.0 - run.share, run.share])
    places = (np.tile(rows, 2), np.concatenate([run.a, run.b]))
    return sp.csr_array((entries, places), shape=(len(rows), point_count))


def way_along_mm(points_mm: FloatArray) -> FloatArray:
    """Return the way along a line at each of its points, from 0, shape (n,)."""
    steps = np.linalg.norm(np.diff(points_mm, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(steps)])


def level_length_mm(
    triangles: IntArray, values: FloatArray, level: float, *points_mm: FloatArray
) -> tuple[float, ...]:
    """Return the length of a level line over each of several places of the same points.

    As `contour_runs` and their lengths, but without putting the line in order; so the same line
    in space and on the flat costs one look.

    Parameters
    ----------
    triangles : array of shape (m, 3)
        Numbers of corner points.
    values : array of shape (n,)
        The function whose level line it is.
    level : float
        Its value on the line.
    points_mm : arrays of shape (n, 2 or 3)
        Places of the points: in space, on the flat.
    """
    above = values[triangles] >= level
    crossed = triangles[above.any(axis=1) & ~above.all(axis=1)]
    over = values[crossed] - level
    lone = (over >= 0).sum(axis=1) == 1  # else two corners are above, one below
    odd = np.where(lone, (over >= 0).argmax(axis=1), (over < 0).argmax(axis=1))
    rows = np.arange(len(crossed))
    first, second = (odd + 1) % 3, (odd + 2) % 3
    lengths = []
    for points in points_mm:
        corner = points[crossed[rows, odd]]
        ends = []
        for other in (first, second):
            share = over[rows, odd] / (over[rows, odd] - over[rows, other])
            ends.append(corner + share[:, None] * (points[crossed[rows, other]] - corner))
        lengths.append(float(np.linalg.norm(ends[0] - ends[1], axis=1).sum()))
    return tuple(lengths)
