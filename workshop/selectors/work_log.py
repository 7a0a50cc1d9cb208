"""What is planned for a job, and what was written down of it so far."""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db.models import QuerySet

from costing.counted import planned_minutes
from costing.job import Job
from costing.money import round_half_up
from workshop.models import Commission, Quote, RateCard, RepairPrice, StockRun, Supply, WorkLog
from workshop.models.stock import THOUSANDTHS
from workshop.services.work_log import minutes_so_far
from workshop.stored_jobs import stored_job
from workshop.templatetags.stock_words import counted, figure

# A stretch longer than this was most likely left running; common practice, no source.
LONG_STRETCH_MIN = Decimal(600)
PLANNED_PLACES = 2


@dataclass(slots=True)
class StepShown:
    """A step of a job: what it was planned at, what it took, and whether it runs."""

    name: str
    passive: bool
    planned_min: Fraction | None
    taken_min: Decimal = Decimal(0)
    running: list[WorkLog] = field(default_factory=list)
    is_timed: bool = False

    def running_of(self, by: AbstractBaseUser) -> WorkLog | None:
        """Return the person's own timer on it, of waiting anybody's."""
        return next((row for row in self.running if row.passive or row.made_by_id == by.pk), None)


def quote_behind(commission: Commission, *parts: str) -> dict[str, Any] | None:
    """Return parts of the snapshot a job is made by: the accepted quote's, else the newest's."""
    states = Quote.State
    quotes = Quote.objects.filter(commission=commission).exclude(
        state__in=[states.DECLINED, states.WITHDRAWN]
    )
    chosen = quotes.filter(state=states.ACCEPTED).first() or quotes.order_by("-version").first()
    return None if chosen is None else snapshot_parts([chosen.pk], *parts)[chosen.pk]


def plans_behind(commission: Commission, *parts: str) -> list[dict[str, Any]]:
    """Return parts of what a job is made by: its quote's snapshot, or each line of its plan.

    Empty while there is neither.
    """
    if not commission.is_for_stock:
        snapshot = quote_behind(commission, *parts) or repair_behind(commission, *parts)
        return [] if snapshot is None else [snapshot]
    lines = plans_for_stock([commission.pk]).get(commission.pk, [])
    return [{key: line[key] for key in parts} for line in lines]


def repair_behind(commission: Commission, *parts: str) -> dict[str, Any] | None:
    """Return parts of what a repair was priced by; it has no bill of materials."""
    prices = RepairPrice.objects.filter(repair__commission=commission)
    newest = prices.order_by("-version").first()
    if newest is None:
        return None
    whole: dict[str, Any] = {"job": newest.job, "breakdown": newest.breakdown, "bill": []}
    return {part: whole[part] for part in parts}


def plans_for_stock(job_ids: Iterable[int]) -> dict[int, list[dict[str, Any]]]:
    """Return the planned lines of jobs for stock by the jobs' ids; those not begun are left out."""
    runs = StockRun.objects.filter(pk__in=list(job_ids), plan__isnull=False)
    return dict(runs.values_list("pk", "plan__lines"))


def snapshot_parts(quote_ids: Iterable[int], *parts: str) -> dict[int, dict[str, Any]]:
    """Return parts of quotes' snapshots by the quotes' ids, without their drawings."""
    rows = Quote.objects.filter(pk__in=quote_ids).values_list(
        "pk", *(f"snapshot__{part}" for part in parts)
    )
    return {row[0]: dict(zip(parts, row[1:], strict=True)) for row in rows}


def planned_steps(commission: Commission) -> list[StepShown]:
    """Return the steps a job is planned with: its quote's, else those of the rate card."""
    planned = minutes_planned(stored_job(plan["job"]) for plan in plans_behind(commission, "job"))
    if planned:
        return [StepShown(name, passive, minutes) for (name, passive), minutes in planned.items()]
    card = RateCard.objects.order_by("-version").first()
    rows = card.steps.all() if card is not None else ()
    names = dict.fromkeys((row.name, row.passive) for row in rows)
    return [StepShown(name, passive, None) for name, passive in names]


