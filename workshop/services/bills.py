"""Final bills and credit notes: numbered without gaps, issued once, never changed.

A number is given out inside the transaction that writes the paper: a paper that is not written
gives its number back, and of two people at once the second waits for the first.
"""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from costing.billed import BilledLine, agreed_lines, bill_totals, changed_line, taken_back
from costing.errors import CostError
from costing.money import to_minor_unit
from workshop.models import Bill, BillLine, Commission, WorkshopProfile
from workshop.selectors.agreed import Agreed
from workshop.selectors.payments import OWING, Account, LineLeft, account_of, lines_left
from workshop.services.records import audit_write, next_number

MOST_CHANGES = 20


@dataclass(frozen=True, slots=True)
class Change:
    """A line added to what was agreed: its amount with tax, below zero for a reduction, and why."""

    text: str
    amount: Decimal
    reason: str


@dataclass(frozen=True, slots=True)
class _Line:
    """One line to be written, with its words."""

    value: BilledLine
    text: str
    reason: str = ""
    of_line: BillLine | None = None


@transaction.atomic
def bill_issue(
    commission: Commission,
    *,
    changes: Sequence[Change] = (),
    delivered_on: datetime.date | None = None,
    note: str = "",
    by: AbstractBaseUser | None,
) -> Bill:
    """Issue a job's final bill: what was agreed, to the cent, and the lines changed since.

    Raises
    ------
    ValidationError
        Nothing was agreed, the job is not in hand, a bill stands already, a change has no reason,
        or nothing is left to be billed.
    """
    job = Commission.objects.select_for_update().get(pk=commission.pk)
    account = account_of(job)
    agreed = _agreed_to_bill(job, account)
    lines = [
        _Line(value, _agreed_words(job, agreed, value))
        for value in agreed_lines(agreed.job, agreed.breakdown)
    ]
    lines += [_changed(agreed, change) for change in changes]
    totals = bill_totals((line.value for line in lines), account.currency)
    if totals.amount <= 0:
        raise ValidationError(_("Nothing is left to be billed: the lines come to 0 or less."))
    received = [
        {
            "on": row.paid_on.isoformat(),
            "kind": row.kind,
            "amount": f"{to_minor_unit(row.signed, account.currency):f}",
        }
        for row in account.counted
    ]
    content = _both_sides(job) | {
        "agreed": {"code": agreed.code, "on": agreed.made_on.isoformat()},
        "delivered_on": delivered_on.isoformat() if delivered_on is not None else "",
        "note": note,
        "received": received,
        "open": f"{totals.amount - account.paid:f}",
    }
    return _write(job, Bill.Kind.BILL, lines, account.currency, content, by=by)


def _agreed_to_bill(job: Commission, account: Account) -> Agreed:
    """Return what is to be billed, or refuse."""
    words = {"job": job.code, "state": job.get_state_display()}
    if account.agreed is None:
        raise ValidationError(
            _("Nothing was agreed for %(job)s yet: a bill is made of an accepted price.") % words
        )
    if job.state not in OWING:
        raise ValidationError(_("%(job)s is %(state)s: nothing is to be billed.") % words)
    standing = account.standing_bill
    if standing is not None:
        raise ValidationError(
            _("%(bill)s stands for this job. Take it back with a credit note first.")
            % {"bill": standing.code},
            code="bill_stands",
        )
    return account.agreed


def _changed(agreed: Agreed, change: Change) -> _Line:
    if not change.text.strip() or not change.reason.strip() or not change.amount:
        raise ValidationError(_("A changed line needs words, an amount and a reason."))
    try:
        value = changed_line(agreed.job, change.amount)
    except CostError as error:
        raise ValidationError(error.text) from None
    return _Line(value, change.text.strip()[:300], change.reason.strip()[:200])


def _agreed_words(job: Commission, agreed: Agreed, value: BilledLine) -> str:
    if value.key == "rush":
        return _("Extra for work that went first")
    if value.key == "postage":
        return _("Postage and packing")
    count = agreed.breakdown.pair_count
    pairs = ngettext("%(n)d pair", "%(n)d pairs", count) % {"n": count}
    what = agreed.what if hasattr(job, "repair") else f"{agreed.what}, {pairs}"
    return _("%(what)s for %(doll)s") % {"what": what, "doll": job.made_for}


