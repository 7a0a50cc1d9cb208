"""The last stage of laying a part flat: least stretch, with its greatest values pressed down.

What counts, for each principal factor s of every triangle from the last to the flat, is
f + f^2 / (2 TAIL^2) times its area, with f = w (s - 1/s)^2 / 4: close to w (s - 1)^2 for small
strains, without bound before a triangle turns over (as the symmetric Dirichlet energy of Smith and
Schaefer 2015, "Bijective Parameterization with Free Boundaries", ACM Transactions on Graphics
34(4)). The second term presses down the few triangles that would stretch most. w is greater where
the flat is too small, since leather gathers over a last more readily than it stretches.

Held runs count by how much their length as a whole differs, seams step by step as well; where a
run gives way, its aim is moved beyond its length until the length is kept (Hestenes 1969,
"Multiplier and Gradient Methods", Journal of Optimization Theory and Applications 4). The sum is
brought to its least by Newton steps whose matrix is kept positive triangle by triangle (Smith, de
Goes, Kim 2019, "Analytic Eigensystems for Isotropic Distortion Energies", ACM Transactions on
Graphics 38(1)) and, since factorising it is what costs time, used for several steps that learn
from each other (Nocedal 1980, "Updating Quasi-Newton Matrices with Limited Storage", Mathematics
of Computation 35).

Places on the flat are complex numbers here, x + iy: a triangle's map is p dz + q dz', with
principal factors |p| + |q| and |p| - |q|.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from patterns.geometry.rigid import symmetric_solver
from patterns.geometry.runs import Run, step_matrix
from patterns.geometry.strain import local_frames
from patterns.geometry.surface import FloatArray, IntArray

ComplexArray = npt.NDArray[np.complex128]
Solver = Callable[[ComplexArray], ComplexArray]

TAIL = 0.05  # strain beyond which the pressure on the greatest values prevails
STRETCH_WEIGHT = 3.0  # of stretching the leather, against 1 for gathering it
LENGTH_WEIGHT = 200.0  # mm2 for a run whose whole length is 1 mm off
LEAST_AREA = 0.1  # slivers count as this share of the mean area, lest they fold
MEMORY = 8  # steps remembered to improve the next one
STEPS_EACH = 20  # steps with one factorisation
ENOUGH = 3e-4  # a step that gains less than this share of the whole is the last of its kind
KEPT = 1e-4  # share of its length by which a held run may differ
NOTHING = 1e-20  # mean squared strain that is none
SUFFICIENT = 1e-4  # share of the gain foreseen that a step must reach
SHORTEST = 1e-6  # step below which nothing is gained any more


def relaxed(
    points_mm: FloatArray,
    triangles: IntArray,
    start_mm: FloatArray,
    *,
    stiff_runs: Sequence[Run] = (),
    girth_runs: Sequence[Run] = (),
    stiffness: float,
    rounds: int,
) -> FloatArray:
    """Return flat places of a surface's points with least stretch.

    Parameters
    ----------
    points_mm : array of shape (n, 3)
        Points on the last.
    triangles : array of shape (m, 3)
        Corner points, counter-clockwise seen from outside.
    start_mm : array of shape (n, 2)
        Flat places to begin with, no triangle turned over.
    stiff_runs : sequence of Run
        Seams, kept to length as a whole and step by step.
    girth_runs : sequence of Run
        Lines kept to length as a whole.
    stiffness : float
        A seam's steps are as stiff as a strip of leather so many times the part's size wide, the
        size being the root of its area.
    rounds : int
        How often at most the Newton matrix is made anew.

    Returns
    -------
    array of shape (n, 2)
        Places about their middle, no triangle turned over.
    """
    task = _task(points_mm, triangles, stiff_runs, girth_runs, stiffness)
    lengths_mm = task.run_lengths_mm
    here = start_mm[:, 0] + 1j * start_mm[:, 1]
    newton = None
    for round_ in range(rounds):
        before, slope = _cost(task, here)
        if not np.isfinite(before) or before < NOTHING * task.areas_mm2.sum():
            break
        newton = newton or _newton_solver(task, here)
        here, cost = _steps(task, newton, here, before, slope)
        at_rest = round_ > 0 and before - cost < 10.0 * ENOUGH * before
        off_mm = lengths_mm - task.sums @ np.abs(task.steps @ here)
        kept = bool((np.abs(off_mm) <= KEPT * lengths_mm).all())
        if at_rest and kept:
            break
        if not kept:  # aim beyond what the leather gives back: the method of multipliers
            task = replace(task, run_lengths_mm=task.run_lengths_mm + off_mm)
        if not at_rest:
            newton = None
    here = here - here.mean()
    return np.column_stack([here.real, here.imag])


@dataclass(frozen=True)
class _Task:
    """What stays the same while a part settles.

    `p_parts`, (m, 3), are the factors of a triangle's corners in its p; those in its q are their
    conjugates. `to_p` is the same as a sparse matrix (m, n), `from_p` its conjugate transposed.
    """

    triangles: IntArray
    areas_mm2: FloatArray
    p_parts: ComplexArray
    to_p: Any
    to_q: Any
    from_p: Any
    from_q: Any
    steps: Any
    from_steps: Any
    lengths_mm: FloatArray
    step_weights: FloatArray
    sums: Any  # (runs, steps): adds the steps of each run
    run_lengths_mm: FloatArray


def _task(
    points_mm: FloatArray,
    triangles: IntArray,
    stiff_runs: Sequence[Run],
    girth_runs: Sequence[Run],
    stiffness: float,
) -> _Task:
    count = len(points_mm)
    frames = local_frames(points_mm, triangles)
    areas = frames[:, 1, 0] * frames[:, 2, 1] / 2.0
    corners = frames[..., 0] + 1j * frames[..., 1]
    across = corners[:, [2, 0, 1]] - corners[:, [1, 2, 0]]
    p_parts = -0.25j * np.conj(across) / areas[:, None]
    rows = np.repeat(np.arange(len(triangles)), 3)
    to_p = sp.csr_array((p_parts.ravel(), (rows, triangles.ravel())), shape=(len(areas), count))
    from_p = sp.csr_array(to_p.conj().T)
    runs = [*stiff_runs, *girth_runs]
    steps = step_matrix(runs, count)
    lengths = np.linalg.norm(steps @ points_mm, axis=1)
    run_of_step = np.repeat(np.arange(len(runs)), [len(run.a) - 1 for run in runs])
    shape = (len(runs), len(lengths))
    sums = sp.csr_array((np.ones(len(lengths)), (run_of_step, np.arange(len(lengths)))), shape)
    seam = run_of_step < len(stiff_runs)
    mean_mm = float(lengths.mean()) if len(lengths) else 1.0
    size_mm = float(np.sqrt(areas.sum()))
    weights = stiffness * size_mm * seam / np.maximum(lengths, 1e-3 * mean_mm)
    return _Task(
        triangles=triangles,
        areas_mm2=np.maximum(areas, LEAST_AREA * areas.mean()),
        p_parts=p_parts,
        to_p=to_p,
        to_q=to_p.conj(),
        from_p=from_p,
        from_q=from_p.conj(),
        steps=steps,
        from_steps=sp.csr_array(steps.T),
        lengths_mm=lengths,
        step_weights=weights,
        sums=sums,
        run_lengths_mm=sums @ lengths,
    )


@dataclass(frozen=True)
class _Factor:
    """One principal factor of each triangle: its cost and the cost's first two slopes."""

    cost: FloatArray
    first: FloatArray
    second: FloatArray


