"""What goods taken from stock cost: first in first out, moving average, or each lot's own cost.

Things that can stand for each other (eyelets, thread) take first in first out or an average;
things that cannot (each hide) take their own cost (IAS 2, paragraphs 23-25). Everything is exact;
round what is shown with `costing.money.to_minor_unit`.
"""

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, get_args

from costing.errors import StockCostError
from costing.labour import checked_name
from costing.money import currency_digits, minor_unit, round_half_up
from costing.numbers import checked_number

CostWay = Literal["fifo", "average"]


@dataclass(frozen=True, slots=True)
class Receipt:
    """Goods that came in together at one unit cost."""

    lot: str
    quantity: Decimal
    unit_cost: Decimal

    def __post_init__(self) -> None:
        checked_name(self.lot, "lot")
        checked_number(self.quantity, "quantity", above_zero=True)
        checked_number(self.unit_cost, "unit_cost")


@dataclass(frozen=True, slots=True)
class Issue:
    """Goods taken out; ``from_lots`` says how much of which lot, where that is known."""

    quantity: Decimal
    from_lots: Mapping[str, Decimal] | None = None

    def __post_init__(self) -> None:
        checked_number(self.quantity, "quantity", above_zero=True)
        if self.from_lots is None:
            return
        for lot, quantity in self.from_lots.items():
            checked_number(quantity, f"from_lots.{lot}", above_zero=True)
        if sum(map(Fraction, self.from_lots.values())) != Fraction(self.quantity):
            raise StockCostError(
                f"the lots named do not add up to the {self.quantity:f} taken",
                field="from_lots",
                code="lots_do_not_add_up",
            )


@dataclass(frozen=True, slots=True)
class StockCost:
    """What was taken cost, what is left is worth, and how much is left; all exact."""

    issued_cost: Fraction
    stock_value: Fraction
    on_hand: Fraction


def fifo_cost(moves: Iterable[Receipt | Issue]) -> StockCost:
    """Return the cost of what was taken when the oldest goods go out first.

    Parameters
    ----------
    moves : iterable of Receipt or Issue
        In the order in which they happened.

    Raises
    ------
    StockCostError
        More is taken than there is.
    """
    lots: deque[tuple[Fraction, Fraction]] = deque()
    issued_cost = Fraction(0)
    for move in moves:
        if isinstance(move, Receipt):
            lots.append((Fraction(move.quantity), Fraction(move.unit_cost)))
        else:
            issued_cost += _take_oldest(lots, Fraction(move.quantity))
    return StockCost(
        issued_cost,
        stock_value=sum((quantity * cost for quantity, cost in lots), Fraction(0)),
        on_hand=sum((quantity for quantity, _cost in lots), Fraction(0)),
    )


def moving_average_cost(moves: Iterable[Receipt | Issue]) -> StockCost:
    """Return the cost of what was taken at the average cost of the stock at that time.

    Raises
    ------
    StockCostError
        More is taken than there is.
    """
    on_hand = value = issued_cost = Fraction(0)
    for move in moves:
        quantity = Fraction(move.quantity)
        if isinstance(move, Receipt):
            on_hand += quantity
            value += quantity * Fraction(move.unit_cost)
        else:
            _check_enough(quantity, on_hand)
            cost = quantity * value / on_hand
            issued_cost += cost
            value -= cost
            on_hand -= quantity
    return StockCost(issued_cost, value, on_hand)


def specific_cost(moves: Iterable[Receipt | Issue]) -> StockCost:
    """Return the cost of what was taken at each lot's own cost; every issue names its lots.

    Raises
    ------
    StockCostError
        An issue names no lots, a lot is unknown or came in twice, or holds less than is taken.
    """
    lots: dict[str, tuple[Fraction, Fraction]] = {}
    issued_cost = Fraction(0)
    for move in moves:
        if isinstance(move, Receipt):
            if move.lot in lots:
                raise StockCostError(
                    f"lot {move.lot} came in twice; give each its own name",
                    field="lot",
                    code="lot_twice",
                    lot=move.lot,
                )
            lots[move.lot] = (Fraction(move.quantity), Fraction(move.unit_cost))
        else:
            issued_cost += _take_named(lots, move)
    return StockCost(
        issued_cost,
        stock_value=sum((quantity * cost for quantity, cost in lots.values()), Fraction(0)),
        on_hand=sum((quantity for quantity, _cost in lots.values()), Fraction(0)),
    )


def _take_oldest(lots: deque[tuple[Fraction, Fraction]], wanted: Fraction) -> Fraction:
    _check_enough(wanted, sum((quantity for quantity, _cost in lots), Fraction(0)))
    cost = Fraction(0)
    while wanted:
        quantity, unit_cost = lots.popleft()
        taken = min(quantity, wanted)
        cost += taken * unit_cost
        wanted -= taken
        if taken < quantity:
            lots.appendleft((quantity - taken, unit_cost))
    return cost


