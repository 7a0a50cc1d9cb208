"""The last stage of laying a part flat: least stretch, with its greatest values pressed down.

What counts, for each principal factor s of every triangle from the last to the flat, is
f + f^2 / (2 TAIL^2) times its area, with f = w (s - 1/s)^2 / 4: close to w (s - 1)^2 for small
strains, without bound before a triangle turns over (as the symmetric Dirichlet energy of Smith and
Schaefer 2015, "Bijective Parameterization with Free Boundaries", ACM Transactions on Graphics
34(4)). The second term presses down the few triangles that would stretch most. w is the weight of
stretching where the flat is too small, else 1, since leather gathers over a last more readily than
it stretches.

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
LENGTH_WEIGHT = 200.0  # mm2 for a run whose whole length is 1 mm off
LEAST_AREA = 0.1  # slivers count as this share of the mean area, lest they fold
MEMORY = 8  # steps remembered to improve the next one
STEPS_EACH = 20  # steps with one factorisation
ENOUGH = 3e-4  # a step that gains less than this share of the whole is small
SMALL_STEPS = 2  # so many small steps on end, and the places are at rest
FEW_STEPS = 3  # after these, factors are made anew once the cost has fallen, since the first
OUT_OF_DATE = 0.6  # of them, to this share
KEPT = 1e-4  # share of its length by which a held run may differ
NOTHING = 1e-20  # mean squared strain that is none
SUFFICIENT = 1e-4  # share of the gain foreseen that a step must reach
LONGER = 4.0  # times the last step's share of its move is tried for the next
SHORTEST = 1e-6  # step below which nothing is gained any more


Band = tuple[Sequence[Run], float]


def relaxed(
    points_mm: FloatArray,
    triangles: IntArray,
    start_mm: FloatArray,
    *,
    stiff_runs: Sequence[Run] = (),
    girth_runs: Sequence[Run] = (),
    bands: Sequence[Band] = (),
    stiffness: float,
    stretch_weight: float,
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
    bands : sequence of (runs, length)
        Lines beside one another, each band brought to the length given in sum.
    stiffness : float
        A seam's steps are as stiff as a strip of leather so many times the part's size wide, the
        size being the root of its area.
    stretch_weight : float
        What stretching the leather counts, against 1 for gathering it.
    rounds : int
        How often at most the Newton matrix is made anew.

    Returns
    -------
    array of shape (n, 2)
        Places about their middle, no triangle turned over.
    """
    held = [*([run] for run in girth_runs), *(runs for runs, _ in bands)]
    task = _task(points_mm, triangles, stiff_runs, held, stiffness, stretch_weight)
    if bands:
        wanted = np.array([length for _, length in bands])
        own = task.run_lengths_mm[: len(task.run_lengths_mm) - len(bands)]
        task = replace(task, run_lengths_mm=np.concatenate([own, wanted]))
    lengths_mm = task.run_lengths_mm
    state = _state(task, start_mm[:, 0] + 1j * start_mm[:, 1])
    newton = None
    for _ in range(rounds):
        if not np.isfinite(state.cost) or state.cost < NOTHING * task.areas_mm2.sum():
            break
        newton = newton or _newton_solver(task, state)
        state, at_rest = _steps(task, newton, state)
        off_mm = lengths_mm - task.sums @ state.lengths_mm
        kept = bool((np.abs(off_mm) <= KEPT * lengths_mm).all())
        if at_rest and kept:
            break
        if at_rest:  # aim beyond what the leather gives back: the method of multipliers
            task = replace(task, run_lengths_mm=task.run_lengths_mm + off_mm)
            state = _state(task, state.here)
        else:
            newton = None
    here = state.here - state.here.mean()
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
    stretch_weight: float


def _task(
    points_mm: FloatArray,
    triangles: IntArray,
    stiff_runs: Sequence[Run],
    held: Sequence[Sequence[Run]],
    stiffness: float,
    stretch_weight: float,
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
    groups = [*([run] for run in stiff_runs), *held]
    runs = [run for group in groups for run in group]
    group_sizes = [sum(len(run.a) - 1 for run in group) for group in groups]
    steps = step_matrix(runs, count)
    lengths = np.linalg.norm(steps @ points_mm, axis=1)
    run_of_step = np.repeat(np.arange(len(groups)), group_sizes)
    shape = (len(groups), len(lengths))
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
        stretch_weight=stretch_weight,
    )


def _cost(factor: FloatArray, stretch_weight: float) -> FloatArray:
    """Return the cost of a principal factor, for each unit of area."""
    plain = np.where(factor < 1.0, stretch_weight, 1.0) * (factor - 1.0 / factor) ** 2 / 4.0
    return np.asarray(plain * (1.0 + plain / (2.0 * TAIL**2)))


@dataclass(frozen=True)
class _Slopes:
    """The first two slopes of the cost of a principal factor, for each unit of area."""

    first: FloatArray
    second: FloatArray


def _slopes(factor: FloatArray, stretch_weight: float) -> _Slopes:
    inverse = 1.0 / factor
    weight = np.where(factor < 1.0, stretch_weight, 1.0)
    first = weight * (factor - inverse**3) / 2.0
    second = weight * (1.0 + 3.0 * inverse**4) / 2.0
    grown = 1.0 + weight * (factor - inverse) ** 2 / (4.0 * TAIL**2)
    return _Slopes(grown * first, first * first / TAIL**2 + grown * second)


