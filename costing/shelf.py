"""One supply's shelf, move by move: what each taking costs, and what is left is worth."""

from collections import deque
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any, get_args

from costing.errors import StockCostError
from costing.stock_cost import CostWay

# A moving average stays exact until it is written with more than so many figures; from then on it
# is kept to a hundred-quadrillionth of a quadrillionth, so that a ledger of any length is quick.
_MOST_EXACT = 10**40
_KEPT_TO = 10**32


class Shelf:
    """Goods that can stand for each other, received at a cost and taken.

    Quantities are whole numbers of whatever the goods are counted in; costs are money for the
    whole quantity. First in first out is exact; a moving average is, to 32 decimal places.

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
    >>> shelf.receive(10, Decimal(20))
    >>> shelf.receive(5, Decimal(15))
    >>> shelf.take(12), shelf.value, shelf.on_hand
    (Fraction(26, 1), Fraction(9, 1), 3)
    """

    def __init__(self, way: CostWay) -> None:
        if way not in get_args(CostWay):
            raise StockCostError('must be "fifo" or "average"', field="way", code="way_unknown")
        self._way = way
        self._on_hand = 0
        self._lots: deque[tuple[int, int, Decimal | Fraction]] = deque()  # left, whole, its cost
        self._average = Fraction(0)

    @classmethod
    def restored(cls, way: CostWay, kept: Mapping[str, Any]) -> "Shelf":
        """Return a shelf as `kept` gave it.

        Examples
        --------
        >>> shelf = Shelf("fifo")
        >>> shelf.receive(3, Decimal(1))
        >>> shelf.pass_by(2)
        >>> shelf.kept()
        {'on_hand': 1, 'average': '0', 'lots': [[1, 3, '1']]}
        >>> Shelf.restored("fifo", shelf.kept()).take(1)
        Fraction(1, 3)
        """
        shelf = cls(way)
        shelf._on_hand = kept["on_hand"]
        shelf._average = Fraction(kept["average"])
        shelf._lots.extend((left, whole, Fraction(cost)) for left, whole, cost in kept["lots"])
        return shelf

    def kept(self) -> dict[str, Any]:
        """Return the shelf as plain values that restore it exactly: whole numbers and fractions."""
        return {
            "on_hand": self._on_hand,
            "average": str(self._average),
            "lots": [[left, whole, str(Fraction(cost))] for left, whole, cost in self._lots],
        }

    def copied(self) -> "Shelf":
        """Return a shelf of its own that holds the same."""
        shelf = Shelf(self._way)
        shelf._on_hand, shelf._average = self._on_hand, self._average
        shelf._lots = self._lots.copy()
        return shelf

    @property
    def on_hand(self) -> int:
        """Return how much is there."""
        return self._on_hand

    @property
    def value(self) -> Fraction:
        """Return what it is worth at its cost."""
        if self._way == "average":
            return self._on_hand * self._average
        return sum((Fraction(cost) * left / whole for left, whole, cost in self._lots), Fraction(0))

    def receive(self, quantity: int, cost: Decimal | Fraction) -> None:
        """Put goods on the shelf, with what all of them cost.

        Raises
        ------
        StockCostError
            Nothing comes in, or it costs less than nothing.
        """
        if quantity <= 0 or cost < 0:
            raise StockCostError(
                "goods that come in are above 0 and cost 0 or more",
                field="quantity",
                code="number_too_small",
            )
        if self._way == "fifo":
            self._lots.append((quantity, quantity, cost))
        else:
            whole = self._on_hand * self._average + Fraction(cost)
            average = whole / (self._on_hand + quantity)
            if average.denominator > _MOST_EXACT:
                average = Fraction(round(average * _KEPT_TO), _KEPT_TO)
            self._average = average
        self._on_hand += quantity

    def take(self, quantity: int) -> Fraction:
        """Take goods from the shelf and return what they cost.

        Raises
        ------
        StockCostError
            More is taken than there is, or nothing; the shelf stays as it is.
        """
        if self._way == "average":
            self.pass_by(quantity)
            return quantity * self._average
        self._check(quantity)
        self._on_hand -= quantity
        cost = Fraction(0)
        while quantity:
            left, whole, lot_cost = self._lots.popleft()
            taken = min(left, quantity)
            cost += Fraction(lot_cost) * taken / whole
            quantity -= taken
            if taken < left:
                self._lots.appendleft((left - taken, whole, lot_cost))
        return cost

    def cost_of_next(self, quantity: Fraction) -> tuple[Fraction, Fraction]:
        """Return how much of a quantity is there, and what it would cost; nothing is taken."""
        there = min(quantity, Fraction(self._on_hand))
        if self._way == "average":
            return there, there * self._average
        missing, cost = there, Fraction(0)
        for left, whole, lot_cost in self._lots:
            taken = min(missing, Fraction(left))
            cost += Fraction(lot_cost) * taken / whole
            missing -= taken
            if not missing:
                break
        return there, cost

    def pass_by(self, quantity: int) -> None:
        """Take goods whose cost nobody asks for; raises as `take` does."""
        self._check(quantity)
        self._on_hand -= quantity
        while quantity and self._lots:
            left, whole, lot_cost = self._lots[0]
            if left > quantity:
                self._lots[0] = (left - quantity, whole, lot_cost)
                return
            self._lots.popleft()
            quantity -= left

    def _check(self, quantity: int) -> None:
        if not 0 < quantity <= self._on_hand:
            raise StockCostError(
                f"{quantity} are taken, but {self._on_hand} are there",
                field="quantity",
                code="stock_short",
                wanted=quantity,
                held=self._on_hand,
            )