def _factor(value: FloatArray) -> _Factor:
    inverse = 1.0 / value
    weight = np.where(value < 1.0, STRETCH_WEIGHT, 1.0)
    plain = weight * (value - inverse) ** 2 / 4.0
    first = weight * (value - inverse**3) / 2.0
    second = weight * (1.0 + 3.0 * inverse**4) / 2.0
    press = 1.0 / TAIL**2
    grown = 1.0 + press * plain
    return _Factor(
        plain + press * plain * plain / 2.0, grown * first, press * first * first + grown * second
    )


def _cost(task: _Task, here: ComplexArray) -> tuple[float, ComplexArray]:
    """Return the cost of places and its slope g: a small change c of places adds Re(g* c)."""
    p, q = task.to_p @ here, task.to_q @ here
    p_size, q_size = np.abs(p), np.abs(q)
    if (p_size <= q_size).any():
        return np.inf, here
    major, minor = _factor(p_size + q_size), _factor(p_size - q_size)
    cost = float(task.areas_mm2 @ (major.cost + minor.cost))
    along_p = task.areas_mm2 * (major.first + minor.first) * p / p_size
    along_q = task.areas_mm2 * (major.first - minor.first) * q / np.maximum(q_size, 1e-300)
    slope = task.from_p @ along_p + task.from_q @ along_q
    steps = task.steps @ here
    lengths = np.maximum(np.abs(steps), 1e-300)
    off = lengths - task.lengths_mm
    runs_off = task.sums @ lengths - task.run_lengths_mm
    cost += float(task.step_weights @ off**2) + LENGTH_WEIGHT * float(runs_off @ runs_off)
    force = 2.0 * (task.step_weights * off + LENGTH_WEIGHT * (task.sums.T @ runs_off))
    return cost, slope + task.from_steps @ (force * steps / lengths)


def _newton_solver(task: _Task, here: ComplexArray) -> Solver:
    """Return a function that gives the Newton step, as complex places, against a slope."""
    count = len(here)
    system = _triangle_system(task, here)
    steps = task.steps @ here
    turn = steps / np.maximum(np.abs(steps), 1e-300)
    lengthening = sp.hstack(
        [sp.diags_array(turn.real) @ task.steps, sp.diags_array(turn.imag) @ task.steps],
        format="csr",
    )
    system = system + lengthening.T @ sp.diags_array(2.0 * task.step_weights) @ lengthening
    solve = symmetric_solver(system, 1e-7)
    # The few runs as wholes are added by the Sherman-Morrison-Woodbury formula.
    whole = np.sqrt(2.0 * LENGTH_WEIGHT) * (task.sums @ lengthening).toarray().T
    spread = solve(np.ascontiguousarray(whole)) if whole.shape[1] else whole
    core = np.linalg.inv(np.eye(whole.shape[1]) + whole.T @ spread)

    def step(slope: ComplexArray) -> ComplexArray:
        plain = solve(np.concatenate([slope.real, slope.imag]))
        full = plain - spread @ (core @ (whole.T @ plain))
        return np.asarray(full[:count] + 1j * full[count:])

    return step


