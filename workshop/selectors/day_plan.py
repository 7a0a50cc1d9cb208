"""The day plan: open jobs with what is left of their steps, put into the working hours."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import ceil
from typing import Any

from django.db.models import Q
from django.utils import timezone

from costing.day_plan import DayPlan, JobToDo, StepToDo, plan_work
from costing.errors import CostError, PlanError
from costing.job import Job
from costing.working_hours import Stretch, WorkingHours, instant_from, instant_of, moment_of
from workshop.forms.rates import first_steps
from workshop.models import (
    Commission,
    DayOff,
    DaySettings,
    PostDays,
    Quote,
    RateCard,
    RepairAnswer,
    StepPlace,
    WorkingDay,
    WorkLog,
)
from workshop.read_once import read_once
from workshop.selectors.day_order import after_the_work, in_turn
from workshop.selectors.work_log import minutes_planned, plans_for_stock, snapshot_parts
from workshop.services.work_log import minutes_so_far
from workshop.stored_jobs import stored_job

State = Commission.State
OPEN = (State.ACCEPTED, State.IN_WORK)
# Hours that stand in until the owner has said their own; invented.
FIRST_STRETCHES: tuple[Stretch, ...] = (
    (datetime.time(9), datetime.time(12)),
    (datetime.time(13), datetime.time(17)),
)
FIRST_WEEK = (FIRST_STRETCHES,) * 5 + ((),) * 2
StepKey = tuple[str, bool]
MOST_STEPS = 1_000  # of one job; a filling that is next to nothing must not make them endless


@dataclass(frozen=True, slots=True)
class OpenJob:
    """An open job as it is planned: what is left of it, and what was promised.

    ``fault`` says why it cannot be planned, in words; empty where it can.
    """

    commission: Commission
    to_do: JobToDo
    promised_on: datetime.date | None = None
    fault: str = ""


@dataclass(frozen=True, slots=True)
class PlannedJob:
    """An open job in its turn, and when it is ready; None where it cannot be planned."""

    turn: int
    job: OpenJob
    ready_on: datetime.date | None
    left_min: int
    post_days: int = 0

    @property
    def due_on(self) -> datetime.date | None:
        """Return the day it must be ready: as promised, or early enough to be there as wanted."""
        wanted = self.job.commission.wanted_on
        days = [self.job.promised_on]
        days.append(None if wanted is None else wanted - datetime.timedelta(days=self.post_days))
        return min((day for day in days if day is not None), default=None)

    @property
    def days_late(self) -> int:
        """Return the days it is ready after it is due; 0 where it is in time."""
        due = self.due_on
        if due is None or self.ready_on is None:
            return 0
        return max(0, (self.ready_on - due).days)


@dataclass(frozen=True, slots=True)
class DaysShown:
    """All open jobs in their order, their plan, and the hours it was made by."""

    jobs: list[PlannedJob]
    plan: DayPlan
    hours: WorkingHours
    is_own_hours: bool
    fault: str = ""

    @property
    def late(self) -> list[PlannedJob]:
        """Return the jobs that will not be ready in time."""
        return [row for row in self.jobs if row.days_late]


def zone_name() -> str:
    """Return the name of the workshop's time zone."""
    return timezone.get_current_timezone_name()


def hours_in_use() -> tuple[WorkingHours, bool]:
    """Return the working hours with the days off, and whether the owner has said them."""
    days = {row.weekday: stretches_of(row) for row in WorkingDay.objects.all()}
    week: Sequence[Sequence[Stretch]] = FIRST_WEEK
    if days:
        week = tuple(days.get(weekday, ()) for weekday in range(7))
    return WorkingHours(zone_name(), week, _days_off()), bool(days)


def stretches_of(row: WorkingDay) -> tuple[Stretch, ...]:
    """Return the stretches of work of a weekday."""
    first = ((row.begins, row.ends),)
    if row.begins_again is None or row.ends_again is None:
        return first
    return (*first, (row.begins_again, row.ends_again))


def _days_off() -> frozenset[datetime.date]:
    rows = DayOff.objects.filter(last_on__gte=timezone.localdate() - datetime.timedelta(days=1))
    return frozenset(
        row.first_on + datetime.timedelta(days=n)
        for row in rows
        for n in range((row.last_on - row.first_on).days + 1)
    )


@dataclass(frozen=True, slots=True)
class ToPost:
    """Days in the post by country, written small; the empty one is anywhere else."""

    days: Mapping[str, int]

    def of(self, country: str) -> int | None:
        """Return the days to a country, else to anywhere else; None without a line."""
        wanted = " ".join(country.split()).casefold()
        return self.days.get(wanted, self.days.get(""))


def post_days() -> ToPost:
    """Return the days in the post to every country that has a line."""
    return ToPost({row.country.casefold(): row.days for row in PostDays.objects.all()})


