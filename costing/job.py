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
RoundingWay = Literal["up", "nearest"]
MOST_LINES = 1_000
MOST_FEES = 20
MOST_PAYMENTS = 100


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

    ``fixed`` is taken with each of ``payments``, once an order if it is paid at once. The
    percentage falls on postage too where ``on_postage`` says so.
    """

    percent: Decimal
    fixed: Decimal
    on: FeeBase
    payments: int = 1
    on_postage: bool = False
    name: str = ""

    @property
    def fixed_in_all(self) -> Fraction:
        """Return the fixed part of all payments together."""
        return Fraction(self.fixed) * self.payments

    def __post_init__(self) -> None:
        _checked_count(self.payments, "payments", MOST_PAYMENTS)
        _checked_truth(self.on_postage, "on_postage")
        checked_text(self.name, "name")
        checked_number(self.percent, "pct")
        checked_number(self.fixed, "fixed")
        if self.on not in get_args(FeeBase):
            raise JobError(
                'must be "price_with_tax" or "price_without_tax"', field="on", code="base_unknown"
            )


@dataclass(frozen=True, slots=True)
class Tax:
    """The tax on the sale, and whether the price a pair is said with it or without.

    A workshop that is not registered charges none, so its percentage is 0. ``on_postage`` says
    whether postage is taxed as the goods are; look up the local law.
    """

    percent: Decimal
    included: bool
    registered: bool = True
    on_postage: bool = True

    def __post_init__(self) -> None:
        checked_number(self.percent, "pct")
        _checked_truth(self.included, "included")
        _checked_truth(self.registered, "registered")
        _checked_truth(self.on_postage, "on_postage")
        if self.percent and not self.registered:
            raise JobError(
                f"a workshop that is not registered charges no tax; set it to 0, not"
                f" {self.percent:f}",
                field="pct",
                code="tax_not_registered",
            )


@dataclass(frozen=True, slots=True)
class Rounding:
    """Which prices a pair may have besides the multiples of ``round_up_to``.

    Parameters
    ----------
    way : {"up", "nearest"}
        Up to the next price, or to the nearest (halves up).
    ending : Decimal
        Added to each multiple, below the multiple itself: 0.90 with multiples of 1 gives prices
        such as 148.90.
    """

    way: RoundingWay = "up"
    ending: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        if self.way not in get_args(RoundingWay):
            raise JobError('must be "up" or "nearest"', field="round_way", code="way_unknown")
        checked_number(self.ending, "round_ending")


@dataclass(frozen=True, slots=True)
class Rush:
    """What is asked more for work that goes first: per cent of the price, and a fixed sum.

    Both are said as the price a pair is, with tax or without.
    """

    percent: Decimal = Decimal(0)
    fixed: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        checked_number(self.percent, "pct")
        checked_number(self.fixed, "fixed")


@dataclass(frozen=True, slots=True)
class Postage:
    """Postage and packing of an order: what the customer pays, and what it costs the workshop.

    ``charged`` is said as the price a pair is, with tax or without. ``paid`` and ``packing`` are
    lines of the cost.
    """

    charged: Decimal = Decimal(0)
    paid: Decimal = Decimal(0)
    packing: Decimal = Decimal(0)

    @property
    def cost(self) -> Fraction:
        """Return what postage and packing cost the workshop."""
        return Fraction(self.paid) + Fraction(self.packing)

    def __post_init__(self) -> None:
        checked_number(self.charged, "charged")
        checked_number(self.paid, "paid")
        checked_number(self.packing, "packing")


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
    rounding : Rounding
        An ending after the multiple, and whether the nearest price is taken instead.
    least_price : Decimal
        The workshop's own least price of a pair; no price is worked out below it.
    more_fees : tuple of Fees
        What is kept besides ``fees``, such as a payment service's part.
    rush, postage
        What the customer pays besides the pairs.
    batch_pairs : int or None
        Pairs made together, among which setting up is shared; None for the order alone.

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
    rounding: Rounding = Rounding()
    least_price: Decimal = Decimal(0)
    more_fees: tuple[Fees, ...] = ()
    rush: Rush = Rush()
    postage: Postage = Postage()
    batch_pairs: int | None = None

    @property
    def all_fees(self) -> tuple[Fees, ...]:
        """Return every fee, the first one first."""
        return (self.fees, *self.more_fees)

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
        self._check_extras(unit)

    def _check_extras(self, unit: Fraction) -> None:
        checked_number(self.least_price, "least_price")
        ending = self.rounding.ending
        if ending >= self.round_up_to:
            raise JobError(
                f"must be below {self.round_up_to:f}, what prices are rounded to, not {ending:f}",
                field="round_ending",
                code="ending_too_large",
            )
        money = {
            "round_ending": ending,
            "least_price": self.least_price,
            "rush.fixed": self.rush.fixed,
            "postage.charged": self.postage.charged,
            "postage.paid": self.postage.paid,
            "postage.packing": self.postage.packing,
        }
        for field, amount in money.items():
            if Fraction(amount) % unit:
                raise JobError(
                    f"{amount:f} is finer than the smallest amount of {self.currency}",
                    field=field,
                    code="not_a_multiple",
                    currency=self.currency,
                )
        if len(self.more_fees) > MOST_FEES:
            raise JobError(
                f"has {len(self.more_fees)} fees; at most {MOST_FEES}",
                field="more_fees",
                code="too_many_lines",
                most=MOST_FEES,
            )
        if self.batch_pairs is not None:
            _checked_count(self.batch_pairs, "batch_pairs", int(LARGEST_NUMBER))
            if self.batch_pairs < self.pair_count:
                raise JobError(
                    f"a batch of {self.batch_pairs} cannot hold the {self.pair_count} pairs of the"
                    " order",
                    field="batch_pairs",
                    code="batch_too_small",
                )


def _checked_truth(value: bool, field: str) -> None:
    if not isinstance(value, bool):
        raise JobError("must be true or false", field=field, code="not_true_or_false")


def _checked_count(value: int, field: str, most: int) -> None:
    whole = isinstance(value, int) and not isinstance(value, bool)
    if not whole or not 1 <= value <= most:
        raise JobError(
            f"must be a whole number from 1 to {most}", field=field, code="count_range", most=most
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