def _triangle_system(task: _Task, here: ComplexArray) -> Any:
    """Return the second slopes of the triangles' cost, (2 n, 2 n), x before y, none negative."""
    p, q = task.to_p @ here, task.to_q @ here
    p_size, q_size = np.abs(p), np.abs(q)
    major, minor = _factor(p_size + q_size), _factor(p_size - q_size)
    areas = task.areas_mm2
    both = areas * (major.second + minor.second)
    mixed = areas * (major.second - minor.second)
    turning = np.maximum(areas * (major.first + minor.first) / p_size, 0.0)
    round_ = q_size < 1e-5  # both factors alike
    safe = np.where(round_, 1.0, q_size)
    shearing = np.where(round_, both, areas * (major.first - minor.first) / safe)
    p_rows = task.p_parts * np.conj(p / p_size)[:, None]
    q_rows = np.conj(task.p_parts) * np.where(round_, 1.0, np.conj(q) / safe)[:, None]
    rows = np.stack(
        [
            np.concatenate([p_rows.real, -p_rows.imag], axis=1),
            np.concatenate([p_rows.imag, p_rows.real], axis=1),
            np.concatenate([q_rows.real, -q_rows.imag], axis=1),
            np.concatenate([q_rows.imag, q_rows.real], axis=1),
        ],
        axis=1,
    )
    weighted = np.empty_like(rows)
    weighted[:, 0] = both[:, None] * rows[:, 0] + mixed[:, None] * rows[:, 2]
    weighted[:, 1] = turning[:, None] * rows[:, 1]
    weighted[:, 2] = mixed[:, None] * rows[:, 0] + both[:, None] * rows[:, 2]
    weighted[:, 3] = shearing[:, None] * rows[:, 3]
    blocks = np.matmul(rows.transpose(0, 2, 1), weighted)
    count = len(here)
    ids = np.concatenate([task.triangles, task.triangles + count], axis=1)
    places = (np.repeat(ids, 6, axis=1).ravel(), np.tile(ids, (1, 6)).ravel())
    return sp.csc_array((blocks.ravel(), places), shape=(2 * count, 2 * count))


def _steps(
    task: _Task, newton: Solver, here: ComplexArray, cost: float, slope: ComplexArray
) -> tuple[ComplexArray, float]:
    """Return the places after steps with one factorisation, and their cost."""
    moves: list[ComplexArray] = []
    bends: list[ComplexArray] = []
    for _ in range(STEPS_EACH):
        move = _learned(newton, slope, moves, bends)
        share, foreseen = 1.0, float(np.vdot(slope, move).real)
        while _cost_only(task, here + share * move) > cost + SUFFICIENT * share * foreseen:
            share /= 2.0
            if share < SHORTEST:
                return here, cost
        gained, here = cost, here + share * move
        cost, after = _cost(task, here)
        if np.vdot(share * move, after - slope).real > 0.0:
            moves, bends = [*moves, share * move][-MEMORY:], [*bends, after - slope][-MEMORY:]
        slope = after
        if gained - cost < ENOUGH * cost:
            break
    return here, cost


def _cost_only(task: _Task, here: ComplexArray) -> float:
    """Return the cost of places; endless where a triangle has turned over."""
    p_size, q_size = np.abs(task.to_p @ here), np.abs(task.to_q @ here)
    if (p_size <= q_size).any():
        return np.inf
    factors = _factor(p_size + q_size).cost + _factor(p_size - q_size).cost
    lengths = np.abs(task.steps @ here)
    off, runs_off = lengths - task.lengths_mm, task.sums @ lengths - task.run_lengths_mm
    triangles = float(task.areas_mm2 @ factors)
    return (
        triangles + float(task.step_weights @ off**2) + LENGTH_WEIGHT * float(runs_off @ runs_off)
    )


def _learned(
    newton: Solver, slope: ComplexArray, moves: list[ComplexArray], bends: list[ComplexArray]
) -> ComplexArray:
    """Return the next move: Newton's, improved by what the last moves did to the slope."""
    pairs = list(zip(moves, bends, strict=True))
    rest = -slope
    shares = []
    for move, bend in reversed(pairs):
        share = np.vdot(move, rest).real / np.vdot(move, bend).real
        shares.append(share)
        rest = rest - share * bend
    result = newton(rest)
    for (move, bend), share in zip(pairs, reversed(shares), strict=True):
        result = result + (share - np.vdot(bend, result).real / np.vdot(move, bend).real) * move
    return np.asarray(result)
