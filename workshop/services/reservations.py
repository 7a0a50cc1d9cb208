"""Supplies reserved for jobs: kept when a quote is accepted, used up or let go, lapsed when late.

Every step of a job locks the job's row first, then hides, then balances in one order, so that steps
of one job follow each other and steps of two never wait for one another in a ring. Whoever holds a
supply's balance may change what jobs hold of it, nobody else. Each step may be run twice.
"""

import datetime
from collections.abc import Iterable
from contextlib import suppress
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.models import (
    Commission,
    Hide,
    Reservation,
    ReservedSupply,
    StockBalance,
    StockMove,
    Supply,
    WorkshopProfile,
)
from workshop.models.stock import THOUSANDTHS
from workshop.selectors.supply_needs import SupplyNeeds, hide_quoted, needs_of_job
from workshop.services.cuttings import hide_reserve, hides_release_all
from workshop.services.records import audit_write, fields_of, record_save
from workshop.services.stock import (
    LARGEST_QUANTITY,
    stock_buy,
    stock_count,
    stock_release,
    stock_reserve,
    stock_use,
    stock_use_for,
)

State = Reservation.State
JOB_HOLDS = (Commission.State.ACCEPTED, Commission.State.IN_WORK)
MOST_HELD = int(LARGEST_QUANTITY) * THOUSANDTHS


@transaction.atomic
def supplies_reserve(commission: Commission, *, by: AbstractBaseUser | None) -> Reservation:
    """Reserve for an accepted job what its bill takes, as far as it is free on the shelf.

    The hide it was quoted on is kept for it too, unless the job has leather already or somebody
    was first: its page then says so. A job for stock goes by its plan, once its work has begun.
    What is not there is left missing on the reservation and never booked. Asked again, only what
    was missing is reserved. One that lapsed or was released is open again, with a new day for the
    deposit unless it was paid.

    Raises
    ------
    ValidationError
        The job is not accepted, or is over.
    """
    job = Commission.objects.select_for_update().get(pk=commission.pk)
    needs = needs_of_job(job)
    if job.state not in JOB_HOLDS or needs is None:
        raise ValidationError(
            _("%(job)s is %(state)s: supplies are reserved for accepted jobs only.")
            % {"job": job.code, "state": job.get_state_display()},
            code="not_accepted",
        )
    _keep_hide(job, by=by)
    reservation = Reservation.objects.filter(commission=job).first()
    if reservation is None:
        due_on = None if job.is_for_stock else _deposit_day()
        reservation = Reservation(commission=job, deposit_due_on=due_on)
        record_save(reservation, by=by, action="reserved")
        _write_lines(reservation, needs)
    elif not reservation.is_open:
        before = fields_of(reservation)
        reservation.state, reservation.ended_at = State.OPEN, None
        if reservation.deposit_paid_on is None and not job.is_for_stock:
            reservation.deposit_due_on = _deposit_day()
        reservation.save()
        audit_write(reservation, by=by, action="reserved again", before=before)
    for line in reservation.lines.select_related("supply"):
        _hold(line, job, by=by)
    return reservation


def _keep_hide(job: Commission, *, by: AbstractBaseUser | None) -> None:
    """Keep the hide a job was quoted on, where it has none yet and nobody else was first."""
    quoted = hide_quoted(job)
    if quoted is not None and quoted.state == Hide.State.ON_SHELF:
        with suppress(ValidationError), transaction.atomic():
            hide_reserve(quoted, commission=job, by=by)


def _deposit_day() -> datetime.date | None:
    days = WorkshopProfile.current().deposit_days
    return None if days is None else timezone.localdate() + datetime.timedelta(days=days)


def _write_lines(reservation: Reservation, needs: SupplyNeeds) -> None:
    moves = StockMove.objects.filter(commission=reservation.commission)
    taken: dict[int, int] = {}
    for supply_id, change in moves.values_list("supply_id", "on_hand_change"):
        taken[supply_id] = taken.get(supply_id, 0) - change
    ReservedSupply.objects.bulk_create(
        ReservedSupply(
            reservation=reservation,
            supply=need.supply,
            needed=need.thousandths,
            taken=taken.get(need.supply.pk, 0),
        )
        for need in needs.found
    )


def _lock(line: ReservedSupply) -> int:
    """Lock a line by its supply's balance, read it afresh, and return what is free."""
    StockBalance.objects.get_or_create(supply=line.supply)
    free = StockBalance.objects.select_for_update().get(supply=line.supply).free
    line.refresh_from_db(fields=["held", "taken"])
    return free


def _hold(line: ReservedSupply, job: Commission, *, by: AbstractBaseUser | None) -> None:
    """Reserve what a line misses, as far as it is free."""
    free = _lock(line)
    amount = min(line.missing, free, MOST_HELD)
    if not amount:
        return
    reason = _("for %(job)s") % {"job": job.code}
    stock_reserve(line.supply, quantity=_units(amount), reason=reason, by=by)
    _change(line, held=line.held + amount)


def _let_go(line: ReservedSupply, reason: str, *, by: AbstractBaseUser | None) -> None:
    """Make what a line holds free again."""
    _lock(line)
    if line.held:
        stock_release(line.supply, quantity=_units(line.held), reason=reason, by=by)
        _change(line, held=0)


def line_shorten(line: ReservedSupply, amount: int, *, by: AbstractBaseUser | None) -> None:
    """Let a job go without so much of what it holds; the balance is locked by whoever asks."""
    reason = _("of %(job)s, not on the shelf") % {"job": line.reservation.commission.code}
    stock_release(line.supply, quantity=_units(amount), reason=reason, by=by)
    _change(line, held=line.held - amount)


