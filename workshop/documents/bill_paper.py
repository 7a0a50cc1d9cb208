"""A bill or a credit note: one value, shown as a page, as a paper and as text for a mail."""

import textwrap
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from costing.billed import TaxLine
from workshop.documents.heading import amount_words, day_words, money_words
from workshop.documents.paper import paper_pdf

MAIL_COLUMNS = 72
MINUS = "\u2212"


@dataclass(frozen=True, slots=True)
class PaperLine:
    """One line of the paper: its words, why it was added, and its amount with tax."""

    text: str
    reason: str
    amount: Decimal
    tax_percent: Decimal

    @property
    def percent_words(self) -> str:
        """Return the percentage of the tax in it."""
        return f"{self.tax_percent.normalize():f}\u00a0%"

    @property
    def amount_words(self) -> str:
        """Return the amount as it is written, a reduction with a minus."""
        return amount_words(self.amount).replace("-", MINUS)


@dataclass(frozen=True, slots=True)
class ReceivedLine:
    """A payment that was here when the bill was issued; a refund is below zero."""

    words: str
    on: date
    amount: Decimal


@dataclass(frozen=True, slots=True)
class BillPaper:
    """Everything a bill or a credit note says, as it was the day it was issued.

    ``taxes`` are the sums by percentage; ``refers_to`` is the bill a credit note takes back, empty
    on a bill. ``open`` is what is still to be paid, None on a credit note.
    """

    title: str
    code: str
    issued_on: date
    workshop: str
    address: str
    tax_number: str
    customer: str
    customer_address: str
    agreed_words: str
    delivered_on: date | None
    currency: str
    lines: tuple[PaperLine, ...]
    taxes: tuple[TaxLine, ...]
    net: Decimal
    tax: Decimal
    amount: Decimal
    tax_name: str = ""
    tax_wording: str = ""
    wording: str = ""
    note: str = ""
    reason: str = ""
    refers_to: str = ""
    received: tuple[ReceivedLine, ...] = ()
    open: Decimal | None = None

    @property
    def has_tax(self) -> bool:
        """Return whether any line is taxed."""
        return any(row.percent for row in self.taxes)

    @property
    def total_words(self) -> str:
        """Return what the sum is called."""
        return _("Taken back in all") if self.refers_to else _("To be paid in all")

    def facts(self) -> list[tuple[str, str]]:
        """Return what stands at the head: numbers and days, each with its name."""
        rows = [(_("Number"), self.code), (_("Issued on"), day_words(self.issued_on))]
        if self.refers_to:
            rows.append((_("Takes back"), self.refers_to))
        if self.delivered_on is not None:
            rows.append((_("Delivered on"), day_words(self.delivered_on)))
        if self.agreed_words:
            rows.append((_("As agreed"), self.agreed_words))
        if self.tax_number:
            rows.append((_("Tax number"), self.tax_number))
        return rows

    def tax_rows(self) -> list[tuple[str, str]]:
        """Return the sums below the lines: without tax, each tax; nothing where none is charged."""
        if not self.has_tax:
            return []
        name = self.tax_name or _("tax")
        rows = [(_("Without tax"), amount_words(self.net))]
        for row in self.taxes:
            words = _("%(share)s %(name)s on %(net)s") % {
                "share": f"{row.percent.normalize():f}\u00a0%",
                "name": name,
                "net": amount_words(row.net),
            }
            rows.append((words, amount_words(row.tax)))
        return rows

    def paid_rows(self) -> list[tuple[str, str]]:
        """Return the payments that were here already, and what is open."""
        rows = [
            (
                _("%(what)s of %(day)s") % {"what": row.words, "day": day_words(row.on)},
                amount_words(-row.amount).replace("-", MINUS),
            )
            for row in self.received
        ]
        if self.open is not None and self.received:
            words = _("Still open") if self.open >= 0 else _("Paid beyond it, to be given back")
            rows.append((words, money_words(abs(self.open), self.currency)))
        return rows

    def no_tax_words(self) -> str:
        """Return that no tax is charged, where none is and the workshop has no words of its own."""
        return "" if self.has_tax or self.tax_wording else _("No tax is charged.")


def bill_pdf(
    bill: BillPaper,
    *,
    paper: Literal["A4", "Letter"] = "A4",
    document_id: bytes | None = None,
) -> bytes:
    """Return the bill as a PDF paper; the same bill gives the same bytes."""
    context = {
        "language": get_language() or "en",
        "paper": paper,
        "bill": bill,
        "total": money_words(bill.amount, bill.currency),
        "rows": [(line, line.amount_words) for line in bill.lines],
    }
    return paper_pdf(
        "documents/bill.html", context, made_on=bill.issued_on, document_id=document_id
    )


def bill_text(bill: BillPaper, *, greeting: str) -> str:
    """Return the bill as plain text to copy into a mail, lines at most 72 signs."""
    lines = [(line.text, line.amount_words) for line in bill.lines]
    total = [(bill.total_words, money_words(bill.amount, bill.currency))]
    blocks = [
        f"{greeting},",
        "\n".join(f"{name}: {words}" for name, words in bill.facts()),
        _filled(bill.reason),
        _aligned([*lines, *bill.tax_rows(), *total]),
        _aligned(bill.paid_rows()),
        "\n".join(_filled(words) for words in (bill.tax_wording, bill.no_tax_words()) if words),
        _filled(bill.note),
        _filled(bill.wording),
        "\n".join(part for part in (bill.workshop, bill.address) if part),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _filled(text: str) -> str:
    return "\n".join(
        textwrap.fill(line, MAIL_COLUMNS, break_long_words=False, break_on_hyphens=False)
        for line in text.splitlines()
    )


def _aligned(rows: list[tuple[str, str]]) -> str:
    """Return rows of words and amount with the amounts ending in one column."""
    if not rows:
        return ""
    amounts = max(len(amount) for _words, amount in rows)
    width = MAIL_COLUMNS - amounts - 2
    said = []
    for words, amount in rows:
        *first, last = textwrap.wrap(words, width) or [""]
        said += [*first, f"{last:<{width}}  {amount:>{amounts}}"]
    return "\n".join(said)