def _take_named(lots: dict[str, tuple[Fraction, Fraction]], issue: Issue) -> Fraction:
    if issue.from_lots is None:
        raise StockCostError(
            "say which lots the goods came from", field="from_lots", code="lots_missing"
        )
    cost = Fraction(0)
    for lot, quantity in issue.from_lots.items():
        if lot not in lots:
            raise StockCostError(
                f"there is no lot {lot}", field="from_lots", code="lot_unknown", lot=lot
            )
        held, unit_cost = lots[lot]
        _check_enough(Fraction(quantity), held)
        lots[lot] = (held - Fraction(quantity), unit_cost)
        cost += Fraction(quantity) * unit_cost
    return cost


def _check_enough(wanted: Fraction, held: Fraction) -> None:
    if wanted > held:
        raise StockCostError(
            f"{float(wanted):g} are taken, but only {float(held):g} are there",
            field="quantity",
            code="stock_short",
            wanted=wanted,
            held=held,
        )


def share_out(
    amount: Decimal, weights: Sequence[Fraction | Decimal | float], currency: str
) -> tuple[Decimal, ...]:
    """Return an amount parted by weights, to the minor unit, so that the parts add up to it.

    Each part gets the whole units of its exact share; the units left over go one by one to those
    with the largest remainders, the first of equals first (method of largest remainder). What an
    amount has beyond its minor unit stays with the largest weight, so that the sum is exact.

    Parameters
    ----------
    amount : Decimal
        Zero or more.
    weights : sequence of number, length n >= 1
        Zero or more each, not all zero.
    currency : str
        ISO 4217 code; its minor unit is what is parted.

    Raises
    ------
    StockCostError
        No weights, a weight below zero or not finite, or all of them zero.
    CurrencyError
        The code is not an ISO 4217 code in use.

    Examples
    --------
    >>> share_out(Decimal("10.00"), [1, 1, 1], "EUR")
    (Decimal('3.34'), Decimal('3.33'), Decimal('3.33'))
    """
    checked_number(amount, "amount")
    if not weights or not all(0 <= weight < float("inf") for weight in weights) or not any(weights):
        raise StockCostError(
            "shares need one weight above 0, and none below 0", field="weights", code="no_weights"
        )
    exact = [Fraction(weight) for weight in weights]
    unit = minor_unit(currency)
    units = int(Fraction(amount) / unit)
    shares = [units * weight / sum(exact) for weight in exact]
    counts = [int(share) for share in shares]
    by_remainder = sorted(range(len(shares)), key=lambda k: (counts[k] - shares[k], k))
    for k in by_remainder[: units - sum(counts)]:
        counts[k] += 1
    digits = currency_digits(currency)
    parts = [round_half_up(count * unit, digits) for count in counts]
    odd = amount - sum(parts)
    if odd:
        parts[exact.index(max(exact))] += odd
    return tuple(parts)


def cost_of_next(
    moves: Iterable[Receipt | Issue],
    quantity: Decimal,
    *,
    way: CostWay,
    beyond_unit_cost: Fraction | Decimal,
) -> Fraction:
    """Return what the next goods to be taken will cost, exactly; nothing is taken.

    Parameters
    ----------
    moves : iterable of Receipt or Issue
        What happened so far, in order.
    quantity : Decimal
        What will be taken, zero or more.
    way : {"fifo", "average"}
        The oldest goods first, or the average of what is there.
    beyond_unit_cost : Fraction or Decimal
        Money for one unit of what is not on the shelf and must be bought.

    Raises
    ------
    StockCostError
        An earlier move took more than there was, or the way is unknown.

    Examples
    --------
    >>> lots = [Receipt("a", Decimal(10), Decimal(2)), Receipt("b", Decimal(5), Decimal(3))]
    >>> cost_of_next(lots, Decimal(12), way="fifo", beyond_unit_cost=Decimal(4))
    Fraction(26, 1)
    >>> cost_of_next(lots, Decimal(18), way="average", beyond_unit_cost=Decimal(4))
    Fraction(47, 1)
    """
    checked_number(quantity, "quantity")
    if way not in get_args(CostWay):
        raise StockCostError('must be "fifo" or "average"', field="way", code="way_unknown")
    cost_by = fifo_cost if way == "fifo" else moving_average_cost
    history = list(moves)
    before = cost_by(history)
    taken = min(Fraction(quantity), before.on_hand)
    if way == "average":
        on_shelf = before.stock_value * taken / before.on_hand if taken else Fraction(0)
    else:
        on_shelf = _oldest_cost(history, taken)
    return on_shelf + (Fraction(quantity) - taken) * Fraction(beyond_unit_cost)


def _oldest_cost(history: Iterable[Receipt | Issue], taken: Fraction) -> Fraction:
    lots: deque[tuple[Fraction, Fraction]] = deque()
    for move in history:
        if isinstance(move, Receipt):
            lots.append((Fraction(move.quantity), Fraction(move.unit_cost)))
        else:
            _take_oldest(lots, Fraction(move.quantity))
    return _take_oldest(lots, taken)
