"""Payments of a job: written down once, never beyond what is open, taken back when in error."""

import datetime
from decimal import Decimal
from fractions import Fraction

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from costing.money import minor_unit, to_minor_unit
from workshop.models import Commission, Payment, Reservation
from workshop.selectors.payments import Account, account_of
from workshop.services.records import audit_write, fields_of, record_save
from workshop.services.reservations import JOB_HOLDS, deposit_note, supplies_reserve

Kind = Payment.Kind


@transaction.atomic
def payment_write(payment: Payment, *, by: AbstractBaseUser | None) -> Payment:
    """Write a payment down, once; the deposit's arrival ends the waiting of what is reserved.

    Of two at once for one job the second is measured against what the first has left open. The
    same form sent twice is one payment.

    Raises
    ------
    ValidationError
        It is larger than what is open, a refund larger than what was paid, its day has not come,
        or a field does not hold; beside the field it is about.
    """
    job = Commission.objects.select_for_update().get(pk=payment.commission_id)
    if payment.form_key is not None:
        known = Payment.objects.filter(form_key=payment.form_key).first()
        if known is not None:
            return known
    account = account_of(job)
    payment.currency = account.currency
    payment.made_by = by
    _check(payment, account)
    record_save(payment, by=by, action="paid" if payment.kind != Kind.REFUND else "given back")
    deposit_follow(job, was_here=account.is_deposit_here, on=payment.paid_on, by=by)
    return payment


def _check(payment: Payment, account: Account) -> None:
    """Refuse what cannot have been paid."""
    faults: dict[str, str] = {}
    currency = account.currency
    for name in ("amount", "fee"):
        if Fraction(getattr(payment, name)) % minor_unit(currency):
            faults[name] = _("That is finer than the smallest amount of %(currency)s.") % {
                "currency": currency
            }
    is_refund = payment.kind == Kind.REFUND
    most = account.paid if is_refund else account.open
    words = {"most": f"{max(most, Decimal(0)):f} {currency}"}
    if payment.amount <= 0:
        faults["amount"] = _("Write an amount above 0.")
    elif payment.amount > most:
        faults["amount"] = (
            _("Only %(most)s were paid; more cannot go back.") % words
            if is_refund
            else _("%(most)s are open; a payment cannot be larger. Bill what was added first.")
            % words
        )
    least_fee = -payment.amount if is_refund else Decimal(0)
    if not least_fee <= payment.fee <= payment.amount:
        faults["fee"] = _("The fee is a part of the amount: between %(least)s and %(most)s.") % {
            "least": f"{to_minor_unit(least_fee, currency):f}",
            "most": f"{to_minor_unit(payment.amount, currency):f}",
        }
    if payment.paid_on > timezone.localdate():
        faults["paid_on"] = _("That day has not come yet.")
    if faults:
        raise ValidationError(faults)


@transaction.atomic
def payment_cancel(payment: Payment, *, reason: str, by: AbstractBaseUser | None) -> None:
    """Take a payment back that was written in error; it stays on the list, struck out.

    Raises
    ------
    ValidationError
        It was taken back already, no reason is given, or what is left would not hold: refunds
        beyond what was paid, or payments beyond what is owed.
    """
    job = Commission.objects.select_for_update().get(pk=payment.commission_id)
    if not reason.strip():
        raise ValidationError({"reason": _("Write why.")})
    account = account_of(job)
    left = account.paid - payment.signed
    if left < 0:
        raise ValidationError(
            _("A refund was paid out of it; take that back first."), code="refund_hangs_on_it"
        )
    if payment.kind == Kind.REFUND and left > account.owed:
        raise ValidationError(
            _("Without this refund more is paid than is owed; write down what happened instead."),
            code="more_than_owed",
        )
    before = fields_of(payment)
    done = Payment.objects.filter(pk=payment.pk, cancelled_at=None).update(
        cancelled_at=timezone.now(), cancel_reason=reason.strip()[:200]
    )
    payment.refresh_from_db()
    if not done:
        raise ValidationError(_("It was taken back already."), code="taken_back")
    audit_write(payment, by=by, action="taken back", before=before)
    deposit_follow(job, was_here=account.is_deposit_here, on=None, by=by)


@transaction.atomic
def deposit_note_by_hand(
    commission: Commission, *, is_paid: bool, by: AbstractBaseUser | None
) -> None:
    """Note without an amount that a deposit is here, or not after all.

    Raises
    ------
    ValidationError
        The payments written down say that it is here, or nothing is reserved.
    """
    job = Commission.objects.select_for_update().get(pk=commission.pk)
    if not is_paid and job.payments.exists() and account_of(job).is_deposit_here:
        raise ValidationError(
            _("The payments written down say it is here; take the payment back instead."),
            code="paid",
        )
    deposit_note(job, is_paid=is_paid, by=by)


def deposit_follow(
    job: Commission, *, was_here: bool, on: datetime.date | None, by: AbstractBaseUser | None
) -> None:
    """Let what is reserved know that the deposit came, or went back.

    What had lapsed before it came is reserved again, as far as it is still free.
    """
    reservation = Reservation.objects.filter(commission=job).first()
    if reservation is None:
        return
    is_here = account_of(job).is_deposit_here
    if is_here and reservation.deposit_paid_on is None:
        deposit_note(job, is_paid=True, by=by, on=on)
    elif was_here and not is_here:
        deposit_note(job, is_paid=False, by=by)
    has_lapsed = reservation.state == Reservation.State.LAPSED
    if is_here and has_lapsed and job.state in JOB_HOLDS:
        supplies_reserve(job, by=by)