@dataclass(frozen=True)
class _State:
    """Places with all that their cost is made of; the cost is endless where a triangle folds."""

    here: ComplexArray
    p: ComplexArray
    q: ComplexArray
    p_size: FloatArray
    q_size: FloatArray
    steps: ComplexArray
    lengths_mm: FloatArray
    cost: float


def _state(task: _Task, here: ComplexArray) -> _State:
    p, q = task.to_p @ here, task.to_q @ here
    p_size, q_size = np.abs(p), np.abs(q)
    steps = task.steps @ here
    lengths = np.abs(steps)
    cost = np.inf
    if (p_size > q_size).all():
        off, runs_off = lengths - task.lengths_mm, task.sums @ lengths - task.run_lengths_mm
        greater = _cost(p_size + q_size, task.stretch_weight)
        lesser = _cost(p_size - q_size, task.stretch_weight)
        cost = float(task.areas_mm2 @ (greater + lesser))
        cost += float(task.step_weights @ off**2) + LENGTH_WEIGHT * float(runs_off @ runs_off)
    return _State(here, p, q, p_size, q_size, steps, lengths, cost)


def _slope(task: _Task, state: _State) -> ComplexArray:
    """Return the cost's slope g: a small change c of places adds Re(g* c) to it."""
    major, minor = _both_slopes(task, state)
    along_p = task.areas_mm2 * (major.first + minor.first) * state.p / state.p_size
    sized_q = state.q / np.maximum(state.q_size, 1e-300)
    along_q = task.areas_mm2 * (major.first - minor.first) * sized_q
    off = state.lengths_mm - task.lengths_mm
    runs_off = task.sums @ state.lengths_mm - task.run_lengths_mm
    force = 2.0 * (task.step_weights * off + LENGTH_WEIGHT * (task.sums.T @ runs_off))
    drawn = force * state.steps / np.maximum(state.lengths_mm, 1e-300)
    slope = task.from_p @ along_p + task.from_q @ along_q + task.from_steps @ drawn
    return np.asarray(slope)


def _both_slopes(task: _Task, state: _State) -> tuple[_Slopes, _Slopes]:
    """Return the slopes of the cost of the greater and of the lesser principal factors."""
    weight = task.stretch_weight
    return (
        _slopes(state.p_size + state.q_size, weight),
        _slopes(state.p_size - state.q_size, weight),
    )


def _newton_solver(task: _Task, state: _State) -> Solver:
    """Return a function that gives the Newton step, as complex places, against a slope."""
    count = len(state.here)
    system = _triangle_system(task, state)
    turn = state.steps / np.maximum(state.lengths_mm, 1e-300)
    lengthening = sp.hstack(
        [sp.diags_array(turn.real) @ task.steps, sp.diags_array(turn.imag) @ task.steps],
        format="csr",
    )
    seam = np.flatnonzero(task.step_weights)  # girths would only fill the matrix with zeros
    weights = sp.diags_array(2.0 * task.step_weights[seam])
    system = system + lengthening[seam].T @ weights @ lengthening[seam]
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


def _triangle_system(task: _Task, state: _State) -> Any:
    """Return the second slopes of the triangles' cost, (2 n, 2 n), x before y, none negative."""
    p, q, p_size, q_size = state.p, state.q, state.p_size, state.q_size
    major, minor = _both_slopes(task, state)
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
    count = len(state.here)
    ids = np.concatenate([task.triangles, task.triangles + count], axis=1)
    places = (np.repeat(ids, 6, axis=1).ravel(), np.tile(ids, (1, 6)).ravel())
    return sp.csc_array((blocks.ravel(), places), shape=(2 * count, 2 * count))


def _steps(task: _Task, newton: Solver, state: _State) -> tuple[_State, bool]:
    """Return the state after steps with one factorisation, and whether it came to rest.

    They end as well once the places are so much better that the factors are out of date.
    """
    moves: list[ComplexArray] = []
    bends: list[ComplexArray] = []
    slope = _slope(task, state)
    first, small, share = np.inf, 0, 1.0
    for count in range(STEPS_EACH):
        move = _learned(newton, slope, moves, bends)
        after, share = _moved(task, state, move, float(np.vdot(slope, move).real), share)
        if share < SHORTEST:
            return state, count == 0
        slope_after = _slope(task, after)
        moved, bend = after.here - state.here, slope_after - slope
        if np.vdot(moved, bend).real > 0.0:
            moves, bends = [*moves, moved][-MEMORY:], [*bends, bend][-MEMORY:]
        small = small + 1 if state.cost - after.cost < ENOUGH * after.cost else 0
        state, slope = after, slope_after
        if small == SMALL_STEPS or state.cost < NOTHING * task.areas_mm2.sum():
            return state, True
        first = state.cost if count == 0 else first
        if count >= FEW_STEPS and state.cost < OUT_OF_DATE * first:
            break
    return state, False


def _moved(
    task: _Task, state: _State, move: ComplexArray, foreseen: float, last_share: float
) -> tuple[_State, float]:
    """Return the state after a move, shortened until it gains, and the share of it taken.

    The first share tried is a longer one than the last that gained.
    """
    share = min(1.0, LONGER * last_share)
    while share >= SHORTEST:
        after = _state(task, state.here + share * move)
        if after.cost <= state.cost + SUFFICIENT * share * foreseen:
            return after, share
        share /= 2.0
    return state, 0.0


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