@dataclass(frozen=True, slots=True)
class Places:
    """Where each step is done and on what: as the owner said, else as the first steps come."""

    said: Mapping[str, tuple[str, str]]

    def of(self, name: str, passive: bool) -> tuple[str, str]:
        """Return where a step is done and on which part; only what waits can be in the oven."""
        where, part = self.said.get(name) or first_places().get(name, ("drying", "whole"))
        if not passive:
            return "hands", part
        return ("drying" if where == "hands" else where), part


@cache
def first_places() -> dict[str, tuple[str, str]]:
    """Return the places of the steps a first rate card begins with."""
    return {
        step["name"]: (step.get("where", "drying"), step.get("part", "whole"))
        for step in first_steps()
    }


@read_once
def places_said() -> Places:
    """Return the places of all steps."""
    rows = StepPlace.objects.values_list("name", "where", "part")
    return Places({name: (where, part) for name, where, part in rows})


def step_names() -> list[StepKey]:
    """Return the steps of the rate card in use, by name and whether they wait."""
    card = RateCard.objects.order_by("-version").first()
    rows = card.steps.all() if card is not None else ()
    return list(dict.fromkeys((row.name, row.passive) for row in rows))


def steps_to_do(
    jobs: Sequence[Job], taken: Mapping[StepKey, Fraction], places: Places
) -> tuple[StepToDo, ...]:
    """Return what is left of the steps of jobs made together, in whole minutes rounded up.

    A step that something was written down of is over once a later step on the same part was begun,
    even where it took less than planned. The oven is filled once a pair or once a job, as the rate
    card has it, and each filling is a step of its own.
    """
    planned = minutes_planned(jobs)
    filling = _fillings_min(jobs)
    names = list(planned)
    begun = [names.index(key) for key in taken if key in planned and taken[key]]
    steps = []
    for index, key in enumerate(names):
        where, part = places.of(*key)
        left = max(Fraction(0), planned[key] - taken.get(key, Fraction(0)))
        if index in begun and any(
            later > index and _follows(places.of(*names[later])[1], part) for later in begun
        ):
            left = Fraction(0)
        most = filling.get(key, left) if where == "oven" else left
        while left > most > 0 and len(steps) < MOST_STEPS:
            steps.append(StepToDo(key[0], ceil(most), where, part))
            left -= most
        steps.append(StepToDo(key[0], ceil(left), where, part))
    return tuple(steps)


def _fillings_min(jobs: Iterable[Job]) -> dict[StepKey, Fraction]:
    """Return the minutes of each passive step for the one pair or job it is counted for."""
    fillings: dict[StepKey, Fraction] = {}
    for job in jobs:
        for step in job.steps:
            if step.passive:
                key = (step.name, True)
                fillings[key] = max(fillings.get(key, Fraction(0)), Fraction(step.minutes))
    return fillings


def _follows(later: str, earlier: str) -> bool:
    return "whole" in (later, earlier) or later == earlier


def job_steps(job: Job, places: Places) -> tuple[StepToDo, ...]:
    """Return the steps of a job nothing was done of yet."""
    return steps_to_do([job], {}, places)


def open_jobs(now: datetime.datetime) -> list[OpenJob]:
    """Return the open jobs in the order they are made, with what is left of each.

    Of orders that are finished and not sent it is the parcel; those with nothing left are left out.
    The number of queries does not grow with the number of jobs.
    """
    is_open = Q(state__in=OPEN) | Q(state=State.FINISHED, doll__isnull=False)
    found = Commission.objects.filter(is_open).select_related("customer", "doll", "turn")
    ids = [job.pk for job in found]
    behind, promised = _jobs_behind(ids)
    jobs = in_turn(found, promised)
    taken, places, waits = _taken(ids, now), places_said(), _waits_for_leather(jobs, now)
    rows = []
    for job in jobs:
        to_do, fault = JobToDo(job.code, ()), ""
        is_made = job.state == State.FINISHED
        try:
            planned = behind.get(job.pk, ())
            planned = after_the_work(planned) if is_made else planned
            steps = steps_to_do(planned, taken.get(job.pk, {}), places)
            if is_made and not any(step.minutes for step in steps):
                continue
            to_do = JobToDo(job.code, steps, waits.get(job.pk, 0))
        except CostError as error:
            fault = str(error)
        # One that is made was ready when it was; it may still be late for the day it is wanted.
        day = None if is_made else promised.get(job.pk)
        rows.append(OpenJob(job, to_do, day, fault))
    return rows


def _jobs_behind(ids: list[int]) -> tuple[dict[int, list[Job]], dict[int, datetime.date]]:
    """Return what each job was accepted or begun by, and the days promised."""
    behind: dict[int, list[Job]] = {}
    promised = {}
    quotes = dict(
        Quote.objects.filter(commission__in=ids, state=Quote.State.ACCEPTED).values_list(
            "pk", "commission_id"
        )
    )
    for pk, parts in snapshot_parts(quotes, "job", "promise").items():
        behind[quotes[pk]] = [stored_job(parts["job"])]
        if parts["promise"]:
            promised[quotes[pk]] = datetime.date.fromisoformat(parts["promise"]["ready_on"])
    answers = RepairAnswer.objects.filter(repair__commission__in=ids)
    for key, document in answers.values_list("repair__commission_id", "price__job"):
        behind[key] = [stored_job(document)]
    for key, lines in plans_for_stock(ids).items():
        behind[key] = [stored_job(line["job"]) for line in lines]
    return behind, promised


