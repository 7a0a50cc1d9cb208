"""The work of all open jobs put into days: one pair of hands, an oven, and what dries meanwhile.

The rule: jobs are taken in their given order, and each step of a job goes to the first place that
is free for it. A job therefore never moves one that stands before it, which is what a promised day
needs. Within a job the step with the longest way to the end goes first, so that soles are in the
oven while the uppers are sewn. This is the serial schedule generation of project planning (Kelley,
"The critical-path method: resources planning and scheduling", in Industrial Scheduling, 1963;
priority by the longest tail); it is a rule, not an optimum.
"""

from bisect import insort
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Literal, get_args

from costing.errors import PlanError
from costing.labour import checked_name
from costing.working_hours import (
    Span,
    WorkingHours,
    WorkingLine,
    instant_of,
    longest_stretch_min,
    moment_of,
)

Where = Literal["hands", "oven", "drying"]
Part = Literal["whole", "upper", "sole"]
LONGEST_DAYS = 3 * 366
MOST_STEP_MIN = 1_000_000
MOST_OVEN_PLACES = 20


@dataclass(frozen=True, slots=True)
class StepToDo:
    """What is left of one step.

    Parameters
    ----------
    name : str
    minutes : int
        Minutes left, whole ones.
    where : {"hands", "oven", "drying"}
        By hand within working hours; in the oven, at one go within working hours, as it must be
        watched; or drying and cooling by itself, at night too.
    part : {"whole", "upper", "sole"}
        Steps on the upper and steps on the sole follow one another each by themselves; a step on
        the whole shoe waits for every step before it.
    """

    name: str
    minutes: int
    where: Where = "hands"
    part: Part = "whole"

    def __post_init__(self) -> None:
        checked_name(self.name)
        if not isinstance(self.minutes, int) or not 0 <= self.minutes <= MOST_STEP_MIN:
            raise PlanError(
                f"{self.name}: must be whole minutes from 0 to {MOST_STEP_MIN}",
                field="minutes",
                code="step_minutes",
                step=self.name,
                most=MOST_STEP_MIN,
            )
        if self.where not in get_args(Where):
            raise PlanError('must be "hands", "oven" or "drying"', field="where", code="where")
        if self.part not in get_args(Part):
            raise PlanError('must be "whole", "upper" or "sole"', field="part", code="part")


@dataclass(frozen=True, slots=True)
class JobToDo:
    """A job with its steps in their order; nothing of it begins before an instant."""

    key: str
    steps: tuple[StepToDo, ...]
    not_before_min: int = 0


@dataclass(frozen=True, slots=True)
class Block:
    """A step put into time; work by hand is broken where the working hours are."""

    job: str
    step: str
    where: Where
    spans: tuple[Span, ...]
    index: int = 0

    @property
    def begin_min(self) -> int:
        """Return when it begins."""
        return self.spans[0].begin_min

    @property
    def end_min(self) -> int:
        """Return when it ends."""
        return self.spans[-1].end_min


@dataclass(frozen=True, slots=True)
class DayPlan:
    """All blocks in the order they begin, and when each job is ready, by its key."""

    blocks: tuple[Block, ...]
    ready_min: dict[str, int]


def steps_before(steps: Sequence[StepToDo]) -> list[tuple[int, ...]]:
    """Return for each step the numbers of the steps that must be over before it begins.

    >>> steps_before([StepToDo("cutting", 10), StepToDo("sewing", 20, part="upper"),
    ...               StepToDo("soles", 5, part="sole"), StepToDo("joining", 5)])
    [(), (0,), (0,), (1, 2)]
    """
    ends: dict[Part, tuple[int, ...]] = {"upper": (), "sole": ()}
    before = []
    for index, step in enumerate(steps):
        if step.part == "whole":
            before.append(tuple(sorted({*ends["upper"], *ends["sole"]})))
            ends = {"upper": (index,), "sole": (index,)}
        else:
            before.append(ends[step.part])
            ends[step.part] = (index,)
    return before


