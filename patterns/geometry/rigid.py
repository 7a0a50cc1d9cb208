"""Triangles laid flat as rigid as they can be: every step turns them, then joins them again.

Source: Liu, Zhang, Xu, Gotsman, Gortler 2008, "A Local/Global Approach to Mesh Parameterization",
Computer Graphics Forum 27(5). Steps of seams are springs in the same system, each drawn to its
own length in its present direction; the system is factorised once.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from patterns.geometry.runs import Run, step_matrix
from patterns.geometry.strain import flipped_count, local_frames
from patterns.geometry.surface import FloatArray, IntArray

LEAST_COTANGENT = 0.02  # keeps blunt triangles from pushing
MOST_COTANGENT = 50.0  # keeps slivers from ruling their neighbours
SPRING_WEIGHT = 20.0  # of one step of a seam; a cotangent is about 1
ENOUGH = 1e-9  # share of the part's size: the rounds end when no point moves further
HOLD = 1e-8  # share of the mean stiffness that keeps the part from drifting away
SHORTER = 0.6  # a step that would turn a triangle over is cut to this share, again and again
LEAST_STEP = 0.05  # and given up below this one


@dataclass(frozen=True)
class _Sheet:
    """What stays the same from step to step.

    `sides` takes places of points to the vectors along the triangles' sides, (3 m, n); `rest` are
    these vectors at rest, (m, 3, 2), `weights` their stiffness, (m, 3). `steps` takes places of
    points to the steps of the runs, `lengths_mm` are these at rest. `solve` inverts the system.
    """

    sides: Any
    sides_back: Any
    rest: FloatArray
    weights: FloatArray
    steps: Any
    steps_back: Any
    lengths_mm: FloatArray
    solve: Any


def made_rigid(
    points_mm: FloatArray,
    triangles: IntArray,
    start_mm: FloatArray,
    *,
    runs: Sequence[Run] = (),
    rounds: int,
) -> FloatArray:
    """Return flat places of a surface's points after some rounds of turning and joining.

    Parameters
    ----------
    points_mm : array of shape (n, 3)
        Points on the last.
    triangles : array of shape (m, 3)
        Corner points, counter-clockwise seen from outside.
    start_mm : array of shape (n, 2)
        Flat places to begin with, no triangle turned over.
    runs : sequence of Run
        Seams that are to keep their length step by step.
    rounds : int
        How many rounds at most.

    Returns
    -------
    array of shape (n, 2)
        Places about their middle, no triangle turned over.
    """
    sheet = _sheet(points_mm, triangles, runs)
    flat = start_mm
    for _ in range(rounds):
        step = sheet.solve(_pull(sheet, flat))
        step = step - step.mean(axis=0) - flat
        share = 1.0
        while flipped_count(triangles, flat + share * step) and share > LEAST_STEP:
            share *= SHORTER
        if share <= LEAST_STEP:
            break
        flat = flat + share * step
        if float(np.abs(step).max()) < ENOUGH * float(np.abs(flat).max()):
            break
    return flat


def side_matrix(triangles: IntArray, point_count: int) -> Any:
    """Return the sparse matrix of shape (3 m, n) from places of points to side vectors."""
    start, end = triangles.ravel(), triangles[:, [1, 2, 0]].ravel()
    rows = np.tile(np.arange(len(start)), 2)
    ones = np.ones(len(start))
    entries = (np.concatenate([ones, -ones]), (rows, np.concatenate([end, start])))
    return sp.csr_array(entries, shape=(len(start), point_count))


def side_cotangents(frames: FloatArray) -> FloatArray:
    """Return the cotangent of the angle against each side of flat triangles, shape (m, 3).

    The sides come in the order of `side_matrix`: from each corner to the next.
    """
    doubled = np.maximum(frames[:, 1, 0] * frames[:, 2, 1], 1e-300)
    values = np.zeros(frames.shape[:2])
    for turn in range(3):
        against = (turn + 2) % 3
        u = frames[:, turn] - frames[:, against]
        v = frames[:, (turn + 1) % 3] - frames[:, against]
        values[:, turn] = np.einsum("ij,ij->i", u, v) / doubled
    return values


def _sheet(points_mm: FloatArray, triangles: IntArray, runs: Sequence[Run]) -> _Sheet:
    count = len(points_mm)
    frames = local_frames(points_mm, triangles)
    sides, steps = side_matrix(triangles, count), step_matrix(runs, count)
    weights = np.clip(side_cotangents(frames), LEAST_COTANGENT, MOST_COTANGENT)
    system = sides.T @ sp.diags_array(weights.ravel()) @ sides + SPRING_WEIGHT * (steps.T @ steps)
    return _Sheet(
        sides=sides,
        sides_back=sp.csr_array(sides.T),
        rest=frames[:, [1, 2, 0]] - frames,
        weights=weights,
        steps=steps,
        steps_back=sp.csr_array(steps.T),
        lengths_mm=np.linalg.norm(steps @ points_mm, axis=1),
        solve=symmetric_solver(system, HOLD),
    )


def symmetric_solver(system: Any, hold: float = 0.0) -> Any:
    """Return a function that solves a symmetric system without negative directions.

    Parameters
    ----------
    system : sparse array of shape (n, n)
        Real or complex; it may leave the place as a whole free.
    hold : float
        Share of the diagonal's mean added to it, so that a free place is held.
    """
    held = system
    if hold:
        mean = float(system.diagonal().real.mean())
        held = system + sp.diags_array(np.full(system.shape[0], hold * mean))
    factors = splu(
        sp.csc_array(held),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        relax=1,  # with so few entries a row, this and short panels are the fastest
        panel_size=4,
        options={"SymmetricMode": True},
    )
    return factors.solve


def _pull(sheet: _Sheet, flat: FloatArray) -> FloatArray:
    """Return the right side of the joining step: every triangle turned as it lies best."""
    laid = (sheet.sides @ flat).reshape(-1, 3, 2)
    rest, weights = sheet.rest, sheet.weights
    cosine = np.einsum("ij,ijk,ijk->i", weights, laid, rest)
    crossed = laid[..., 1] * rest[..., 0] - laid[..., 0] * rest[..., 1]
    sine = np.einsum("ij,ij->i", weights, crossed)
    size = np.maximum(np.hypot(cosine, sine), 1e-300)
    cosine, sine = (cosine / size)[:, None], (sine / size)[:, None]
    turned = np.empty_like(rest)
    turned[..., 0] = weights * (cosine * rest[..., 0] - sine * rest[..., 1])
    turned[..., 1] = weights * (sine * rest[..., 0] + cosine * rest[..., 1])
    pull = sheet.sides_back @ turned.reshape(-1, 2)
    steps = sheet.steps @ flat
    scale = sheet.lengths_mm / np.maximum(np.linalg.norm(steps, axis=1), 1e-300)
    drawn = sheet.steps_back @ (SPRING_WEIGHT * scale[:, None] * steps)
    return np.asarray(pull + drawn)