def _taken(ids: list[int], now: datetime.datetime) -> dict[int, dict[StepKey, Fraction]]:
    """Return the minutes written down for each job and step, of what runs until now."""
    found: dict[int, dict[StepKey, Fraction]] = {}
    for entry in WorkLog.objects.filter(commission__in=ids):
        of_job = found.setdefault(entry.commission_id, {})
        key = (entry.step, entry.passive)
        of_job[key] = of_job.get(key, Fraction(0)) + Fraction(minutes_so_far(entry, now))
    return found


def _waits_for_leather(jobs: Iterable[Commission], now: datetime.datetime) -> dict[int, int]:
    """Return when jobs quoted on leather that is not here may begin: after its days of delivery."""
    ids = [job.pk for job in jobs if job.state == State.ACCEPTED]
    rows = Quote.objects.filter(
        commission__in=ids,
        state=Quote.State.ACCEPTED,
        hide=None,
        commission__hides_reserved=None,
        commission__cuttings=None,
    ).values_list("commission_id", "answered_at")
    days = DaySettings.current().delivery_days
    today = timezone.localdate(now)
    waits = {}
    for key, answered in rows:
        here = timezone.localdate(answered or now) + datetime.timedelta(days=days)
        first = max(here, today) + datetime.timedelta(days=1)
        waits[key] = instant_of(first, datetime.time(0), zone_name())
    return waits


def days_shown(now: datetime.datetime) -> DaysShown:
    """Return the plan of all open jobs; what cannot be planned is left out of it and said why."""
    hours, is_own = hours_in_use()
    settings = {"now_min": instant_from(now), "oven_places": DaySettings.current().oven_places}
    jobs = open_jobs(now)
    fault, plan = "", DayPlan((), {})
    try:
        plan, jobs = _planned(jobs, hours, settings)
    except PlanError as error:
        fault = str(error)
    rows, to = [], post_days()
    for turn, job in enumerate(jobs, 1):
        ready = None if job.fault else plan.ready_min.get(job.to_do.key)
        left = sum(step.minutes for step in job.to_do.steps if step.where == "hands")
        ready_on = None if ready is None else last_day(ready, hours.zone)
        days = 0 if job.commission.is_for_stock else to.of(job.commission.country) or 0
        rows.append(PlannedJob(turn, job, ready_on, left, days))
    return DaysShown(rows, plan, hours, is_own, fault)


def planned_job(commission: Commission, now: datetime.datetime) -> PlannedJob | None:
    """Return an open job as the day plan has it; None for a job that is not open."""
    if commission.state not in OPEN:
        return None
    rows = days_shown(now).jobs
    return next((row for row in rows if row.job.commission.pk == commission.pk), None)


def _planned(
    jobs: list[OpenJob], hours: WorkingHours, settings: Mapping[str, Any]
) -> tuple[DayPlan, list[OpenJob]]:
    """Return the plan of those jobs that can be planned, and all jobs with their faults."""
    may = [job.to_do for job in jobs if not job.fault]
    try:
        return plan_work(may, hours, **settings), jobs
    except PlanError:
        # One job too large for any day must not take the days of the others away.
        jobs = [_tried(job, hours, settings) for job in jobs]
    may = [job.to_do for job in jobs if not job.fault]
    return plan_work(may, hours, **settings), jobs


def _tried(job: OpenJob, hours: WorkingHours, settings: Mapping[str, Any]) -> OpenJob:
    try:
        plan_work([job.to_do], hours, **settings)
    except PlanError as error:
        return OpenJob(job.commission, job.to_do, job.promised_on, job.fault or str(error))
    return job


def last_day(end_min: int, zone: str) -> datetime.date:
    """Return the day of the last minute before an instant."""
    return moment_of(end_min - 1, zone).date()


def by_due_day(jobs: Sequence[PlannedJob]) -> list[int]:
    """Return the jobs' ids by the day they are due, those without one last.

    Earliest due date first makes the greatest lateness of work by one pair of hands as small as
    can be (Jackson 1955, from memory); drying and oven are left out of account.
    """
    late = datetime.date.max
    found = sorted(jobs, key=lambda row: (row.due_on or late, row.turn))
    return [row.job.commission.pk for row in found]


def step_places_shown() -> list[tuple[str, bool, str, str, bool]]:
    """Return each step of the rate card: name, whether it waits, where, part, whether said."""
    places = places_said()
    return [
        (name, passive, *places.of(name, passive), name in places.said)
        for name, passive in step_names()
    ]
