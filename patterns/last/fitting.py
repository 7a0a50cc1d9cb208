"""Shape numbers turned until measures come out as asked: Newton steps of the smallest move."""

import pickle
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from patterns.last.leg import Leg, leg_of
from patterns.last.measuring import GridTape, foot_measures
from patterns.last.shape import COARSE, FINE, Fineness, shape_of
from patterns.last.shape_numbers import (
    LEAST,
    MOST,
    SPREAD,
    SPREAD_TRACED,
    ShapeNumbers,
)
from patterns.last.wanted import Wanted

FloatArray = npt.NDArray[np.float64]
Residuals = Callable[[FloatArray], FloatArray]

# The measures that the shape numbers are turned for; all others are set outright.
FITTED = ("ball_width", "ball_girth", "heel_width", "instep_girth", "heel_instep_girth")
# How closely each is held, as a share of it: given ones as good as exactly, inferred ones less,
# so that they yield to given ones; beside a tracing a figure from proportion tells little.
GIVEN_SLACK, INFERRED_SLACK, TRACED_SLACK = 1e-4, 2e-3, 2e-2
CLOSE_ENOUGH = 2e-5  # relative, on the final grid; ten times closer than is asked
DIFFERENCE_STEP = 2e-3
SMALL_STEP = 0.3  # of the spreads: the unknowns have settled
SMALL_GAIN = 0.05  # share by which another step still brings them nearer
STEP_MOST = 0.35  # of a shape number in one step
COARSE_ROUNDS, FINE_ROUNDS = 7, 10
KEPT_MOST = 256  # feet whose numbers are remembered: ten numbers each


@dataclass(frozen=True)
class Problem:
    """What to bring to zero, and how far each unknown may go.

    Parameters
    ----------
    residuals : callable
        Relative errors of the measures at given unknowns.
    slack : array, one for each residual
        How closely it is held.
    spread, least, most : arrays, one for each unknown
        How readily it moves, and its limits.
    """

    residuals: Residuals
    slack: FloatArray
    spread: FloatArray
    least: FloatArray
    most: FloatArray


def fit_numbers(wanted: Wanted) -> ShapeNumbers:
    """Return the shape numbers whose last has the measures asked for, or comes nearest.

    First on a coarse grid with slopes taken anew at every step, then on the final grid with
    those slopes, corrected by what each step turns out to do. The numbers of the latest feet are
    remembered: one foot has lasts of many heights, for one style after another.
    """
    return _fitted(_Asked(pickle.dumps(wanted), wanted))


def forget_fitted() -> None:
    """Drop what is remembered, as for measuring how long a fit takes afresh."""
    _fitted.cache_clear()


@dataclass(frozen=True, slots=True)
class _Asked:
    content: bytes  # everything wanted, to tell one foot from another
    wanted: Wanted = field(compare=False)


@lru_cache(maxsize=KEPT_MOST)
def _fitted(asked: _Asked) -> ShapeNumbers:
    wanted = asked.wanted
    leg = leg_of(wanted)
    loose = INFERRED_SLACK if wanted.drawings is None else TRACED_SLACK
    slack = np.array([loose if key in wanted.inferred else GIVEN_SLACK for key in FITTED])

    def problem(fineness: Fineness) -> Problem:
        def residuals(values: FloatArray) -> FloatArray:
            return _errors(wanted, leg, ShapeNumbers.from_array(values), fineness)

        spread = SPREAD if wanted.drawings is None else SPREAD_TRACED
        return Problem(residuals, slack, spread, LEAST, MOST)

    start = np.zeros(len(SPREAD))
    values, slopes = solve_anew(problem(COARSE), start, COARSE_ROUNDS)
    values = solve_on(problem(FINE), values, slopes, FINE_ROUNDS)
    return ShapeNumbers.from_array(values)


def _errors(wanted: Wanted, leg: Leg, numbers: ShapeNumbers, fineness: Fineness) -> FloatArray:
    shape = shape_of(wanted, numbers, fineness, top=leg.ankle, leg=leg)
    built = foot_measures(GridTape(shape.grid), 1.0, wanted["heel_raise"])
    return relative_errors(built, wanted.ratios, FITTED)


