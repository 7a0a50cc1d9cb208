"""What stands at the head of a paper, and how dates and amounts are written on it."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from django.utils.formats import date_format

from patterns.drawing.paper import TRUE_PRINTER, Printer


@dataclass(frozen=True, slots=True)
class SheetHeading:
    """Who and what a paper is for; every part may be left out.

    ``drawn_foot`` tells for which foot the pieces are drawn; the mirrored ones are for the other.
    ``corrections`` are the maker's own, one line each, that are drawn into the pieces. The sheet
    comes out true from ``printer``.
    """

    workshop: str = ""
    doll: str = ""
    style: str = ""
    foot_version: str = ""
    order_code: str = ""
    drawn_foot: Literal["left", "right", ""] = ""
    corrections: tuple[str, ...] = ()
    printer: Printer = TRUE_PRINTER

    @property
    def subject(self) -> str:
        """Return doll, foot and order in one line, those that are given."""
        parts = (self.doll, self.foot_version, self.order_code)
        return ", ".join(part for part in parts if part)


def day_words(day: date) -> str:
    """Return a date with its month in words, in the reader's language."""
    return date_format(day, "j F Y")


def amount_words(amount: Decimal) -> str:
    r"""Return an amount with a point, and groups of three digits apart from five digits on.

    Source: SI Brochure, 9th edition, 5.4.4; four digits need no gap.

    >>> amount_words(Decimal("12345.60"))
    '12\xa0345.60'
    """
    whole = abs(int(amount))
    return f"{amount:,}".replace(",", "\u00a0") if whole >= 10_000 else f"{amount:f}"


def money_words(amount: Decimal, currency: str) -> str:
    """Return an amount with its currency code, kept on one line."""
    return f"{amount_words(amount)}\u00a0{currency}"
