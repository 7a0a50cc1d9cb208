"""Leather by the seller's price: what a dm2 costs, and what buying it ties up."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Literal

from costing.errors import BillError
from costing.labour import checked_name
from costing.money import round_half_up
from costing.numbers import checked_number
from costing.terms import UNIT_COST_PLACES, LeatherTerms

PriceUnit = Literal["dm2", "sq ft", "hide"]

# Exact: the foot is 0.3048 m since 1959, so a square foot is 929.0304 cm2.
DM2_PER_SQUARE_FOOT = Fraction("9.290304")
AMOUNT_PLACES = 4


@dataclass(frozen=True, slots=True)
class LeatherOffer:
    """Leather that can be bought: its price, the smallest amount sold, a whole hide's size.

    Parameters
    ----------
    name : str
        What it is.
    price : Decimal
        For one dm2, one square foot, or a whole hide, as ``unit`` says.
    unit : {"dm2", "sq ft", "hide"}
    smallest_dm2 : Decimal, optional
        The smallest amount sold; any amount if left out. Hides are sold whole.
    hide_dm2 : Decimal, optional
        Size of a whole hide; needed where the price is for one.
    thickness_mm : float, optional

    Raises
    ------
    BillError
        A price per hide without the size of a hide.
    JobError
        A number out of range.
    """

    name: str
    price: Decimal
    unit: PriceUnit
    smallest_dm2: Decimal | None = None
    hide_dm2: Decimal | None = None
    thickness_mm: float | None = None

    def __post_init__(self) -> None:
        checked_name(self.name)
        checked_number(self.price, "price")
        for value, field in ((self.smallest_dm2, "smallest_dm2"), (self.hide_dm2, "hide_dm2")):
            if value is not None:
                checked_number(value, field, above_zero=True)
        if self.unit == "hide" and self.hide_dm2 is None:
            raise BillError(
                f"{self.name} is priced per hide; say how large a whole hide is",
                field="hide_dm2",
                code="hide_size_missing",
            )

    @property
    def exact_per_dm2(self) -> Fraction:
        """Return what a dm2 costs, exactly."""
        price = Fraction(self.price)
        if self.unit == "sq ft":
            return price / DM2_PER_SQUARE_FOOT
        if self.unit == "hide":
            assert self.hide_dm2 is not None
            return price / Fraction(self.hide_dm2)
        return price

    @property
    def terms(self) -> LeatherTerms:
        """Return the leather as a bill takes it.

        >>> LeatherOffer("calf", Decimal("9.290304"), "sq ft").terms.cost_per_dm2
        Decimal('1.000000')
        """
        cost = round_half_up(self.exact_per_dm2, UNIT_COST_PLACES)
        return LeatherTerms(self.name, cost, self.thickness_mm)

    def purchase(self, need_dm2: Decimal | Fraction) -> "Purchase":
        """Return what has to be bought for so much leather, and what that costs.

        Hides are bought whole; otherwise the need is bought, or the smallest amount sold.

        Examples
        --------
        >>> calf = LeatherOffer("calf", Decimal("60"), "hide", hide_dm2=Decimal(40))
        >>> calf.purchase(Decimal(10)).tied_up
        Decimal('45.0000')
        """
        whole = self.whole_hides(need_dm2)
        if self.unit == "hide" and whole is not None:
            return whole
        need = Fraction(need_dm2)
        return self._bought(need, max(need, Fraction(self.smallest_dm2 or 0)), 0)

    def whole_hides(self, need_dm2: Decimal | Fraction) -> "Purchase | None":
        """Return what it comes to if whole hides are bought, None where their size is unknown."""
        if self.hide_dm2 is None:
            return None
        need = Fraction(need_dm2)
        hides = max(1, ceil(need / Fraction(self.hide_dm2)))
        return self._bought(need, hides * Fraction(self.hide_dm2), hides)

    def _bought(self, need: Fraction, bought: Fraction, hides: int) -> "Purchase":
        return Purchase(
            need_dm2=round_half_up(need, AMOUNT_PLACES),
            bought_dm2=round_half_up(bought, AMOUNT_PLACES),
            hides=hides,
            cost=round_half_up(bought * self.exact_per_dm2, AMOUNT_PLACES),
            used_cost=round_half_up(need * self.exact_per_dm2, AMOUNT_PLACES),
        )


@dataclass(frozen=True, slots=True)
class Purchase:
    """What is bought for a need: the amount, whole hides if so sold, and the money."""

    need_dm2: Decimal
    bought_dm2: Decimal
    hides: int
    cost: Decimal
    used_cost: Decimal

    @property
    def tied_up(self) -> Decimal:
        """Return the money that lies on the shelf afterwards."""
        return self.cost - self.used_cost

    @property
    def left_dm2(self) -> Decimal:
        """Return the leather that lies on the shelf afterwards."""
        return self.bought_dm2 - self.need_dm2