def minutes_planned(jobs: Iterable[Job]) -> dict[tuple[str, bool], Fraction]:
    """Return the minutes that jobs plan together for each step, by name and whether passive."""
    together: dict[tuple[str, bool], Fraction] = {}
    for job in jobs:
        for key, minutes in planned_minutes(job).items():
            together[key] = together.get(key, Fraction(0)) + minutes
    return together


def stretches(commission: Commission) -> QuerySet[WorkLog]:
    """Return what was written down of a job, newest first."""
    return WorkLog.objects.filter(commission=commission).select_related("made_by")


def steps_shown(commission: Commission, entries: Iterable[WorkLog]) -> list[StepShown]:
    """Return every step of a job, planned or not, with what it took so far."""
    steps = {(step.name, step.passive): step for step in planned_steps(commission)}
    for entry in entries:
        key = (entry.step, entry.passive)
        step = steps.setdefault(key, StepShown(*key, None))
        step.taken_min += entry.minutes or Decimal(0)
        step.is_timed = True
        if entry.is_running:
            step.running.append(entry)
    return list(steps.values())


def running_timers(by: AbstractBaseUser) -> list[WorkLog]:
    """Return what runs for a person: their work, and whatever waits."""
    running = WorkLog.objects.filter(minutes=None).select_related("commission__doll", "made_by")
    return [row for row in running if row.passive or row.made_by_id == by.pk]


def is_long(entry: WorkLog, now: datetime.datetime) -> bool:
    """Return whether a stretch of work is longer than anybody works at once."""
    return not entry.passive and minutes_so_far(entry, now) > LONG_STRETCH_MIN


@dataclass(frozen=True, slots=True)
class SupplyUse:
    """What a job was to take of a supply, in the bill's words, and what was booked for it."""

    supply: Supply
    planned: str
    booked: Decimal


def supply_uses(commission: Commission) -> list[SupplyUse]:
    """Return the supplies of a job's bill with what was booked, and others booked for it."""
    planned = planned_supplies(plans_behind(commission, "bill", "job"))
    booked = booked_quantities(commission)
    found = Supply.objects.filter(name__in=planned) | Supply.objects.filter(pk__in=booked)
    return [
        SupplyUse(supply, planned.get(supply.name, ""), booked.get(supply.pk, Decimal(0)))
        for supply in found.order_by("kind", "name")
    ]


def planned_supplies(plans: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """Return how much of each line of the bills all pairs take, waste included, by its name."""
    taken: dict[str, dict[str, Fraction]] = {}
    for plan in plans:
        pairs = int(plan["job"]["quantity"])
        for line in plan["bill"]:
            of_line = taken.setdefault(line["name"], {})
            kept = 1 - Fraction(line["waste_share"])
            unit = str(line["unit"])
            amount = Fraction(line["quantity"]) * pairs / kept
            of_line[unit] = of_line.get(unit, Fraction(0)) + amount
    return {
        name: " + ".join(
            _counted(round_half_up(amount, PLANNED_PLACES), unit) for unit, amount in units.items()
        )
        for name, units in taken.items()
    }


def _counted(quantity: Decimal, unit: str) -> str:
    known = unit in Supply.Unit.values
    return counted(quantity, unit) if known else f"{figure(quantity)}\u00a0{unit}"


def booked_quantities(commission: Commission) -> dict[int, Decimal]:
    """Return what was booked for a job by the supplies' ids, in their units."""
    booked: dict[int, Decimal] = {}
    moves = commission.stock_moves.values_list("supply_id", "on_hand_change")
    for supply_id, change in moves:
        booked[supply_id] = booked.get(supply_id, Decimal(0)) - Decimal(change) / THOUSANDTHS
    return booked
