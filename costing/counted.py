"""A job counted back: the estimate beside what it took, line by line, and the profit it earned."""

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from costing.breakdown import Breakdown, Group, material_cost
from costing.errors import JobError
from costing.job import Job
from costing.labour import WorkStep, step_minutes
from costing.money import round_half_up, to_minor_unit
from costing.numbers import checked_number
from costing.overhead import MINUTES_PER_HOUR, overhead_amount

MINUTES_PLACES = 2
TIMING_PLACES = 6  # of the minutes a timing says for one eyelet or one mm


@dataclass(frozen=True, slots=True)
class CountedLine:
    """One line of the cost, as estimated and as it came about.

    ``is_counted`` is False where nothing was written down of it: the estimate then stands in for
    what it took. Minutes are given for labour alone.
    """

    group: Group
    name: str
    estimated: Decimal
    taken: Decimal
    is_counted: bool
    estimated_min: Decimal | None = None
    taken_min: Decimal | None = None

    @property
    def difference(self) -> Decimal:
        """Return how much more than estimated it came to."""
        return self.taken - self.estimated


@dataclass(frozen=True, slots=True)
class Waited:
    """A passive step: minutes of drying or baking as estimated, and as timed or None."""

    name: str
    estimated_min: Decimal
    taken_min: Decimal | None


@dataclass(frozen=True, slots=True)
class Came:
    """What really came of a job, as far as it is written down; None stands for as agreed.

    ``price`` and ``tax`` are as billed, ``fees`` what was kept of the payments, ``postage`` what
    parcels really cost by the name of the line.
    """

    price: Decimal | None = None
    tax: Decimal | None = None
    fees: Decimal | None = None
    postage: Mapping[str, Decimal] | None = None


@dataclass(frozen=True, slots=True)
class CountedBack:
    """What a job took and earned; amounts at the currency's minor unit, sums of shown lines.

    ``price``, ``tax`` and ``fees`` are what really came where it is known, else as agreed;
    ``profit`` is that price less tax, fees and what it really took, ``profit_estimated`` what the
    price was made for.
    """

    currency: str
    lines: tuple[CountedLine, ...]
    waited: tuple[Waited, ...]
    cost_estimated: Decimal
    cost: Decimal
    price_agreed: Decimal
    price: Decimal
    tax_agreed: Decimal
    tax: Decimal
    fees_estimated: Decimal
    fees: Decimal
    profit_estimated: Decimal
    profit: Decimal
    active_min_estimated: Decimal
    active_min: Decimal

    @property
    def is_complete(self) -> bool:
        """Return whether every line was counted."""
        return all(line.is_counted for line in self.lines if line.group in ("material", "labour"))

    @property
    def cost_difference(self) -> Decimal:
        """Return how much more than estimated it cost."""
        return self.cost - self.cost_estimated

    @property
    def fees_difference(self) -> Decimal:
        """Return how much more than estimated was kept as fees."""
        return self.fees - self.fees_estimated

    @property
    def profit_difference(self) -> Decimal:
        """Return how much more than planned it earned."""
        return self.profit - self.profit_estimated

    def sum_of(self, group: Group) -> Decimal:
        """Return what the lines of a group took."""
        return sum((line.taken for line in self.lines if line.group == group), Decimal(0))


def count_back(
    job: Job,
    estimate: Breakdown,
    *,
    minutes: Mapping[str, Decimal],
    waiting_min: Mapping[str, Decimal],
    material: Mapping[str, Fraction],
    came: Came | None = None,
) -> CountedBack:
    """Return a job's estimate beside what it took.

    Parameters
    ----------
    job : Job
        What was priced; its labour and overhead rates are used for what it took as well.
    estimate : Breakdown
        The price that was accepted.
    minutes, waiting_min : mapping
        What was timed in all of each step of work, and of each passive step, by its name; a step
        that is not there was not timed.
    material : mapping
        What the goods really used cost, exactly, by the name of their line; a line that is not
        there was not booked.
    came : Came, optional
        What was billed, kept as fees and paid for parcels.

    Raises
    ------
    JobError
        Negative or infinite minutes or cost; ``field`` names the step or the line.
    """
    came = came or Came()
    for name, value in (*minutes.items(), *waiting_min.items()):
        checked_number(value, f"minutes.{name}")
    if any(cost < 0 for cost in material.values()):
        raise JobError("must be 0 or more", field="material", code="number_too_small")
    of_steps = planned_minutes(job)
    planned = _planned(of_steps, passive=False)
    exact_min = {
        name: Fraction(minutes.get(name, planned.get(name, 0))) for name in {**planned, **minutes}
    }
    exact_material = {**_exact_material(job), **material}
    labour = {name: _labour_cost(job, taken) for name, taken in exact_min.items()}
    active_min = sum(exact_min.values(), Fraction(0))
    direct = sum((*exact_material.values(), *labour.values()), Fraction(0))
    lines = [
        *_lines(estimate, "material", exact_material, counted=material),
        *_labour_lines(estimate, labour, planned, exact_min, counted=minutes),
        *_overhead_lines(job, estimate, overhead_amount(job.overhead, active_min, direct)),
        *_postage_lines(estimate, came.postage or {}),
    ]
    cost = sum((line.taken for line in lines), Decimal(0))
    price, tax = _or(came.price, estimate.price), _or(came.tax, estimate.tax)
    fees = _or(came.fees, estimate.fees)
    return CountedBack(
        currency=job.currency,
        lines=tuple(lines),
        waited=_waited(_planned(of_steps, passive=True), waiting_min),
        cost_estimated=estimate.cost,
        cost=cost,
        price_agreed=estimate.price,
        price=price,
        tax_agreed=estimate.tax,
        tax=tax,
        fees_estimated=estimate.fees,
        fees=fees,
        profit_estimated=estimate.profit,
        profit=price - tax - fees - cost,
        active_min_estimated=_shown_minutes(sum(planned.values(), Fraction(0))),
        active_min=_shown_minutes(active_min),
    )


