"""One supply's shelf, move by move: what each taking costs, and what is left is worth."""

from collections import deque
from decimal import Decimal
from fractions import Fraction
from typing import get_args

from costing.errors import StockCostError
from costing.numbers import checked_number
from costing.stock_cost import CostWay


class Shelf:
    """Goods that can stand for each other, received at a cost and taken; everything exact.

    Parameters
    ----------
    way : {"fifo", "average"}
        The oldest goods go out first, or at the average cost of what is there (IAS 2,
        paragraph 25).

    Raises
    ------
    StockCostError
        The way is unknown.

    Examples
    --------
    >>> shelf = Shelf("fifo")
    >>> shelf.receive(Decimal(10), Decimal(2))
    >>> shelf.receive(Decimal(5), Decimal(3))
    >>> shelf.take(Decimal(12)), shelf.value, shelf.on_hand
    (Fraction(26, 1), Fraction(9, 1), Fraction(3, 1))
    """

    def __init__(self, way: CostWay) -> None:
        if way not in get_args(CostWay):
            raise StockCostError('must be "fifo" or "average"', field="way", code="way_unknown")
        self._way = way
        self._lots: deque[tuple[Fraction, Fraction]] = deque()  # quantity, unit cost
        self._on_hand = Fraction(0)

    @property
    def on_hand(self) -> Fraction:
        """Return how much is there."""
        return self._on_hand

    @property
    def value(self) -> Fraction:
        """Return what it is worth at its cost."""
        return sum((quantity * cost for quantity, cost in self._lots), Fraction(0))

    def receive(self, quantity: Decimal, unit_cost: Decimal | Fraction) -> None:
        """Put goods on the shelf at the cost of one unit."""
        checked_number(quantity, "quantity", above_zero=True)
        if unit_cost < 0:
            raise StockCostError("must be 0 or more", field="unit_cost", code="number_too_small")
        lot = (Fraction(quantity), Fraction(unit_cost))
        self._on_hand += lot[0]
        if self._way == "average" and self._lots:
            held, cost = self._lots.pop()
            whole = held + lot[0]
            lot = (whole, (held * cost + lot[0] * lot[1]) / whole)
        self._lots.append(lot)

    def take(self, quantity: Decimal) -> Fraction:
        """Take goods from the shelf and return what they cost.

        Raises
        ------
        StockCostError
            More is taken than there is; nothing is taken.
        """
        checked_number(quantity, "quantity", above_zero=True)
        wanted, held = Fraction(quantity), self._on_hand
        if wanted > held:
            raise StockCostError(
                f"{float(wanted):g} are taken, but only {float(held):g} are there",
                field="quantity",
                code="stock_short",
                wanted=wanted,
                held=held,
            )
        self._on_hand -= wanted
        cost = Fraction(0)
        while wanted:
            oldest, unit_cost = self._lots.popleft()
            taken = min(oldest, wanted)
            cost += taken * unit_cost
            wanted -= taken
            if taken < oldest:
                self._lots.appendleft((oldest - taken, unit_cost))
        return cost
