"""Supplies of a bill at what the next goods on the shelf cost, beyond them at a pack's price."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from django.utils.translation import gettext as _

from costing.bill_line import BillLine
from costing.errors import CostError
from costing.how import How
from costing.money import round_half_up
from costing.numbers import shown
from costing.shelf import Shelf
from costing.terms import UNIT_COST_PLACES
from costing.units import unit_factor
from workshop.bridge import as_written
from workshop.models import Supply, WorkshopProfile
from workshop.models.stock import THOUSANDTHS
from workshop.selectors.ledger import shelves_now
from workshop.supply_lines import SuppliesNamed


def bill_at_stock_cost(
    bill: Iterable[BillLine], supplies: Mapping[str, Supply], pair_count: int
) -> tuple[BillLine, ...]:
    """Return a bill with its supplies at the cost of those that so many pairs would be made of.

    First in first out or at the moving average, as the workshop counts what it takes; what the
    shelf does not hold costs what a pack costs today. Lines that are no supply stay as they are.
    """
    return bills_at_stock_cost([(bill, pair_count)], supplies)[0]


def bills_at_stock_cost(
    bills: Iterable[tuple[Iterable[BillLine], int]], supplies: Mapping[str, Supply]
) -> list[tuple[BillLine, ...]]:
    """Return the bills of what is made together, each with its pairs, as `bill_at_stock_cost`.

    A supply costs all of them alike: what the goods cost that together they would be made of.
    """
    rows = [(tuple(bill), pair_count) for bill, pair_count in bills]
    named = SuppliesNamed(supplies.values())
    needs: dict[int, Fraction] = {}
    for lines, pair_count in rows:
        for line in lines:
            supply, factor = _supplied(line, named)
            if supply is not None:
                taken = Fraction(line.quantity) / (1 - Fraction(line.waste_share))
                more = taken * pair_count * factor
                needs[supply.pk] = needs.get(supply.pk, Fraction(0)) + more
    shelves = shelves_now(list(needs))
    by_id = {supply.pk: supply for supply in supplies.values()}
    costs = {
        key: _cost(by_id[key], need, shelves[key])
        for key, need in needs.items()
        if need and key in shelves
    }
    return [tuple(_priced(line, named, costs) for line in lines) for lines, _pairs in rows]


Cost = tuple[Fraction, Fraction, Fraction]  # of one unit; how much is there, and needed


def _supplied(line: BillLine, named: SuppliesNamed) -> tuple[Supply | None, Fraction]:
    """Return a line's supply, and how many units of it one unit of the line is; else None."""
    supply = named.of_line(line.key, line.name)
    if supply is None:
        return None, Fraction(0)
    if line.unit in (supply.unit, str(supply.get_unit_display())):
        return supply, Fraction(1)
    try:
        return supply, unit_factor(line.unit, supply.unit)
    except CostError:
        return None, Fraction(0)


def _cost(supply: Supply, need: Fraction, shelf: Shelf) -> Cost:
    there, cost = shelf.cost_of_next(need * THOUSANDTHS)
    there /= THOUSANDTHS
    pack = Fraction(supply.pack_price) / Fraction(supply.pack_quantity)
    return (cost + (need - there) * pack) / need, there, need


def _priced(line: BillLine, named: SuppliesNamed, costs: Mapping[int, Cost]) -> BillLine:
    supply, factor = _supplied(line, named)
    if supply is None or supply.pk not in costs:
        return line
    exact, there, need = costs[supply.pk]
    unit_cost = as_written(round_half_up(exact * factor, UNIT_COST_PLACES))
    if unit_cost == line.unit_cost:
        return line
    return replace(
        line,
        unit_cost=unit_cost,
        cost_parts=How(
            "cost_on_shelf" if there == need else "cost_beyond_shelf",
            {
                "unit": line.unit,
                "cost": shown(unit_cost),
                "there": shown(there / factor),
                "way": _way_words(),
                "pack": shown(line.unit_cost),
            },
        ),
    )


def _way_words() -> str:
    ways = WorkshopProfile.StockCost
    if WorkshopProfile.current().stock_cost == ways.FIFO:
        return _("the oldest first")
    return _("on the average")
