"""Packs: rounded up to whole ones for buying; what a pair costs stays exact."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from costing.numbers import checked_number


@dataclass(frozen=True, slots=True)
class PackPurchase:
    """Whole packs bought for a need: how many, what they hold and cost, what is left over.

    Quantities and money are exact; ``used_cost`` is what the need itself costs.
    """

    packs: int
    bought: Fraction
    cost: Fraction
    used_cost: Fraction
    left: Fraction


def packs_for(
    need: Decimal, *, pack_quantity: Decimal, pack_price: Decimal, on_shelf: Decimal = Decimal(0)
) -> PackPurchase:
    """Return the whole packs to buy for a need that the shelf does not cover.

    Parameters
    ----------
    need, on_shelf : Decimal
        In the unit of the pack, zero or more.
    pack_quantity : Decimal
        What a pack holds, above zero.
    pack_price : Decimal
        Money for one pack.

    Raises
    ------
    JobError
        A number is out of its range; ``field`` names it.

    Examples
    --------
    >>> eyelets = packs_for(Decimal(126), pack_quantity=Decimal(100), pack_price=Decimal("6.40"))
    >>> eyelets.packs, eyelets.cost, eyelets.used_cost, eyelets.left
    (2, Fraction(64, 5), Fraction(1008, 125), Fraction(74, 1))
    """
    checked_number(need, "need")
    checked_number(on_shelf, "on_shelf")
    checked_number(pack_quantity, "pack_quantity", above_zero=True)
    checked_number(pack_price, "pack_price")
    holds, price = Fraction(pack_quantity), Fraction(pack_price)
    packs = ceil(max(Fraction(0), Fraction(need) - Fraction(on_shelf)) / holds)
    bought = packs * holds
    return PackPurchase(
        packs=packs,
        bought=bought,
        cost=packs * price,
        used_cost=Fraction(need) * price / holds,
        left=max(Fraction(0), Fraction(on_shelf) + bought - Fraction(need)),
    )