def plan_work(
    jobs: Iterable[JobToDo], hours: WorkingHours, *, now_min: int, oven_places: int = 1
) -> DayPlan:
    """Return when each step of each job is done, jobs in the given order.

    Parameters
    ----------
    jobs : iterable of JobToDo
        A job that stands before another is never moved by it. Keys are unique.
    hours : WorkingHours
    now_min : int
        The instant nothing begins before.
    oven_places : int
        Jobs that can be in the oven at once; what bakes together must bake alike.

    Raises
    ------
    PlanError
        A step in the oven is longer than any stretch of work, or the work goes on for more than
        three years.
    """
    if not isinstance(oven_places, int) or not 1 <= oven_places <= MOST_OVEN_PLACES:
        raise PlanError(
            f"must be a whole number from 1 to {MOST_OVEN_PLACES}",
            field="oven_places",
            code="oven_places",
        )
    bench = _Bench(WorkingLine(hours, now_min, LONGEST_DAYS), oven_places)
    blocks: list[Block] = []
    ready: dict[str, int] = {}
    for job in jobs:
        if job.key in ready:
            raise PlanError(f"{job.key} stands twice in the plan", field="jobs", code="job_twice")
        placed = bench.put(job)
        blocks += placed
        begin = max(now_min, job.not_before_min)
        ready[job.key] = max((block.end_min for block in placed), default=begin)
    # Stable, so that what begins together stands as it was put.
    return DayPlan(tuple(sorted(blocks, key=lambda block: block.begin_min)), ready)


class _Bench:
    """What is taken so far: working minutes of the hands, and times of the oven."""

    def __init__(self, line: WorkingLine, oven_places: int) -> None:
        self.line = line
        self.oven_places = oven_places
        self.hands: list[tuple[int, int]] = []  # places on the line, joined where they touch
        self.oven: list[Span] = []

    def put(self, job: JobToDo) -> list[Block]:
        """Return the blocks of a job, each at the first place that is free for it."""
        begin = max(self.line.begin_min, job.not_before_min)
        before, tails = steps_before(job.steps), _tails(job.steps)
        ends: dict[int, int] = {}
        placed = []
        while len(ends) < len(job.steps):
            index = min(
                (
                    k
                    for k in range(len(job.steps))
                    if k not in ends and all(earlier in ends for earlier in before[k])
                ),
                key=lambda k: (-tails[k], k),
            )
            step = job.steps[index]
            ready = max([begin, *(ends[earlier] for earlier in before[index])])
            if not step.minutes:
                ends[index] = ready
                continue
            block = Block(job.key, step.name, step.where, self._take(step, ready), index)
            ends[index] = block.end_min
            placed.append(block)
        return placed

    def _take(self, step: StepToDo, ready_min: int) -> tuple[Span, ...]:
        if step.where == "drying":
            return (Span(ready_min, ready_min + step.minutes),)
        if step.where == "oven":
            return (self._take_oven(step, ready_min),)
        return self._take_hands(step.minutes, ready_min)

    def _take_hands(self, minutes: int, ready_min: int) -> tuple[Span, ...]:
        place = self.line.place_at(ready_min)
        at = 0
        while at < len(self.hands) and self.hands[at][1] <= place:
            at += 1
        while at < len(self.hands) and self.hands[at][0] < place + minutes:
            place = max(place, self.hands[at][1])
            at += 1
        spans = self.line.spans_between(place, place + minutes)
        self._join(at, place, place + minutes)
        return spans

    def _join(self, at: int, begin: int, end: int) -> None:
        """Note working minutes as taken before the stretch numbered ``at``."""
        low = at
        if low and self.hands[low - 1][1] == begin:
            low -= 1
            begin = self.hands[low][0]
        if at < len(self.hands) and self.hands[at][0] == end:
            end = self.hands[at][1]
            at += 1
        self.hands[low:at] = [(begin, end)]

    def _take_oven(self, step: StepToDo, ready_min: int) -> Span:
        longest = longest_stretch_min(self.line.hours.week)
        if step.minutes > longest:
            raise PlanError(
                f"{step.name} takes {step.minutes} minutes in the oven, which must be watched, and"
                f" no stretch of work is longer than {longest}; part the step, or lengthen a day",
                field="minutes",
                code="oven_too_long",
                step=step.name,
                minutes=step.minutes,
                longest=longest,
            )
        for stretch in self.line.spans_from(ready_min):
            begin = max(ready_min, stretch.begin_min)
            while begin + step.minutes <= stretch.end_min:
                taken = [
                    span
                    for span in self.oven
                    if span.begin_min < begin + step.minutes and begin < span.end_min
                ]
                if _most_at_once(taken) < self.oven_places:
                    span = Span(begin, begin + step.minutes)
                    insort(self.oven, span)
                    return span
                begin = min(span.end_min for span in taken)
        raise AssertionError("the line ends by its own fault")


