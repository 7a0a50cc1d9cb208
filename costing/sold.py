"""A sale at the price that was paid: the tax in it, what the place keeps, what is left."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from costing.job import Fees
from costing.money import to_minor_unit
from costing.numbers import checked_number
from costing.settle import share_of


@dataclass(frozen=True, slots=True)
class Sale:
    """A price paid, tax included, and what goes off it; each to the currency's minor unit."""

    price: Decimal
    tax: Decimal
    fees: Decimal

    @property
    def left(self) -> Decimal:
        """Return what is left of the price."""
        return self.price - self.tax - self.fees


def sale_at(price: Decimal, *, currency: str, tax_percent: Decimal, fees: Iterable[Fees]) -> Sale:
    """Return a sale settled: tax taken out of the price, then each fee rounded for itself.

    Parameters
    ----------
    price : Decimal
        What was paid in all, tax included; zero or more.
    tax_percent : Decimal
        Zero for a workshop that is not registered.
    fees : iterable of Fees

    Raises
    ------
    JobError
        A number is out of its range; ``field`` names it.

    Examples
    --------
    Price P = (N + f) / (1 - r), the fee identity: 2.9 % and 0.30 of 103.30 leave 100.

    >>> stall = Fees(Decimal("2.9"), Decimal("0.30"), "price_with_tax")
    >>> sale_at(Decimal("103.30"), currency="EUR", tax_percent=Decimal(0), fees=[stall]).left
    Decimal('100.00')
    """
    checked_number(price, "price")
    checked_number(tax_percent, "pct")
    paid, rate = Fraction(to_minor_unit(price, currency)), share_of(tax_percent)
    tax = to_minor_unit(paid * rate / (1 + rate), currency)
    kept = [
        to_minor_unit(
            share_of(fee.percent) * (paid if fee.on == "price_with_tax" else paid - Fraction(tax))
            + fee.fixed_in_all,
            currency,
        )
        for fee in fees
    ]
    return Sale(to_minor_unit(price, currency), tax, sum(kept, to_minor_unit(Decimal(0), currency)))