def relative_errors(
    built: Mapping[str, float], asked: Mapping[str, float], keys: Sequence[str]
) -> FloatArray:
    """Return by what share each built measure passes the asked one."""
    return np.array([built[key] / asked[key] - 1.0 for key in keys])


def solve_anew(problem: Problem, start: FloatArray, rounds: int) -> tuple[FloatArray, FloatArray]:
    """Return the best unknowns found with slopes taken anew at each step, and the last slopes."""
    values, errors = start, problem.residuals(start)
    slopes = _slopes(problem, values, errors)
    for number in range(rounds):
        if number:
            slopes = _slopes(problem, values, errors)
        moved = _best_move(problem, values, errors, slopes)
        if moved is None:
            break
        step = float(np.abs((moved[0] - values) / problem.spread).max())
        gain = 1.0 - _size(problem, *moved) / _size(problem, values, errors)
        values, errors = moved
        if (step < SMALL_STEP or gain < SMALL_GAIN) and _worst_given(
            problem, errors
        ) < 20.0 * CLOSE_ENOUGH:
            break
    return values, slopes


def solve_on(problem: Problem, start: FloatArray, slopes: FloatArray, rounds: int) -> FloatArray:
    """Return the best unknowns found with slopes known from elsewhere, mended on the way."""
    values, errors = start, problem.residuals(start)
    best = (_size(problem, values, errors), values)
    for _ in range(rounds):
        if _worst_given(problem, errors) < CLOSE_ENOUGH:
            break
        step = _step(problem, values, errors, slopes)
        length = float(step @ step)
        if length < 1e-16:
            break
        values = values + step
        after = problem.residuals(values)
        slopes = slopes + np.outer(after - errors - slopes @ step, step) / length
        errors = after
        best = min(best, (_size(problem, values, errors), values), key=lambda pair: pair[0])
    return best[1]


def _best_move(
    problem: Problem, values: FloatArray, errors: FloatArray, slopes: FloatArray
) -> tuple[FloatArray, FloatArray] | None:
    """Return the values a step on that come nearer, shortened where need be, or None."""
    step = _step(problem, values, errors, slopes)
    before = _size(problem, values, errors)
    for share in (1.0, 0.4, 0.15):
        tried = values + share * step
        after = problem.residuals(tried)
        if _size(problem, tried, after) < before:
            return tried, after
    return None


def _size(problem: Problem, values: FloatArray, errors: FloatArray) -> float:
    """Return how far unknowns are from what is wanted: errors in slacks, moves in spreads."""
    off, moved = errors / problem.slack, values / problem.spread
    return float(off @ off + moved @ moved)


def _worst_given(problem: Problem, errors: FloatArray) -> float:
    given = problem.slack <= GIVEN_SLACK
    return float(np.abs(errors[given]).max()) if given.any() else 0.0


def _slopes(problem: Problem, values: FloatArray, errors: FloatArray) -> FloatArray:
    columns = []
    for place in range(len(values)):
        moved = values.copy()
        step = DIFFERENCE_STEP if values[place] < 0.5 * problem.most[place] else -DIFFERENCE_STEP
        moved[place] += step
        columns.append((problem.residuals(moved) - errors) / step)
    return np.column_stack(columns)


def _step(
    problem: Problem, values: FloatArray, errors: FloatArray, slopes: FloatArray
) -> FloatArray:
    """Return the step to the likeliest unknowns, were the errors straight in them.

    Likeliest: errors within their slacks and unknowns near zero, counted in their spreads.
    Unknowns that would pass their limits are held there and the rest take over.
    """
    free = np.ones(len(values), dtype=bool)
    target = values.copy()
    for _ in range(len(values)):
        held = np.where(free, 0.0, target)
        rest = errors - slopes @ (values - held)
        scaled = slopes * np.where(free, problem.spread, 0.0)
        square = scaled @ scaled.T + np.diag(problem.slack**2)
        found = -problem.spread * (scaled.T @ np.linalg.solve(square, rest))
        target = np.where(free, found, target)
        passed = free & ((target < problem.least) | (target > problem.most))
        target = np.clip(target, problem.least, problem.most)
        if not passed.any():
            break
        free &= ~passed
        if not free.any():
            break
    return np.clip(target - values, -STEP_MOST, STEP_MOST)