def _change(line: ReservedSupply, *, held: int) -> None:
    line.held = held
    line.save(update_fields=["held"])


def _units(thousandths: int) -> Decimal:
    return Decimal(thousandths) / THOUSANDTHS


@transaction.atomic
def supplies_release(
    commission: Commission, *, by: AbstractBaseUser | None, state: str = State.RELEASED
) -> bool:
    """Make everything reserved for a job free again, once; return whether anything was open."""
    Commission.objects.select_for_update().get(pk=commission.pk)
    reservation = Reservation.objects.filter(commission=commission).first()
    if reservation is None or not _end(reservation, state, by=by):
        return False
    reason = _("of %(job)s") % {"job": commission.code}
    if state == State.LAPSED:
        reason = _("of %(job)s, the deposit is late") % {"job": commission.code}
    for line in reservation.lines.select_related("supply"):
        _let_go(line, reason, by=by)
    return True


@transaction.atomic
def supplies_use_up(commission: Commission, *, by: AbstractBaseUser | None) -> list[ReservedSupply]:
    """Book what a job has reserved as used, now that its pairs are made; return what was short.

    Where somebody wrote down what was really used, that stands, and what is still reserved goes
    back. Where nothing was written, what was planned is used, of the free stock as well if not all
    was reserved; never more than there is.
    """
    Commission.objects.select_for_update().get(pk=commission.pk)
    reservation = Reservation.objects.filter(commission=commission).first()
    if reservation is None or not _end(reservation, State.USED, by=by):
        return []
    short = []
    for line in reservation.lines.select_related("supply"):
        _lock(line)
        if not line.taken:
            _hold(line, commission, by=by)
            if line.missing:
                short.append(line)
            if line.held:
                stock_use_for(line.supply, commission=commission, quantity=_units(line.held), by=by)
        _let_go(line, _("of %(job)s, it is made") % {"job": commission.code}, by=by)
    return short


def _end(reservation: Reservation, state: str, *, by: AbstractBaseUser | None) -> bool:
    # Guarded: of two at once, or of one run twice, only the first finds it open.
    before = fields_of(reservation)
    ended = Reservation.objects.filter(pk=reservation.pk, state=State.OPEN).update(
        state=state, ended_at=timezone.now()
    )
    if ended:
        reservation.refresh_from_db()
        audit_write(reservation, by=by, action=state, before=before)
    return bool(ended)


@transaction.atomic
def deposit_note(
    commission: Commission,
    *,
    is_paid: bool,
    by: AbstractBaseUser | None,
    on: datetime.date | None = None,
) -> None:
    """Note that a job's deposit is here, since today if no day is said, or not after all.

    Raises
    ------
    ValidationError
        Nothing was reserved for the job.
    """
    Commission.objects.select_for_update().get(pk=commission.pk)
    reservation = Reservation.objects.filter(commission=commission).first()
    if reservation is None:
        raise ValidationError(
            _("Nothing is reserved for %(job)s, so no deposit is waited for.")
            % {"job": commission.code},
            code="no_reservation",
        )
    if is_paid == (reservation.deposit_paid_on is not None):
        return
    before = fields_of(reservation)
    reservation.deposit_paid_on = (on or timezone.localdate()) if is_paid else None
    reservation.save(update_fields=["deposit_paid_on"])
    action = "deposit paid" if is_paid else "deposit not paid"
    audit_write(reservation, by=by, action=action, before=before)


def reservations_lapse(today: datetime.date | None = None) -> list[Commission]:
    """Let every reservation go whose deposit is late, with the hides kept for its job.

    The last day still counts. A job that is in work keeps what it has. Each is let go in a
    transaction of its own and once, however often this runs; returned are those let go now.
    """
    day = today or timezone.localdate()
    late = Reservation.objects.filter(
        state=State.OPEN,
        deposit_due_on__lt=day,
        deposit_paid_on=None,
        commission__state=Commission.State.ACCEPTED,
    )
    jobs = Commission.objects.filter(reservation__in=late).order_by("pk")
    return [job for job in jobs if _lapse(job, late)]


@transaction.atomic
def _lapse(job: Commission, late: Iterable[Reservation]) -> bool:
    Commission.objects.select_for_update().get(pk=job.pk)
    # Looked at again under the lock: the deposit may have come, or the work begun.
    if not late.filter(commission=job).exists():
        return False
    hides_release_all(job, by=None)
    return supplies_release(job, by=None, state=State.LAPSED)


@transaction.atomic
def move_book(
    supply: Supply,
    *,
    kind: str,
    quantity: Decimal,
    reason: str,
    by: AbstractBaseUser | None,
    paid: Decimal | None = None,
) -> StockMove:
    """Book one line as the ledger's form gives it: bought, used up or counted."""
    if kind == StockMove.Kind.COUNTED:
        return stock_count(supply, counted=quantity, reason=reason, by=by)
    if kind == StockMove.Kind.BOUGHT:
        move = stock_buy(supply, quantity=quantity, paid=paid, reason=reason, by=by)
        waiting_serve(supply, by=by)
        return move
    return stock_use(supply, quantity=quantity, reason=reason, by=by)


def waiting_serve(supply: Supply, *, by: AbstractBaseUser | None) -> None:
    """Reserve what came in for the jobs that miss it, the one accepted first at first."""
    lines = ReservedSupply.objects.missing_some().filter(supply=supply)
    for line in lines.select_related("supply", "reservation__commission").order_by(
        "reservation_id"
    ):
        _hold(line, line.reservation.commission, by=by)
