"""What is planned for a job, and what was written down of it so far."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db.models import QuerySet

from costing.counted import planned_minutes
from costing.job_file import job_from_document
from costing.money import round_half_up
from workshop.models import Commission, Quote, RateCard, Supply, WorkLog
from workshop.models.stock import THOUSANDTHS
from workshop.services.work_log import minutes_so_far
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


def snapshot_parts(quote_ids: Iterable[int], *parts: str) -> dict[int, dict[str, Any]]:
    """Return parts of quotes' snapshots by the quotes' ids, without their drawings."""
    rows = Quote.objects.filter(pk__in=quote_ids).values_list(
        "pk", *(f"snapshot__{part}" for part in parts)
    )
    return {row[0]: dict(zip(parts, row[1:], strict=True)) for row in rows}


def planned_steps(commission: Commission) -> list[StepShown]:
    """Return the steps a job is planned with: its quote's, else those of the rate card."""
    snapshot = quote_behind(commission, "job")
    if snapshot is not None:
        planned = planned_minutes(job_from_document(snapshot["job"]))
        return [StepShown(name, passive, minutes) for (name, passive), minutes in planned.items()]
    card = RateCard.objects.order_by("-version").first()
    rows = card.steps.all() if card is not None else ()
    names = dict.fromkeys((row.name, row.passive) for row in rows)
    return [StepShown(name, passive, None) for name, passive in names]


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
    planned = planned_supplies(quote_behind(commission, "bill", "job"))
    booked = booked_quantities(commission)
    found = Supply.objects.filter(name__in=planned) | Supply.objects.filter(pk__in=booked)
    return [
        SupplyUse(supply, planned.get(supply.name, ""), booked.get(supply.pk, Decimal(0)))
        for supply in found.order_by("kind", "name")
    ]


def planned_supplies(snapshot: dict[str, Any] | None) -> dict[str, str]:
    """Return how much of each line of a bill an order takes, waste included, by its name."""
    if snapshot is None:
        return {}
    pairs = int(snapshot["job"]["quantity"])
    words: dict[str, str] = {}
    for line in snapshot["bill"]:
        kept = 1 - Fraction(line["waste_share"])
        taken = Fraction(line["quantity"]) * pairs / kept
        text = _counted(round_half_up(taken, PLANNED_PLACES), str(line["unit"]))
        known = words.get(line["name"])
        words[line["name"]] = text if known is None else f"{known} + {text}"
    return words


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
