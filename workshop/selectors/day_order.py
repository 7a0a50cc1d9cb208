"""In which order open jobs are made, and what is left of a job whose pairs are made."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from costing.job import Job
from workshop.models import Commission


def in_turn(jobs: Iterable[Commission], promised: Mapping[int, datetime.date]) -> list[Commission]:
    """Return jobs in the order they are made.

    As their turns say; a job without a turn goes before the first that is promised for a later day,
    or for none, and behind all that are promised for the same day or an earlier one. One that is
    finished, and has no turn, goes before all: what is left of it is its parcel.
    """

    def day(job: Commission) -> datetime.date:
        if job.state == Commission.State.FINISHED:
            return datetime.date.min
        return promised.get(job.pk, datetime.date.max)

    rows = sorted(jobs, key=lambda job: job.number)
    order = sorted((job for job in rows if _turn(job) is not None), key=_position)
    for job in sorted((job for job in rows if _turn(job) is None), key=day):
        later = (k for k, other in enumerate(order) if day(other) > day(job))
        order.insert(next(later, len(order)), job)
    return order


def _turn(job: Commission) -> int | None:
    turn = getattr(job, "turn", None)
    return None if turn is None else turn.position


def _position(job: Commission) -> tuple[int, int]:
    return (_turn(job) or 0, job.number)


def after_the_work(jobs: Sequence[Job]) -> list[Job]:
    """Return jobs with nothing but what is done once their pairs are made: the parcel.

    It is what comes last and is done once for the order, such as photographs, packing and the way
    to the post; common practice, no source.
    """
    found = []
    for job in jobs:
        made = [k for k, step in enumerate(job.steps) if step.per != "order" or step.passive]
        found.append(replace(job, steps=job.steps[max(made, default=-1) + 1 :]))
    return found
