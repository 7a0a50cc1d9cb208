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


def bill_at_stock_cost(
    bill: Iterable[BillLine], supplies: Mapping[str, Supply], pair_count: int
) -> tuple[BillLine, ...]:
    """Return a bill with its supplies at the cost of those that so many pairs would be made of.

    First in first out or at the moving average, as the workshop counts what it takes; what the
    shelf does not hold costs what a pack costs today. Lines that are no supply stay as they are.
    """
    lines = tuple(bill)
    named = {supply.name: supply for supply in supplies.values()}
    needs: dict[str, Fraction] = {}
    for line in lines:
        factor = _factor(line, named)
        if factor is not None:
            taken = Fraction(line.quantity) / (1 - Fraction(line.waste_share))
            needs[line.name] = needs.get(line.name, Fraction(0)) + taken * pair_count * factor
    shelves = shelves_now([named[name].pk for name in needs])
    costs = {
        name: _cost(named[name], need, shelves[named[name].pk])
        for name, need in needs.items()
        if need and named[name].pk in shelves
    }
    return tuple(_priced(line, named, costs) for line in lines)


Cost = tuple[Fraction, Fraction, Fraction]  # of one unit; how much is there, and needed


def _factor(line: BillLine, named: Mapping[str, Supply]) -> Fraction | None:
    """Return how many units of its supply one unit of a line is; None for what is no supply."""
    supply = named.get(line.name)
    if supply is None or line.key == "upper":
        return None
    if line.unit in (supply.unit, str(supply.get_unit_display())):
        return Fraction(1)
    try:
        return unit_factor(line.unit, supply.unit)
    except CostError:
        return None


def _cost(supply: Supply, need: Fraction, shelf: Shelf) -> Cost:
    there, cost = shelf.cost_of_next(need * THOUSANDTHS)
    there /= THOUSANDTHS
    pack = Fraction(supply.pack_price) / Fraction(supply.pack_quantity)
    return (cost + (need - there) * pack) / need, there, need


def _priced(line: BillLine, named: Mapping[str, Supply], costs: Mapping[str, Cost]) -> BillLine:
    factor = _factor(line, named)
    if factor is None or line.name not in costs:
        return line
    exact, there, need = costs[line.name]
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
