"""The lines a price is made of, and what a price leaves; shown amounts always add up."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from costing.how import How, pair_word
from costing.job import Job, MaterialUse
from costing.labour import WorkStep, step_cost, step_minutes
from costing.money import to_minor_unit
from costing.numbers import shown, trimmed, typed
from costing.overhead import PERCENT, overhead_amount

Group = Literal["material", "labour", "overhead", "postage"]
TotalCode = Literal[
    "cost",
    "cost_per_pair",
    "price_per_pair",
    "price",
    "price_without_tax",
    "tax",
    "fees",
    "profit",
]
ExtraCode = Literal["rush", "postage"]  # shown only where there is one


@dataclass(frozen=True, slots=True)
class PricedLine:
    """One line of the cost: its amount for the whole order and how that came about."""

    group: Group
    name: str
    amount: Decimal
    how_parts: How

    @property
    def how(self) -> str:
        """Return the English sentence of the formula with its numbers."""
        return self.how_parts.text


@dataclass(frozen=True, slots=True)
class Total:
    """One of the sums below the lines, with how it came about."""

    code: TotalCode | ExtraCode
    amount: Decimal
    how_parts: How

    @property
    def how(self) -> str:
        """Return the English sentence of the formula with its numbers."""
        return self.how_parts.text


@dataclass(frozen=True, slots=True)
class FeeLine:
    """One fee by its name, empty for the only one, and what it takes of the order."""

    name: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Breakdown:
    """The price of an order with everything behind it.

    Amounts are for the whole order unless their name says ``per_pair``; all are `Decimal` at the
    currency's minor unit. ``price`` is what the customer pays in all: the pairs, ``rush`` and
    ``postage``, and the tax. ``fees`` is the sum of ``fee_lines``. The two percentages have two
    places and are None where there is no price, or no cost, to take them of.
    """

    currency: str
    pair_count: int
    lines: tuple[PricedLine, ...]
    totals: tuple[Total, ...]
    cost: Decimal
    cost_per_pair: Decimal
    price_per_pair: Decimal
    price: Decimal
    price_without_tax: Decimal
    tax: Decimal
    fees: Decimal
    profit: Decimal
    profit_percent_of_price: Decimal | None
    profit_percent_of_cost: Decimal | None
    active_min: Decimal
    passive_min: Decimal
    rush: Decimal = Decimal(0)
    postage: Decimal = Decimal(0)
    fee_lines: tuple[FeeLine, ...] = ()


@dataclass(frozen=True, slots=True)
class JobCost:
    """The lines of a job, their sum, that of the pairs alone, and the minutes in it."""

    lines: tuple[PricedLine, ...]
    cost: Fraction
    making_cost: Fraction
    active_min: Fraction
    passive_min: Fraction


_COST_FIELDS = (
    "currency",
    "pair_count",
    "materials",
    "steps",
    "labour_rate_per_h",
    "overhead",
    "postage",
    "batch_pairs",
)


def cost_of(job: Job) -> JobCost:
    """Return a job's cost lines, each rounded half up, and the sum of the lines as shown.

    Overhead is worked out from the exact amounts and is always one line, even when it is zero.
    """
    active_steps = [step for step in job.steps if not step.passive]
    active_min = _minutes(job, passive=False)
    direct = sum((material_cost(job, use) for use in job.materials), Fraction(0)) + sum(
        (
            step_cost(step, job.pair_count, job.labour_rate_per_h, job.batch_pairs)
            for step in active_steps
        ),
        Fraction(0),
    )
    making = (
        *(_material_line(job, use) for use in job.materials),
        *(_labour_line(job, step) for step in active_steps),
        _overhead_line(job, active_min, direct),
    )
    making_cost = sum((Fraction(line.amount) for line in making), Fraction(0))
    return JobCost(
        lines=(*making, *_postage_lines(job)),
        cost=making_cost + job.postage.cost,
        making_cost=making_cost,
        active_min=active_min,
        passive_min=_minutes(job, passive=True),
    )


def has_same_cost(job: Job, other: Job) -> bool:
    """Return whether two jobs share every value that `cost_of` reads.

    False for values that are equal without being the same ones, as they may be written otherwise.
    """
    return all(getattr(job, name) is getattr(other, name) for name in _COST_FIELDS)


def _minutes(job: Job, *, passive: bool) -> Fraction:
    steps = (step for step in job.steps if step.passive == passive)
    return sum((step_minutes(step, job.pair_count, job.batch_pairs) for step in steps), Fraction(0))


def _material_taken(job: Job, use: MaterialUse) -> Fraction:
    kept_share = 1 - Fraction(use.waste_percent) / PERCENT
    return Fraction(use.quantity) * job.pair_count / kept_share


def material_cost(job: Job, use: MaterialUse) -> Fraction:
    """Return what a material costs for the whole order, waste included, exactly."""
    return _material_taken(job, use) * Fraction(use.unit_cost)


def _material_line(job: Job, use: MaterialUse) -> PricedLine:
    amount = to_minor_unit(material_cost(job, use), job.currency)
    how = How(
        "material" if use.waste_percent else "material_no_waste",
        {
            "quantity": trimmed(use.quantity),
            "unit": use.unit,
            "pairs": str(job.pair_count),
            "pair_word": pair_word(job.pair_count),
            "waste": trimmed(use.waste_percent),
            "taken": shown(_material_taken(job, use)),
            "unit_cost": typed(use.unit_cost),
            "amount": typed(amount),
        },
    )
    return PricedLine("material", use.name, amount, how)


def _labour_line(job: Job, step: WorkStep) -> PricedLine:
    exact = step_cost(step, job.pair_count, job.labour_rate_per_h, job.batch_pairs)
    amount = to_minor_unit(exact, job.currency)
    falls = step.per == "pair" and step.less_again_percent and job.pair_count > 1
    how = How(
        "labour_pair_again" if falls else f"labour_{step.per}",
        {
            "less": trimmed(step.less_again_percent),
            "batch": str(job.batch_pairs or job.pair_count),
            "minutes": trimmed(step.minutes),
            "pairs": str(job.pair_count),
            "pair_word": pair_word(job.pair_count),
            "total": shown(step_minutes(step, job.pair_count, job.batch_pairs)),
            "rate": typed(job.labour_rate_per_h),
            "amount": typed(amount),
        },
    )
    return PricedLine("labour", step.name, amount, how)


def _overhead_line(job: Job, active_min: Fraction, direct: Fraction) -> PricedLine:
    amount = to_minor_unit(overhead_amount(job.overhead, active_min, direct), job.currency)
    how = How(
        "overhead",
        {
            "minutes": shown(active_min),
            "rate": typed(job.overhead.per_active_hour),
            "percent": trimmed(job.overhead.percent_of_direct),
            "direct": shown(direct),
            "amount": typed(amount),
        },
    )
    return PricedLine("overhead", "overhead", amount, how)


def _postage_lines(job: Job) -> tuple[PricedLine, ...]:
    paid = {"postage": job.postage.paid, "packing": job.postage.packing}
    amounts = {name: to_minor_unit(amount, job.currency) for name, amount in paid.items() if amount}
    return tuple(
        PricedLine("postage", name, amount, How("postage_paid", {"amount": typed(amount)}))
        for name, amount in amounts.items()
    )