@lru_cache(maxsize=1_000)  # reports ask again and again for the same jobs
def planned_minutes(job: Job) -> Mapping[tuple[str, bool], Fraction]:
    """Return the minutes a job plans for each step, by its name and whether it is passive."""
    planned: dict[tuple[str, bool], Fraction] = {}
    for step in job.steps:
        key = (step.name, step.passive)
        planned[key] = planned.get(key, Fraction(0)) + _step_minutes(job, step)
    return MappingProxyType(planned)


def minutes_by_timing(
    rule_min: Decimal, *, planned_min: Fraction, taken_min: Decimal
) -> Decimal | None:
    """Return the minutes of a step's rule that would have foretold a timing.

    A rule of 2 minutes for 100 mm that planned 30 minutes, and took 36, should have been 2.4. None
    where the plan was no minutes at all, as it then says nothing of how often the step is done.

    >>> minutes_by_timing(Decimal(2), planned_min=Fraction(30), taken_min=Decimal(36))
    Decimal('2.400000')
    """
    if not planned_min or not rule_min:
        return None
    return round_half_up(Fraction(rule_min) * Fraction(taken_min) / planned_min, TIMING_PLACES)


def _step_minutes(job: Job, step: WorkStep) -> Fraction:
    return step_minutes(step, job.pair_count, job.batch_pairs)


def _planned(minutes: Mapping[tuple[str, bool], Fraction], *, passive: bool) -> dict[str, Fraction]:
    return {name: at for (name, is_passive), at in minutes.items() if is_passive is passive}


def _amounts(estimate: Breakdown, group: Group) -> dict[str, Decimal]:
    """Return the amounts of a group's lines by name; two of one name are one."""
    amounts: dict[str, Decimal] = {}
    for line in estimate.lines:
        if line.group == group:
            amounts[line.name] = amounts.get(line.name, Decimal(0)) + line.amount
    return amounts


def _exact_material(job: Job) -> dict[str, Fraction]:
    exact: dict[str, Fraction] = {}
    for use in job.materials:
        exact[use.name] = exact.get(use.name, Fraction(0)) + material_cost(job, use)
    return exact


def _labour_cost(job: Job, minutes: Fraction) -> Fraction:
    return minutes / MINUTES_PER_HOUR * Fraction(job.labour_rate_per_h)


def _lines(
    estimate: Breakdown, group: Group, exact: Mapping[str, Fraction], *, counted: Container[str]
) -> Iterable[CountedLine]:
    """Return a group's lines; what was not counted keeps the very amount of the estimate."""
    amounts = _amounts(estimate, group)
    for name, cost in exact.items():
        estimated = amounts.get(name, to_minor_unit(Decimal(0), estimate.currency))
        is_counted = name in counted
        taken = to_minor_unit(cost, estimate.currency) if is_counted else estimated
        yield CountedLine(group, name, estimated, taken, is_counted)


def _labour_lines(
    estimate: Breakdown,
    labour: Mapping[str, Fraction],
    planned: Mapping[str, Fraction],
    exact_min: Mapping[str, Fraction],
    *,
    counted: Container[str],
) -> Iterable[CountedLine]:
    for line in _lines(estimate, "labour", labour, counted=counted):
        yield replace(
            line,
            estimated_min=_shown_minutes(planned.get(line.name, Fraction(0))),
            taken_min=_shown_minutes(exact_min[line.name]),
        )


def _overhead_lines(job: Job, estimate: Breakdown, exact: Fraction) -> Iterable[CountedLine]:
    for name, estimated in _amounts(estimate, "overhead").items():
        taken = to_minor_unit(exact, job.currency)
        yield CountedLine("overhead", name, estimated, taken, is_counted=True)


def _postage_lines(estimate: Breakdown, paid: Mapping[str, Decimal]) -> Iterable[CountedLine]:
    """Return postage and packing; what is not written down stays as it was quoted."""
    quoted = _amounts(estimate, "postage")
    zero = to_minor_unit(Decimal(0), estimate.currency)
    for name in {**quoted, **paid}:
        estimated = quoted.get(name, zero)
        taken = to_minor_unit(paid[name], estimate.currency) if name in paid else estimated
        yield CountedLine("postage", name, estimated, taken, is_counted=True)


def _or(known: Decimal | None, agreed: Decimal) -> Decimal:
    return agreed if known is None else known


def _waited(
    planned: Mapping[str, Fraction], waiting_min: Mapping[str, Decimal]
) -> tuple[Waited, ...]:
    return tuple(
        Waited(name, _shown_minutes(planned.get(name, Fraction(0))), waiting_min.get(name))
        for name in {**planned, **waiting_min}
    )


def _shown_minutes(minutes: Fraction) -> Decimal:
    return round_half_up(minutes, MINUTES_PLACES)
