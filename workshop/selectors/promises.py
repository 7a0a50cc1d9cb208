"""The honest date of a job that is being quoted: when it is ready, and what that hangs on."""

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.utils import timezone
from django.utils.translation import gettext as _

from costing.day_plan import JobToDo, Promise, honest_date
from costing.errors import CostError
from costing.working_hours import instant_from
from workshop.models import Commission, DaySettings, WorkshopProfile
from workshop.selectors.day_plan import hours_in_use, job_steps, open_jobs, places_said, post_days
from workshop.selectors.packs import pack_rows

if TYPE_CHECKING:
    from workshop.services.quoting import Worked


@dataclass(frozen=True, slots=True)
class Promised:
    """An honest date with what it was worked out from, or why there is none.

    ``to_buy`` names what must be bought first; ``post_days`` is None where the country has no
    line. ``jobs_before`` counts the open jobs that are made first.
    """

    promise: Promise | None
    fault: str = ""
    jobs_before: int = 0
    to_buy: tuple[str, ...] = ()
    delivery_days: int = 0
    post_days: int | None = None
    is_own_hours: bool = False
    asks_deposit: bool = False


def promise_of(worked: "Worked", *, now: datetime.datetime | None = None) -> Promised | None:
    """Return the honest date of what is being tried out; None where nothing can be promised.

    A job that is accepted already has its promise.
    """
    commission = worked.choice.commission
    if worked.job is None or commission is None:
        return None
    if commission.state not in Commission.OPEN_TO_QUOTES:
        return None
    now = now or timezone.now()
    settings, (hours, is_own) = DaySettings.current(), hours_in_use()
    to_buy = things_to_buy(worked)
    before = [job for job in open_jobs(now) if not job.fault]
    delivery = settings.delivery_days if to_buy else 0
    to_post = post_days().of(_country(worked))
    fault, promise = "", None
    try:
        promise = honest_date(
            JobToDo(commission.code, job_steps(worked.job, places_said())),
            [job.to_do for job in before],
            hours,
            now_min=instant_from(now),
            here_by=worked.choice.sale.here_by or first_here_by(now),
            oven_places=settings.oven_places,
            delivery_days=delivery,
            post_days=to_post,
        )
    except CostError as error:
        fault = str(error)
    return Promised(
        promise,
        fault,
        len(before),
        to_buy,
        delivery,
        to_post,
        is_own,
        WorkshopProfile.current().deposit_pct is not None,
    )


def first_here_by(now: datetime.datetime) -> datetime.date:
    """Return the day measures and deposit are asked by unless another is typed."""
    return timezone.localdate(now) + datetime.timedelta(days=DaySettings.current().answer_days)


def things_to_buy(worked: "Worked") -> tuple[str, ...]:
    """Return what an order must wait for: leather not on the shelf, supplies that are short."""
    leather = [worked.choice.lot.name] if worked.choice.hide is None and worked.choice.lot else []
    short = [row.supply.name for row in pack_rows(worked) if row.purchase.packs]
    return (*leather, *short)


def _country(worked: "Worked") -> str:
    parcel, commission = worked.choice.sale.parcel, worked.choice.commission
    if parcel is not None and parcel.country:
        return parcel.country
    return commission.country if commission is not None else ""


def promise_document(worked: "Worked") -> dict[str, Any] | None:
    """Return the honest date as a quote keeps it; None where there is none."""
    found = promise_of(worked)
    if found is None or found.promise is None:
        return None
    arrives = found.promise.arrives_on
    return {
        "here_by": found.promise.here_by.isoformat(),
        "ready_on": found.promise.ready_on.isoformat(),
        "arrives_on": arrives.isoformat() if arrives is not None else None,
        "deposit": found.asks_deposit,
    }


def promise_words(document: dict[str, Any] | None) -> str:
    """Return a promise as it stands on a quote; nothing for a quote that made none."""
    if not document:
        return ""
    # Loaded here: papers are no business of whoever only asks for a date.
    from workshop.documents.heading import day_words

    days = {
        name: day_words(datetime.date.fromisoformat(document[name]))
        for name in ("here_by", "ready_on", "arrives_on")
        if document[name]
    }
    words = (
        _("Ready by %(ready_on)s if measures and deposit are here by %(here_by)s.")
        if document["deposit"]
        else _("Ready by %(ready_on)s if measures and your answer are here by %(here_by)s.")
    ) % days
    if "arrives_on" in days:
        words += " " + _("With the usual days in the post it is with you by %(arrives_on)s.") % days
    return words
