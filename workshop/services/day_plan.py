"""Working hours, days off and the like put in use; the order of the open jobs changed."""

from collections.abc import Iterable, Mapping, Sequence

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from costing.errors import PlanError
from costing.working_hours import WorkingHours
from workshop.models import (
    Commission,
    DayOff,
    DaySettings,
    JobTurn,
    PostDays,
    StepPlace,
    WorkingDay,
)
from workshop.selectors.day_plan import OPEN, open_jobs, stretches_of, zone_name
from workshop.services.records import audit_write, fields_of, record_save


@transaction.atomic
def day_settings_save(
    settings: DaySettings,
    *,
    week: Sequence[WorkingDay],
    days_off: Sequence[DayOff],
    post: Sequence[PostDays],
    places: Sequence[StepPlace],
    by: AbstractBaseUser | None,
) -> None:
    """Put working hours, coming days off, days in the post and places of steps in use.

    All records are unsaved and take the place of those there are; days off that are over stay.

    Raises
    ------
    ValidationError
        No working day, hours that overlap, or a field that does not hold; nothing is stored.
    """
    try:
        days = {row.weekday: stretches_of(row) for row in week}
        WorkingHours(zone_name(), tuple(days.get(weekday, ()) for weekday in range(7)))
    except PlanError as error:
        raise ValidationError(str(error), code=error.code) from None
    record_save(settings, by=by)
    _replace(WorkingDay.objects.all(), week, ("weekday",), by=by)
    coming = DayOff.objects.filter(last_on__gte=timezone.localdate())
    _replace(coming, days_off, ("first_on", "last_on"), by=by)
    _replace(PostDays.objects.all(), post, ("country",), by=by)
    named = StepPlace.objects.filter(name__in=[row.name for row in places])
    _replace(named, places, ("name",), by=by)


def _replace(
    stored: models.QuerySet,
    wanted: Sequence[models.Model],
    keys: tuple[str, ...],
    *,
    by: AbstractBaseUser | None,
) -> None:
    """Make the stored records the wanted ones; what stays the same is not written again."""
    there = {tuple(getattr(row, key) for key in keys): row for row in stored}
    for row in wanted:
        old = there.pop(tuple(getattr(row, key) for key in keys), None)
        if old is not None:
            row.pk, row._state.adding = old.pk, False
            if fields_of(row) == fields_of(old):
                continue
        record_save(row, by=by)
    for row in there.values():
        audit_write(row, by=by, action="taken out")
        row.delete()


@transaction.atomic
def jobs_order(job_ids: Iterable[int], *, by: AbstractBaseUser | None) -> None:
    """Make the open jobs in this order; those that are not named come last, as they stood.

    Raises
    ------
    ValidationError
        A job is named that is not open any more, or one is named twice; nothing is stored.
    """
    wanted = list(job_ids)
    # Locked, so that of two orders typed at once one is whole.
    states = (*OPEN, Commission.State.FINISHED)
    list(Commission.objects.select_for_update().filter(state__in=states).order_by("pk"))
    open_ids = [job.commission.pk for job in open_jobs(timezone.now())]
    if len(set(wanted)) != len(wanted):
        raise ValidationError(_("A job stands twice in that order."), code="job_twice")
    if not set(wanted) <= set(open_ids):
        raise ValidationError(
            _("A job in that order is not open any more; look at the list again."), code="not_open"
        )
    order = [*wanted, *(pk for pk in open_ids if pk not in wanted)]
    JobTurn.objects.exclude(commission__in=order).delete()
    turns = {turn.commission_id: turn for turn in JobTurn.objects.all()}
    for position, pk in enumerate(order, 1):
        turn = turns.get(pk)
        if turn is None:
            turn = JobTurn(commission_id=pk, position=position)
        elif turn.position == position:
            continue
        turn.position = position
        record_save(turn, by=by)


def order_moved(order: Sequence[int], job_id: int, steps: int) -> list[int]:
    """Return an order with one job moved by so many places, no further than the ends.

    >>> order_moved([7, 8, 9], 9, -1)
    [7, 9, 8]
    """
    rest = [pk for pk in order if pk != job_id]
    at = min(max(0, list(order).index(job_id) + steps), len(rest))
    return [*rest[:at], job_id, *rest[at:]]


def order_typed(order: Sequence[int], typed: Mapping[int, int]) -> list[int]:
    """Return an order after turns were typed: a changed turn goes where it says, the rest move up.

    >>> order_typed([7, 8, 9], {7: 1, 8: 2, 9: 1})
    [9, 7, 8]
    """
    stood = {pk: turn for turn, pk in enumerate(order, 1)}
    moved = sorted(
        (pk for pk in order if typed.get(pk, stood[pk]) != stood[pk]),
        key=lambda pk: (typed[pk], stood[pk]),
    )
    result = [pk for pk in order if pk not in moved]
    for pk in moved:
        result.insert(typed[pk] - 1, pk)
    return result
