"""A price as pages and papers show it: each line with how it came about."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from costing.bill_line import BillLine
from costing.breakdown import Breakdown
from workshop.core_words import how_said


@dataclass(frozen=True, slots=True)
class PriceRow:
    """One line: its name, its amount, the sentences behind it."""

    name: str
    amount: Decimal
    hows: tuple[str, ...]
    estimated: bool = False
    is_main: bool = False


def price_rows(bill: tuple[BillLine, ...], breakdown: Breakdown) -> list[PriceRow]:
    """Return the lines that add up to the cost; material lines open to their quantity too."""
    return list(_rows(bill, breakdown))


def _rows(bill: tuple[BillLine, ...], breakdown: Breakdown) -> Iterator[PriceRow]:
    quantities = iter(bill)  # the material lines stand in the bill's order, one for one
    for line in breakdown.lines:
        if line.group == "material":
            source = next(quantities)
            hows = [*source.all_how_parts, line.how_parts]
            said = tuple(how_said(how) for how in hows)
            yield PriceRow(line.name, line.amount, said, source.estimated)
        else:
            name = _("overhead") if line.group == "overhead" else line.name
            yield PriceRow(name, line.amount, (how_said(line.how_parts),))


def total_rows(breakdown: Breakdown) -> list[PriceRow]:
    """Return cost, fees, profit, tax and price, which add up to the price."""
    names = {
        "cost": _("cost"),
        "fees": _("fees"),
        "profit": _("profit"),
        "tax": _("tax"),
        "price": _("price"),
        "rush": _("of which for rush"),
        "postage": _("of which for postage"),
    }
    totals = {total.code: total for total in breakdown.totals}
    return [
        PriceRow(
            name,
            totals[code].amount,
            (how_said(totals[code].how_parts),),
            is_main=code in ("cost", "price"),
        )
        for code, name in names.items()
        if code in totals
    ]
