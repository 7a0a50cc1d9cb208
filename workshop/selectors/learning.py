"""What timings propose for the steps of the rate card in use; nothing changes by itself."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from costing.actuals import ESTIMATE_COUNTS_AS, LearnedMinutes, learn_minutes
from costing.counted import minutes_by_timing
from costing.job import Job
from costing.money import round_half_up
from costing.overhead import PERCENT
from workshop.bridge import as_written
from workshop.models import (
    Commission,
    Quote,
    RateCard,
    StockRun,
    TimingTaken,
    WorkLog,
    WorkStepRow,
)
from workshop.selectors.work_log import minutes_planned, snapshot_parts
from workshop.stored_jobs import stored_job

RULE_PLACES = 3  # as the rate card keeps minutes
MOST_JOBS = 200  # the newest finished ones; older timings have been decided on long since


@dataclass(frozen=True, slots=True)
class Timing:
    """What one job says of a step: the minutes its rule should have had."""

    commission: Commission
    minutes: Decimal


@dataclass(frozen=True, slots=True)
class Proposal:
    """New minutes for a step of the rate card in use, with the timings behind them."""

    row: WorkStepRow
    timings: tuple[Timing, ...]
    learned: LearnedMinutes

    @property
    def proposed_min(self) -> Decimal:
        """Return the minutes proposed, as a rate card keeps them."""
        return round_half_up(self.learned.proposed_min, RULE_PLACES)

    @property
    def change(self) -> Decimal:
        """Return how much more the step would be planned at."""
        return as_written(self.proposed_min - self.row.minutes)

    @property
    def next_percent(self) -> Decimal:
        """Return how far the next timing will move it, in per cent of its difference."""
        return round_half_up(self.learned.next_weight * PERCENT, 0)

    @property
    def per_words(self) -> str:
        """Return what the minutes are for."""
        return str(self.row.get_per_display())


def proposals(card: RateCard | None) -> list[Proposal]:
    """Return what the finished jobs' timings propose, step by step in the card's order.

    A step whose name stands more than once on a card says not which rule was timed, and is left
    out.
    """
    if card is None:
        return []
    timings = _timings()
    found = []
    for row in _named_once(card.steps.all()).values():
        of_row = timings.get((row.name, row.per, row.passive), [])
        if of_row:
            learned = learn_minutes(
                as_written(row.minutes),
                [timing.minutes for timing in of_row],
                counts_as=ESTIMATE_COUNTS_AS + row.timings_in,
            )
            found.append(Proposal(row, tuple(of_row), learned))
    return found


StepKey = tuple[str, str, bool]  # name, per, passive


def _timings() -> dict[StepKey, list[Timing]]:
    """Return the timings of finished jobs that no rate card has taken in, oldest first."""
    # One whose pairs went to the shelf instead of to its customer was worked at all the same.
    finished = Commission.objects.filter(finished_at__isnull=False)
    jobs = {job.pk: job for job in finished.order_by("-finished_at")[:MOST_JOBS]}
    quotes = Quote.objects.filter(commission__in=jobs, state=Quote.State.ACCEPTED)
    of_quote = dict(quotes.values_list("pk", "commission_id"))
    parts = snapshot_parts(of_quote, "job", "rate_card")
    by_job = {
        of_quote[pk]: (int(snapshot["rate_card"]), [stored_job(snapshot["job"])])
        for pk, snapshot in parts.items()
    }
    by_job |= _for_stock(jobs)
    rules = _rules({card for card, _planned in by_job.values()})
    taken = _taken_minutes(by_job)
    used = set(
        TimingTaken.objects.filter(commission__in=jobs).values_list("commission_id", "step", "per")
    )
    found: dict[StepKey, list[Timing]] = {}
    for key in sorted(by_job, key=lambda pk: (jobs[pk].finished_at, pk)):
        card, planned = by_job[key]
        for row, minutes in _job_timings(planned, rules.get(card, {}), taken.get(key, {})):
            if (key, row.name, row.per) not in used:
                step: StepKey = (row.name, row.per, row.passive)
                found.setdefault(step, []).append(Timing(jobs[key], minutes))
    return found


def _for_stock(jobs: Iterable[int]) -> dict[int, tuple[int, list[Job]]]:
    """Return the rate card and the planned lines of the jobs without a customer, by their ids."""
    runs = StockRun.objects.filter(pk__in=list(jobs), plan__isnull=False)
    rows = runs.values_list("pk", "plan__rate_card", "plan__lines")
    return {
        pk: (int(card), [stored_job(line["job"]) for line in lines]) for pk, card, lines in rows
    }


def _job_timings(
    jobs: Iterable[Job],
    rules: dict[str, WorkStepRow],
    taken: dict[tuple[str, bool], Decimal],
) -> Iterable[tuple[WorkStepRow, Decimal]]:
    planned = minutes_planned(jobs)
    for step, minutes in taken.items():
        row = rules.get(step[0])
        if row is None or row.passive != step[1] or step not in planned:
            continue
        timing = minutes_by_timing(row.minutes, planned_min=planned[step], taken_min=minutes)
        if timing is not None:
            yield row, timing


def _rules(versions: Iterable[int]) -> dict[int, dict[str, WorkStepRow]]:
    cards = RateCard.objects.filter(version__in=versions).prefetch_related("steps")
    return {card.version: _named_once(card.steps.all()) for card in cards}


def _named_once(rows: Iterable[WorkStepRow]) -> dict[str, WorkStepRow]:
    """Return the steps by name that have their name for themselves."""
    listed = list(rows)
    names = Counter(row.name for row in listed)
    return {row.name: row for row in listed if names[row.name] == 1}


def _taken_minutes(jobs: Iterable[int]) -> dict[int, dict[tuple[str, bool], Decimal]]:
    rows = WorkLog.objects.filter(commission__in=list(jobs), minutes__isnull=False)
    found: dict[int, dict[tuple[str, bool], Decimal]] = {}
    for key, name, passive, minutes in rows.values_list(
        "commission_id", "step", "passive", "minutes"
    ):
        of_job = found.setdefault(key, {})
        of_job[name, passive] = of_job.get((name, passive), Decimal(0)) + minutes
    return found
