"""Shape numbers turned until measures come out as asked: Newton steps of the smallest move."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from patterns.last.leg import Leg, leg_of
from patterns.last.measuring import GridTape, foot_measures
from patterns.last.shape import COARSE, FINE, Fineness, shape_of
from patterns.last.shape_numbers import LEAST, MOST, SPREAD, ShapeNumbers
from patterns.last.wanted import Wanted

FloatArray = npt.NDArray[np.float64]
Residuals = Callable[[FloatArray], FloatArray]

# The measures that the shape numbers are turned for; all others are set outright.
FITTED = ("ball_width", "ball_girth", "heel_width", "instep_girth", "heel_instep_girth")
INFERRED_WEIGHT = 0.1  # an inferred measure yields to a given one it cannot go with
CLOSE_ENOUGH = 2e-5  # relative, on the final grid; ten times closer than is asked
DIFFERENCE_STEP = 2e-3
STEP_MOST = 0.35  # of a shape number in one step
COARSE_ROUNDS, FINE_ROUNDS = 8, 10
DAMPING = 1e-5


@dataclass(frozen=True)
class Problem:
    """What to bring to zero, and how far each unknown may go.

    Parameters
    ----------
    residuals : callable
        Relative errors of the measures at given unknowns.
    weights : array, one for each residual
        Where not all can be met, one with a small weight yields.
    spread, least, most : arrays, one for each unknown
        How readily it moves, and its limits.
    """

    residuals: Residuals
    weights: FloatArray
    spread: FloatArray
    least: FloatArray
    most: FloatArray


def fit_numbers(wanted: Wanted) -> ShapeNumbers:
    """Return the shape numbers whose last has the measures asked for, or comes nearest.

    First on a coarse grid with slopes taken anew at every step, then on the final grid with
    those slopes, corrected by what each step turns out to do.
    """
    leg = leg_of(wanted)
    weights = np.array([INFERRED_WEIGHT if key in wanted.inferred else 1.0 for key in FITTED])

    def problem(fineness: Fineness) -> Problem:
        def residuals(values: FloatArray) -> FloatArray:
            return _errors(wanted, leg, ShapeNumbers.from_array(values), fineness)

        return Problem(residuals, weights, SPREAD, LEAST, MOST)

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
        values, errors = moved
        if np.abs(errors).max() < 20.0 * CLOSE_ENOUGH:
            break
    return values, slopes


def solve_on(problem: Problem, start: FloatArray, slopes: FloatArray, rounds: int) -> FloatArray:
    """Return the best unknowns found with slopes known from elsewhere, mended on the way."""
    values, errors = start, problem.residuals(start)
    best = (_size(problem, errors), values)
    for _ in range(rounds):
        if np.abs(errors).max() < CLOSE_ENOUGH:
            break
        step = _step(problem, values, errors, slopes)
        length = float(step @ step)
        if length < 1e-16:
            break
        values = values + step
        after = problem.residuals(values)
        slopes = slopes + np.outer(after - errors - slopes @ step, step) / length
        errors = after
        best = min(best, (_size(problem, errors), values), key=lambda pair: pair[0])
    return best[1]


def _best_move(
    problem: Problem, values: FloatArray, errors: FloatArray, slopes: FloatArray
) -> tuple[FloatArray, FloatArray] | None:
    """Return the values a step on that come nearer, shortened where need be, or None."""
    step = _step(problem, values, errors, slopes)
    before = _size(problem, errors)
    for share in (1.0, 0.4, 0.15):
        tried = values + share * step
        after = problem.residuals(tried)
        if _size(problem, after) < before:
            return tried, after
    return None


def _size(problem: Problem, errors: FloatArray) -> float:
    weighted = problem.weights * errors
    return float(weighted @ weighted)


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
    """Return the smallest step, counted in spreads, that brings the errors to zero.

    Unknowns that would pass their limits are held there and the rest take over.
    """
    free = np.ones(len(values), dtype=bool)
    step = np.zeros(len(values))
    for _ in range(len(values)):
        rest = errors + slopes @ np.where(free, 0.0, step)
        scaled = problem.weights[:, None] * slopes * np.where(free, problem.spread, 0.0)
        square = scaled @ scaled.T
        square += DAMPING * np.trace(square) * np.eye(len(errors)) / len(errors)
        found = -problem.spread * (scaled.T @ np.linalg.solve(square, problem.weights * rest))
        step = np.where(free, found, step)
        low, high = problem.least - values, problem.most - values
        passed = free & ((step < low) | (step > high))
        step = np.clip(step, low, high)
        if not passed.any():
            break
        free &= ~passed
        if not free.any():
            break
    return np.clip(step, -STEP_MOST, STEP_MOST)
