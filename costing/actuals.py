"""What the work really took: what it says of an estimate, and how far it may move it.

Nothing here changes an estimate by itself: each result is a proposal with its spread, to be taken
or left.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import isqrt, log2

from costing.errors import JobError
from costing.money import round_half_up
from costing.numbers import checked_number
from costing.overhead import PERCENT

# An estimate counts as much as two jobs that were timed: common practice, no source.
ESTIMATE_COUNTS_AS = 2
_SPREAD_PLACES = 2


@dataclass(frozen=True, slots=True)
class LearnedMinutes:
    """What timings propose for one step.

    Parameters
    ----------
    estimate_min : Decimal
        The minutes the estimate says.
    proposed_min : Fraction
        Estimate and timings together, exactly.
    timings : int
        How many there were.
    next_weight : Fraction
        How far the next timing will move the proposal: 1 / (estimate's count + timings + 1).
    spread_min : Decimal or None
        Standard deviation of the timings (n - 1), None for fewer than two.
    least_min, most_min : Decimal
        The shortest and the longest timing.
    """

    estimate_min: Decimal
    proposed_min: Fraction
    timings: int
    next_weight: Fraction
    spread_min: Decimal | None
    least_min: Decimal
    most_min: Decimal


def learn_minutes(
    estimate_min: Decimal, taken_min: Sequence[Decimal], *, counts_as: int = ESTIMATE_COUNTS_AS
) -> LearnedMinutes:
    """Return the minutes that an estimate and what the work took propose together.

    The first timing moves the estimate by 1 / (counts_as + 1) of the difference, the next by
    1 / (counts_as + 2), and so on: each weighs less, and all timings weigh the same in the end.

    Raises
    ------
    JobError
        No timing, a negative or infinite number of minutes, or ``counts_as`` below 1.

    Examples
    --------
    >>> learned = learn_minutes(Decimal(30), [Decimal(36), Decimal(42)])
    >>> learned.proposed_min, learned.next_weight, learned.spread_min
    (Fraction(69, 2), Fraction(1, 5), Decimal('4.24'))
    """
    checked_number(estimate_min, "minutes")
    for place, minutes in enumerate(taken_min):
        checked_number(minutes, f"taken_min[{place}]")
    if not taken_min:
        raise JobError("no work was timed yet", field="taken_min", code="no_timing")
    if counts_as < 1:
        raise JobError("must be 1 or more", field="counts_as", code="number_too_small")
    proposed = Fraction(estimate_min)
    for number, minutes in enumerate(taken_min, counts_as + 1):
        proposed += (Fraction(minutes) - proposed) / number
    return LearnedMinutes(
        estimate_min=estimate_min,
        proposed_min=proposed,
        timings=len(taken_min),
        next_weight=Fraction(1, counts_as + len(taken_min) + 1),
        spread_min=_standard_deviation(taken_min),
        least_min=min(taken_min),
        most_min=max(taken_min),
    )


def _standard_deviation(values: Sequence[Decimal]) -> Decimal | None:
    if len(values) < 2:
        return None
    exact = [Fraction(value) for value in values]
    mean = sum(exact, Fraction(0)) / len(exact)
    variance = sum(((value - mean) ** 2 for value in exact), Fraction(0)) / (len(exact) - 1)
    # The root of a fraction by whole numbers: no binary float takes part.
    digits = _SPREAD_PLACES + 4
    root = _whole_root(variance * 10 ** (2 * digits))
    return round_half_up(Fraction(root, 10**digits), _SPREAD_PLACES)


def _whole_root(value: Fraction) -> int:
    return isqrt(int(value))


@dataclass(frozen=True, slots=True)
class Compared:
    """One line of an estimate beside what it took; ``percent`` is None of an estimate of 0."""

    name: str
    estimated: Decimal
    taken: Decimal
    difference: Decimal
    percent: Decimal | None


def compare_lines(rows: Sequence[tuple[str, Decimal, Decimal]]) -> tuple[Compared, ...]:
    """Return each line's difference, taken minus estimated; the differences add up.

    >>> compare_lines([("sewing", Decimal(100), Decimal(112))])[0].percent
    Decimal('12.0')
    """
    return tuple(
        Compared(
            name,
            estimated,
            taken,
            taken - estimated,
            round_half_up((Fraction(taken) / Fraction(estimated) - 1) * PERCENT, 1)
            if estimated
            else None,
        )
        for name, estimated, taken in rows
    )


def cumulative_average(first: float, rate: float, count: float) -> float:
    """Return the average for each of so many alike, when each doubling makes it `rate` times.

    Notes
    -----
    y = a x^b with b = log2(rate), the cumulative average model, not the unit time model.

    Examples
    --------
    >>> round(cumulative_average(50.0, 0.8, 4), 6)
    32.0
    """
    _check_rate(rate)
    return float(first * count ** log2(rate))


def learning_rate(first: float, average: float, count: float) -> float:
    """Return the rate at which the average of `count` alike came down from the first one's.

    >>> round(learning_rate(12.5, 34.3 / 8, 8), 6)
    0.7
    """
    if not (first > 0.0 and average > 0.0 and count > 1.0):
        raise JobError(
            "first and average must be above 0, and there must be more than one",
            field="count",
            code="learning_range",
        )
    return float((average / first) ** (1.0 / log2(count)))


def second_less_percent(rate: Decimal) -> Fraction:
    """Return how much less than the first the second takes at a learning rate, in per cent.

    >>> second_less_percent(Decimal("0.9"))
    Fraction(20, 1)
    """
    _check_rate(float(rate))
    return (2 - 2 * Fraction(rate)) * PERCENT


def _check_rate(rate: float) -> None:
    if not 0.5 <= rate <= 1.0:
        raise JobError("must be from 0.5 to 1", field="rate", code="learning_rate_range")
