"""The work log: timers started and stopped, minutes written by hand, and corrected.

A press of a button may be sent late, after a lost connection, and twice: each carries a key of its
own and how long ago it was made.
"""

import datetime
from decimal import Decimal
from fractions import Fraction

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from costing.money import round_half_up
from workshop.models import Commission, WorkLog
from workshop.services.records import audit_write, fields_of, record_save

MINUTES_PLACES = 2
SECONDS_PER_MINUTE = 60
LATEST = datetime.timedelta(days=7)  # an older press is taken as made a week ago
CLOSED = (Commission.State.DECLINED, Commission.State.WITHDRAWN)


def pressed_at(ago: datetime.timedelta) -> datetime.datetime:
    """Return when a button was pressed that is said to have been pressed so long ago."""
    return timezone.now() - min(max(ago, datetime.timedelta(0)), LATEST)


@transaction.atomic
def work_start(
    commission: Commission,
    *,
    step: str,
    passive: bool,
    at: datetime.datetime,
    key: str,
    by: AbstractBaseUser,
) -> WorkLog:
    """Start a person's timer on a step; the one that ran for them stops at that moment.

    Where a later one of theirs runs already, as after a press that was sent late, the new stretch
    ends where that one began. Waiting runs beside the work, once for a step of a job. The press
    that was sent before is found by its key and starts nothing more.

    Raises
    ------
    ValidationError
        The job was declined or withdrawn, or a field does not hold.
    """
    # Locked, so that of two presses at once the second finds what the first has started.
    get_user_model().objects.select_for_update().get(pk=by.pk)
    known = WorkLog.objects.filter(start_key=key).first()
    if known is not None:
        return known
    _check_open(commission)
    running = WorkLog.objects.filter(minutes=None, passive=passive)
    if passive:
        same = running.filter(commission=commission, step=step).first()
        if same is not None:
            return same
    later = None
    if not passive:
        for other in running.filter(made_by=by):
            assert other.started_at is not None
            if other.started_at > at:
                later = other.started_at
            else:
                work_stop(other, at=at, by=by)
    entry = WorkLog(
        commission=commission,
        step=step,
        passive=passive,
        started_at=at,
        worked_on=timezone.localdate(at),
        stopped_at=later,
        minutes=None if later is None else _minutes_between(at, later),
        start_key=key,
        made_by=by,
    )
    record_save(entry, by=by, action="started")
    return entry


@transaction.atomic
def work_stop(entry: WorkLog, *, at: datetime.datetime, by: AbstractBaseUser) -> None:
    """Stop a running timer, once; of several presses the earliest counts.

    One that was written by hand meanwhile stays as it is.
    """
    before = fields_of(entry)
    assert entry.started_at is not None
    at = max(at, entry.started_at)
    open_or_longer = Q(minutes=None) | Q(stopped_at__gt=at)
    stopped = WorkLog.objects.filter(open_or_longer, pk=entry.pk, by_hand=False).update(
        stopped_at=at, minutes=_minutes_between(entry.started_at, at)
    )
    entry.refresh_from_db()
    if stopped:
        audit_write(entry, by=by, action="stopped", before=before)


@transaction.atomic
def work_write(entry: WorkLog, *, by: AbstractBaseUser) -> None:
    """Keep a stretch written by hand, new or corrected; its timer, if it ran, is over.

    Raises
    ------
    ValidationError
        The job was declined or withdrawn, or a field does not hold.
    """
    _check_open(entry.commission)
    if entry._state.adding:
        entry.made_by = by
    elif entry.stopped_at is None and entry.started_at is not None:
        entry.stopped_at = max(timezone.now(), entry.started_at)
    entry.by_hand = True
    record_save(entry, by=by)


@transaction.atomic
def work_remove(entry: WorkLog, *, by: AbstractBaseUser) -> None:
    """Take a stretch out; the trail keeps what was written."""
    audit_write(entry, by=by, action="taken out")
    entry.delete()


def may_write(entry: WorkLog, *, by: AbstractBaseUser, is_owner: bool) -> bool:
    """Return whether a person may stop or correct a stretch: their own, or waiting."""
    return is_owner or entry.passive or entry.made_by_id == by.pk


def minutes_so_far(entry: WorkLog, now: datetime.datetime) -> Decimal:
    """Return the minutes of a stretch, of one that runs until now."""
    if entry.minutes is not None or entry.started_at is None:
        return entry.minutes or Decimal(0)
    return _minutes_between(entry.started_at, now)


def _minutes_between(start: datetime.datetime, end: datetime.datetime) -> Decimal:
    seconds = Fraction(str(max(0.0, (end - start).total_seconds())))
    return round_half_up(seconds / SECONDS_PER_MINUTE, MINUTES_PLACES)


def _check_open(commission: Commission) -> None:
    if commission.state in CLOSED:
        raise ValidationError(
            _("%(job)s is %(state)s; no work is written down for it any more.")
            % {"job": commission.code, "state": commission.get_state_display()},
            code="job_closed",
        )