def _both_sides(job: Commission) -> dict[str, Any]:
    """Return names, addresses and the workshop's own wording as they are today."""
    profile = WorkshopProfile.current()
    customer = job.customer
    return {
        "workshop": {
            "name": profile.name,
            "address": profile.address,
            "tax_number": profile.tax_number,
        },
        "customer": {
            "name": customer.name if customer is not None else "",
            "address": customer.address if customer is not None else "",
            # The order's own country stands in: it was asked for the postage.
            "country": (customer.country or job.country) if customer is not None else "",
        },
        "tax_name": profile.tax_name,
        "tax_wording": profile.tax_wording,
        "wording": profile.bill_wording,
        "job": job.code,
    }


@transaction.atomic
def credit_issue(
    bill: Bill, *, amounts: Mapping[int, Decimal], reason: str, by: AbstractBaseUser | None
) -> Bill:
    """Issue a credit note that takes back a bill in all or in part.

    Parameters
    ----------
    bill : Bill
        The bill it refers to.
    amounts : mapping
        What is taken back of each line, with tax, by the line's id; a line that is not there
        stays as it is.

    Raises
    ------
    ValidationError
        More than is left of a line (named ``line-<id>``), no reason, or nothing to take back.
    """
    job = Commission.objects.select_for_update().get(pk=bill.commission_id)
    if bill.kind != Bill.Kind.BILL:
        raise ValidationError(_("%(bill)s is a credit note itself.") % {"bill": bill.code})
    if not reason.strip():
        raise ValidationError({"reason": _("Write why.")})
    faults: dict[str, str] = {}
    lines = []
    for left in lines_left(bill):
        amount = amounts.get(left.line.pk)
        if not amount:
            continue
        try:
            lines.append(_credited(left, amount, bill.currency))
        except CostError as error:
            faults[f"line-{left.line.pk}"] = error.text
    if faults:
        raise ValidationError(faults)
    if bill_totals((line.value for line in lines), bill.currency).amount <= 0:
        raise ValidationError(_("Write what is taken back; together it must be above 0."))
    content = _both_sides(job) | {
        "customer": bill.content["customer"],
        "bill": {"code": bill.code, "on": bill.issued_on.isoformat()},
    }
    return _write(
        job, Bill.Kind.CREDIT, lines, bill.currency, content, by=by, bill=bill, reason=reason
    )


def _credited(left: LineLeft, amount: Decimal, currency: str) -> _Line:
    line = left.line
    as_billed = BilledLine(line.key, line.amount, line.tax, line.tax_pct)
    rest = BilledLine(line.key, left.amount, left.tax, line.tax_pct)
    value = taken_back(as_billed, rest, amount, currency)
    return _Line(value, line.text, line.reason, of_line=line)


def _write(
    job: Commission,
    kind: str,
    lines: Sequence[_Line],
    currency: str,
    content: dict[str, Any],
    *,
    by: AbstractBaseUser | None,
    bill: Bill | None = None,
    reason: str = "",
) -> Bill:
    totals = bill_totals((line.value for line in lines), currency)
    paper = Bill(
        kind=kind,
        commission=job,
        bill=bill,
        reason=reason.strip()[:200],
        currency=currency,
        amount=totals.amount,
        tax=totals.tax,
        issued_on=timezone.localdate(),
        content=content,
        made_by=by,
        number=next_number(kind),
    )
    paper.full_clean()
    paper.save()
    for position, line in enumerate(lines, 1):
        row = BillLine(
            bill=paper,
            of_line=line.of_line,
            position=position,
            key=line.value.key,
            text=line.text,
            reason=line.reason,
            amount=line.value.amount,
            tax=line.value.tax,
            tax_pct=line.value.tax_percent,
        )
        row.full_clean()
        row.save()
    audit_write(paper, by=by, action="issued")
    return paper
