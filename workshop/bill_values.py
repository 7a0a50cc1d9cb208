"""A stored bill as its page, its paper and its mail show it: by what was written down with it."""

import datetime
from decimal import Decimal

from django.utils.translation import gettext as _

from costing.billed import BilledLine, bill_totals
from costing.money import to_minor_unit
from workshop.documents.bill_paper import BillPaper, PaperLine, ReceivedLine, bill_text
from workshop.documents.heading import day_words
from workshop.models import Bill, Payment


def bill_paper_of(bill: Bill) -> BillPaper:
    """Return everything a bill says; nothing is read but what was kept with it."""
    content, currency = bill.content, bill.currency
    rows = list(bill.lines.order_by("position"))
    totals = bill_totals(
        (
            BilledLine(
                row.key,
                to_minor_unit(row.amount, currency),
                to_minor_unit(row.tax, currency),
                row.tax_pct,
            )
            for row in rows
        ),
        currency,
    )
    customer, workshop = content["customer"], content["workshop"]
    is_credit = bill.kind == Bill.Kind.CREDIT
    return BillPaper(
        title=_("Credit note") if is_credit else _("Bill"),
        code=bill.code,
        issued_on=bill.issued_on,
        workshop=workshop["name"],
        address=workshop["address"],
        tax_number=workshop["tax_number"],
        customer=customer["name"],
        customer_address="\n".join(
            part for part in (customer["address"], customer["country"]) if part
        ),
        agreed_words=_agreed_words(bill),
        delivered_on=_day(content.get("delivered_on", "")),
        currency=currency,
        lines=tuple(
            PaperLine(row.text, row.reason, to_minor_unit(row.amount, currency), row.tax_pct)
            for row in rows
        ),
        taxes=totals.tax_lines,
        net=totals.net,
        tax=totals.tax,
        amount=totals.amount,
        tax_name=content["tax_name"],
        tax_wording=content["tax_wording"],
        wording="" if is_credit else content["wording"],
        note=content.get("note", ""),
        reason=bill.reason,
        refers_to=_refers_to(bill),
        received=tuple(_received(bill)),
        open=None if is_credit else Decimal(content["open"]),
    )


def _agreed_words(bill: Bill) -> str:
    agreed = bill.content.get("agreed")
    if not agreed:
        return ""
    day = day_words(datetime.date.fromisoformat(agreed["on"]))
    return _("%(quote)s of %(day)s") % {"quote": agreed["code"], "day": day}


def _refers_to(bill: Bill) -> str:
    of_bill = bill.content.get("bill")
    if not of_bill:
        return ""
    day = day_words(datetime.date.fromisoformat(of_bill["on"]))
    return _("%(bill)s of %(day)s") % {"bill": of_bill["code"], "day": day}


def _received(bill: Bill) -> list[ReceivedLine]:
    words = {
        Payment.Kind.DEPOSIT: _("Deposit"),
        Payment.Kind.BALANCE: _("Payment"),
        Payment.Kind.REFUND: _("Refund"),
    }
    return [
        ReceivedLine(
            words[row["kind"]], datetime.date.fromisoformat(row["on"]), Decimal(row["amount"])
        )
        for row in bill.content.get("received", [])
    ]


def _day(text: str) -> datetime.date | None:
    return datetime.date.fromisoformat(text) if text else None


def bill_mail_of(bill: Bill) -> str:
    """Return the text to copy into a mail."""
    paper = bill_paper_of(bill)
    greeting = _("Dear %(name)s") % {"name": paper.customer} if paper.customer else _("Hello")
    return bill_text(paper, greeting=greeting)
