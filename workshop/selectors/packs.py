"""What has to be bought for an order, in whole packs, of what the shelf does not hold free."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING

from costing.bill_line import BillLine
from costing.errors import CostError
from costing.packs import PackPurchase, packs_for
from costing.units import unit_factor
from workshop.models import Supply
from workshop.models.stock import THOUSANDTHS

if TYPE_CHECKING:
    from workshop.services.quoting import Worked


@dataclass(frozen=True, slots=True)
class PackRow:
    """A supply of the bill: what the order needs, what is free, and the packs to buy."""

    supply: Supply
    need: Decimal
    free: Decimal
    purchase: PackPurchase


def pack_rows(worked: "Worked") -> list[PackRow]:
    """Return each supply of an order's bill with the packs to buy, those to buy first.

    A line in a unit that does not turn into the supply's own is left out.
    """
    names = {line.name for line in worked.bill}
    found = Supply.objects.filter(name__in=names).select_related("balance")
    supplies = {supply.name: supply for supply in found.order_by("is_usual", "number")}
    needs: dict[str, Fraction] = {}
    for line in worked.bill:
        if line.name in supplies:
            need = _need(line, supplies[line.name], worked.choice.pair_count)
            needs[line.name] = needs.get(line.name, Fraction(0)) + need
    rows = [_row(supplies[name], need) for name, need in needs.items() if need]
    return sorted(rows, key=lambda row: not row.purchase.packs)


def _need(line: BillLine, supply: Supply, pair_count: int) -> Fraction:
    """Return what an order takes of a line in the supply's unit, in whole steps if cut so."""
    taken = Fraction(line.quantity) / (1 - Fraction(line.waste_share))
    if line.to_buy is not None:
        taken = Fraction(line.to_buy)
    if line.unit in (supply.unit, str(supply.get_unit_display())):
        return taken * pair_count
    try:
        return taken * pair_count * unit_factor(line.unit, supply.unit)
    except CostError:
        return Fraction(0)


def _row(supply: Supply, exact: Fraction) -> PackRow:
    balance = getattr(supply, "balance", None)
    free = Decimal(balance.free if balance is not None else 0) / THOUSANDTHS
    need = Decimal(ceil(exact * THOUSANDTHS)) / THOUSANDTHS
    purchase = packs_for(
        need, pack_quantity=supply.pack_quantity, pack_price=supply.pack_price, on_shelf=free
    )
    return PackRow(supply, need, free, purchase)
