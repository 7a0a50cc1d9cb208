"""The job to be priced: materials, steps of work, rates, fees, tax and profit."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, get_args

from costing.errors import JobError
from costing.labour import WorkStep, checked_name, checked_text
from costing.money import minor_unit
from costing.numbers import LARGEST_NUMBER, checked_number
from costing.overhead import PERCENT, OverheadRates

FeeBase = Literal["price_with_tax", "price_without_tax"]
ProfitKind = Literal["margin", "markup"]
MOST_LINES = 1_000


@dataclass(frozen=True, slots=True)
class MaterialUse:
    """What one pair takes of a material.

    Parameters
    ----------
    name, unit : str
        What it is, and what ``quantity`` counts (dm2, m, g, piece).
    quantity : Decimal
        Net quantity for one pair.
    unit_cost : Decimal
        Money for one unit.
    waste_percent : Decimal
        Wasted share of what is taken, below 100: taken = net / (1 - waste).
    """

    name: str
    quantity: Decimal
    unit: str
    unit_cost: Decimal
    waste_percent: Decimal

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.quantity, "quantity")
        checked_text(self.unit, "unit")
        checked_number(self.unit_cost, "unit_cost")
        checked_number(self.waste_percent, "waste_pct", below=Decimal(PERCENT))


@dataclass(frozen=True, slots=True)
class Fees:
    """What a place of sale or a way of payment keeps: a percentage of a price and a fixed sum.

    ``fixed`` is taken once an order.
    """

    percent: Decimal
    fixed: Decimal
    on: FeeBase

    def __post_init__(self) -> None:
        checked_number(self.percent, "pct")
        checked_number(self.fixed, "fixed")
        if self.on not in get_args(FeeBase):
            raise JobError(
                'must be "price_with_tax" or "price_without_tax"', field="on", code="base_unknown"
            )


@dataclass(frozen=True, slots=True)
class Tax:
    """The tax on the sale, and whether the price a pair is said with it or without."""

    percent: Decimal
    included: bool

    def __post_init__(self) -> None:
        checked_number(self.percent, "pct")
        if not isinstance(self.included, bool):
            raise JobError("must be true or false", field="included", code="not_true_or_false")


@dataclass(frozen=True, slots=True)
class Profit:
    """The profit asked: a percentage of the price without tax, or on cost.

    ``kind`` is ``"margin"`` for profit as a part of the price, ``"markup"`` for profit on cost.
    """

    kind: ProfitKind
    percent: Decimal

    def __post_init__(self) -> None:
        if self.kind not in get_args(ProfitKind):
            raise JobError(
                'must be "margin" (a part of the price) or "markup" (on cost)',
                field="kind",
                code="profit_kind_unknown",
            )
        checked_number(self.percent, "pct")


@dataclass(frozen=True, slots=True)
class Job:
    """Everything the price of an order depends on.

    Parameters
    ----------
    currency : str
        ISO 4217 code.
    pair_count : int
        Pairs in the order, 1 or more.
    materials, steps : tuple
        What one pair takes; the work for the order and for each pair.
    labour_rate_per_h : Decimal
        Money for an hour of active work.
    overhead, fees, tax, profit
        The rates.
    round_up_to : Decimal
        The price a pair goes up to a multiple of this, itself a multiple of the minor unit.

    Raises
    ------
    JobError, CurrencyError
        A value is out of its range; ``field`` is its name in the job file.
    """

    currency: str
    pair_count: int
    materials: tuple[MaterialUse, ...]
    steps: tuple[WorkStep, ...]
    labour_rate_per_h: Decimal
    overhead: OverheadRates
    fees: Fees
    tax: Tax
    profit: Profit
    round_up_to: Decimal

    def __post_init__(self) -> None:
        unit = minor_unit(self.currency)
        _checked_pair_count(self.pair_count)
        for field, lines in (("materials", self.materials), ("steps", self.steps)):
            if len(lines) > MOST_LINES:
                raise JobError(
                    f"has {len(lines)} lines; at most {MOST_LINES}",
                    field=field,
                    code="too_many_lines",
                    most=MOST_LINES,
                )
        checked_number(self.labour_rate_per_h, "labour_rate_per_hour")
        checked_number(self.round_up_to, "round_up_to", above_zero=True)
        if Fraction(self.round_up_to) % unit:
            raise JobError(
                f"{self.round_up_to:f} is not a multiple of the smallest amount of"
                f" {self.currency}, {float(unit):g}",
                field="round_up_to",
                code="not_a_multiple",
                currency=self.currency,
            )


def _checked_pair_count(pair_count: int) -> None:
    whole = isinstance(pair_count, int) and not isinstance(pair_count, bool)
    if not whole or not 1 <= pair_count <= LARGEST_NUMBER:
        raise JobError(
            f"must be a whole number of pairs from 1 to {LARGEST_NUMBER}",
            field="quantity",
            code="pair_count_range",
            most=LARGEST_NUMBER,
        )
