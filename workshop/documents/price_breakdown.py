"""The price breakdown: every line with how it came about, adding up to the price shown."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from costing.breakdown import Breakdown, Group, PricedLine
from workshop.documents.heading import SheetHeading, amount_words, day_words
from workshop.documents.paper import paper_pdf

BAR_MM = 170.0
PageSize = Literal["A4", "Letter"]


@dataclass(frozen=True, slots=True)
class PricePart:
    """A share of the price: its letter on the bar, and where it stands there."""

    letter: str
    name: str
    amount: Decimal
    percent: int
    left_mm: float
    width_mm: float

    @property
    def middle_mm(self) -> float:
        """Return where the part's letter stands."""
        return self.left_mm + self.width_mm / 2


@dataclass(frozen=True, slots=True)
class LineGroup:
    """The lines of one kind of cost and their sum."""

    title: str
    lines: tuple[PricedLine, ...]
    total: Decimal


def price_breakdown_pdf(
    breakdown: Breakdown,
    *,
    heading: SheetHeading,
    made_on: date,
    paper: PageSize = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return the price breakdown as PDF; the same input gives the same bytes.

    Parameters
    ----------
    breakdown : Breakdown
    heading : SheetHeading
    made_on : date
    paper : "A4" or "Letter"
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    context = {
        "language": get_language() or "en",
        "paper": paper,
        "heading": heading,
        "made_on": day_words(made_on),
        "breakdown": breakdown,
        "pairs": ngettext("{n} pair", "{n} pairs", breakdown.pair_count).format(
            n=breakdown.pair_count
        ),
        "groups": line_groups(breakdown),
        "totals": {total.code: total.how for total in breakdown.totals},
        "parts": price_parts(breakdown),
        "bar_mm": BAR_MM,
        "profit_words": profit_words(breakdown),
        "sum_words": sum_words(breakdown),
    }
    return paper_pdf(
        "documents/price_breakdown.html", context, made_on=made_on, document_id=document_id
    )


def line_groups(breakdown: Breakdown) -> tuple[LineGroup, ...]:
    """Return the lines by kind of cost, kinds without lines left out."""
    titles: dict[Group, str] = {
        "material": _("Material"),
        "labour": _("Work"),
        "overhead": _("Overhead"),
        "postage": _("Postage and packing paid"),
    }
    groups = []
    for group, title in titles.items():
        lines = tuple(line for line in breakdown.lines if line.group == group)
        if lines:
            total = sum((line.amount for line in lines), Decimal(0))
            groups.append(LineGroup(title, lines, total))
    return tuple(groups)


def price_parts(breakdown: Breakdown) -> tuple[PricePart, ...]:
    """Return what the price goes to, in order; a loss is not a part of it."""
    named = [(group.title, group.total) for group in line_groups(breakdown)]
    named += [
        (_("Fees"), breakdown.fees),
        (_("Profit"), breakdown.profit),
        (_("Tax"), breakdown.tax),
    ]
    shown = [(name, amount) for name, amount in named if amount > 0]
    whole = sum((amount for _name, amount in shown), Decimal(0))
    percents = whole_percents([amount for _name, amount in shown])
    parts: list[PricePart] = []
    left = 0.0
    for (name, amount), letter, percent in zip(shown, "abcdefg", percents, strict=False):
        width = BAR_MM * float(amount / whole)
        parts.append(PricePart(letter, name, amount, percent, left, width))
        left += width
    return tuple(parts)


def whole_percents(amounts: Sequence[Decimal]) -> tuple[int, ...]:
    """Return the amounts as whole per cents of their sum that add up to 100.

    What rounding down leaves goes to the largest remainders.

    >>> whole_percents([Decimal(1), Decimal(1), Decimal(1)])
    (34, 33, 33)
    """
    whole = sum(amounts, Decimal(0))
    if not whole:
        return ()
    exact = [100 * Fraction(amount) / Fraction(whole) for amount in amounts]
    shown = [int(share) for share in exact]
    order = sorted(range(len(exact)), key=lambda k: (shown[k] - exact[k], k))
    for k in order[: 100 - sum(shown)]:
        shown[k] += 1
    return tuple(shown)


def profit_words(breakdown: Breakdown) -> str:
    """Return profit as a share of price and of cost, each named; a loss is called one."""
    if breakdown.profit < 0:
        return _("a loss: the price does not cover the cost")
    shares = []
    if breakdown.profit_percent_of_price is not None:
        shares.append(
            _("{percent} % of the price without tax").format(
                percent=breakdown.profit_percent_of_price
            )
        )
    if breakdown.profit_percent_of_cost is not None:
        shares.append(_("{percent} % on cost").format(percent=breakdown.profit_percent_of_cost))
    return ", ".join(shares)


def sum_words(breakdown: Breakdown) -> str:
    """Return the sum that proves the paper: cost, fees, profit and tax make the price."""
    return _("{cost} cost + {fees} fees + {profit} profit + {tax} tax = {price}").format(
        cost=amount_words(breakdown.cost),
        fees=amount_words(breakdown.fees),
        profit=amount_words(breakdown.profit),
        tax=amount_words(breakdown.tax),
        price=amount_words(breakdown.price),
    )