def _most_at_once(spans: Sequence[Span]) -> int:
    """Return how many spans there are at the fullest moment; an end makes room for a begin."""
    changes = sorted(
        [(span.begin_min, 1) for span in spans] + [(span.end_min, -1) for span in spans]
    )
    most = now = 0
    for _at, change in changes:
        now += change
        most = max(most, now)
    return most


def _tails(steps: Sequence[StepToDo]) -> list[int]:
    """Return the minutes of the longest way from each step's begin to the job's end."""
    after = [0] * len(steps)
    before = steps_before(steps)
    for index in range(len(steps) - 1, -1, -1):
        after[index] += steps[index].minutes
        for earlier in before[index]:
            after[earlier] = max(after[earlier], after[index])
    return after


@dataclass(frozen=True, slots=True)
class Promise:
    """The earliest day a job is ready and there, if measures and deposit come by a day.

    ``arrives_on`` is None where nobody knows how long the post takes.
    """

    here_by: date
    ready_on: date
    arrives_on: date | None


def honest_date(
    new_job: JobToDo,
    open_jobs: Iterable[JobToDo],
    hours: WorkingHours,
    *,
    now_min: int,
    here_by: date,
    oven_places: int = 1,
    delivery_days: int = 0,
    post_days: int | None = None,
) -> Promise:
    """Return the earliest day a new job is ready and arrives, after all that is promised already.

    Work on it begins on the day after measures and deposit are here; leather that must be bought
    first takes its days of delivery from then on. Days of the post are counted from the day it is
    ready.

    Raises
    ------
    PlanError
        ``here_by`` lies in the past, days are not whole and 0 or more, or as `plan_work` raises.
    """
    today = moment_of(now_min, hours.zone).date()
    if here_by < today:
        raise PlanError(
            f"{here_by.isoformat()} is in the past; give today or a later day",
            field="here_by",
            code="day_in_past",
        )
    if (here_by - today).days > LONGEST_DAYS:
        raise PlanError(
            f"{here_by.isoformat()} is more than {LONGEST_DAYS} days away; give a day nearer to"
            " today",
            field="here_by",
            code="day_too_far",
        )
    for field, days in (("delivery_days", delivery_days), ("post_days", post_days or 0)):
        if not isinstance(days, int) or not 0 <= days <= LONGEST_DAYS:
            raise PlanError(
                f"must be whole days from 0 to {LONGEST_DAYS}", field=field, code="days_range"
            )
    first_day = here_by + timedelta(days=1 + delivery_days)
    begin = max(new_job.not_before_min, instant_of(first_day, time(0), hours.zone))
    job = JobToDo(new_job.key, new_job.steps, begin)
    plan = plan_work([*open_jobs, job], hours, now_min=now_min, oven_places=oven_places)
    ready_on = moment_of(plan.ready_min[job.key] - 1, hours.zone).date()
    arrives_on = None if post_days is None else ready_on + timedelta(days=post_days)
    return Promise(here_by, ready_on, arrives_on)
