"""What a price would be if leather, hours, a fee or the rounding were other than they are."""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from costing.breakdown import Breakdown, JobCost, cost_of, has_same_cost
from costing.errors import JobError, PriceError
from costing.job import Job, Rounding
from costing.numbers import MOST_FIGURES, exact_product
from costing.overhead import PERCENT
from costing.price import price_job, profit_at_price


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is other: its code and amount for the words, and what it does to a job."""

    code: str
    amount: Decimal
    apply: Callable[[Job], Job]


@dataclass(frozen=True, slots=True)
class WhatIf:
    """What a change comes to.

    ``price_per_pair`` is asked if everything else stays, None where nothing would be left of the
    price; ``profit_kept`` is earned if the price a pair stays as it was.
    """

    code: str
    amount: Decimal
    price_per_pair: Decimal | None
    difference: Decimal | None
    profit_kept: Decimal
    profit_difference: Decimal


def dearer_materials(percent: Decimal, places: Collection[int]) -> Change:
    """Return the change that some material lines, by their places, cost so many per cent more."""

    def apply(job: Job) -> Job:
        return replace(
            job,
            materials=tuple(
                replace(use, unit_cost=_raised(use.unit_cost, percent)) if at in places else use
                for at, use in enumerate(job.materials)
            ),
        )

    return Change("leather", percent, apply)


def more_hours(percent: Decimal) -> Change:
    """Return the change that every hands-on step takes so many per cent longer."""

    def apply(job: Job) -> Job:
        steps = tuple(
            step if step.passive else replace(step, minutes=_raised(step.minutes, percent))
            for step in job.steps
        )
        return replace(job, steps=steps)

    return Change("hours", percent, apply)


def higher_fee(points: Decimal) -> Change:
    """Return the change that the first fee is so many percentage points higher, 0 at the least."""

    def apply(job: Job) -> Job:
        percent = max(Decimal(0), job.fees.percent + points)
        return replace(job, fees=replace(job.fees, percent=percent))

    return Change("fee", points, apply)


def other_rounding(step: Decimal, rounding: Rounding) -> Change:
    """Return the change that prices are rounded in another way."""

    def apply(job: Job) -> Job:
        return replace(job, round_up_to=step, rounding=rounding)

    code = "rounding_nearest" if rounding.way == "nearest" else "rounding_up"
    return Change(code, rounding.ending or step, apply)


def _raised(value: Decimal, percent: Decimal) -> Decimal:
    factor = Decimal(PERCENT) + percent
    if factor < 0:
        raise JobError("cannot fall by more than 100 %", field="percent", code="number_too_small")
    raised = exact_product(value, factor).scaleb(-2)
    return raised if len(raised.as_tuple().digits) <= MOST_FIGURES else value


def what_if(job: Job, changes: Iterable[Change]) -> tuple[WhatIf, ...]:
    """Return what each change by itself does to the price, and to the profit at today's price.

    Raises
    ------
    PriceError
        The job as it stands has no price.
    CostError
        A change makes a value that no job may have.
    """
    cost = cost_of(job)
    now = price_job(job, cost=cost)
    rows = []
    for change in changes:
        changed = change.apply(job)
        cost_then = cost if has_same_cost(changed, job) else cost_of(changed)
        rows.append(_what_if(changed, cost_then, change, now))
    return tuple(rows)


def _what_if(changed: Job, cost: JobCost, change: Change, now: Breakdown) -> WhatIf:
    try:
        asked: Decimal | None = price_job(changed, cost=cost).price_per_pair
    except PriceError:
        asked = None
    kept = profit_at_price(changed, now.price_per_pair, cost=cost).profit
    return WhatIf(
        code=change.code,
        amount=change.amount,
        price_per_pair=asked,
        difference=None if asked is None else asked - now.price_per_pair,
        profit_kept=kept,
        profit_difference=kept - now.profit,
    )
