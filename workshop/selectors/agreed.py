"""What a job's customer agreed to: an accepted quote, or the accepted price of a repair."""

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from costing.breakdown import Breakdown
from costing.job import Job
from costing.job_file import breakdown_from_document
from workshop.models import Commission, Quote, RepairAnswer
from workshop.selectors.work_log import snapshot_parts
from workshop.stored_jobs import stored_job


@dataclass(frozen=True, slots=True)
class Agreed:
    """A price that was said yes to, with the job behind it.

    ``what`` names the goods as a bill does; ``code`` and ``made_on`` are the quote's.
    """

    code: str
    made_on: datetime.date
    what: str
    job: Job
    breakdown: Breakdown

    @property
    def currency(self) -> str:
        """Return the currency it was agreed in."""
        return self.breakdown.currency

    @property
    def price(self) -> Decimal:
        """Return what the customer pays in all."""
        return self.breakdown.price


def agreed_of(commission: Commission) -> Agreed | None:
    """Return what was agreed for a job, None while nothing was."""
    accepted = Quote.objects.filter(commission=commission, state=Quote.State.ACCEPTED)
    quote = accepted.defer(*Quote.LARGE).first()
    if quote is not None:
        parts = snapshot_parts([quote.pk], "job", "breakdown", "style")[quote.pk]
        what = str(parts["style"]["name"])
        return _agreed(f"Q-{commission.number:04d}-{quote.version}", quote.made_at, what, parts)
    answer = RepairAnswer.objects.filter(repair__commission=commission)
    given = answer.select_related("price", "repair__first_order").first()
    if given is None:
        return None
    parts = {"job": given.price.job, "breakdown": given.price.breakdown}
    what = repair_words(given.repair.kind, given.repair.first_order.code)
    return _agreed(f"Q-{commission.number:04d}-{given.price.version}", given.made_at, what, parts)


def repair_words(kind: str, first_order: str) -> str:
    """Return what a repair is called on a bill."""
    words = {
        "alteration": _("Alteration of %(order)s"),
        "repair": _("Repair of %(order)s"),
        "remake": _("Remake of %(order)s"),
    }
    return words[kind] % {"order": first_order}


def _agreed(code: str, made_at: datetime.datetime, what: str, parts: dict[str, Any]) -> Agreed:
    return Agreed(
        code,
        timezone.localdate(made_at),
        what,
        stored_job(parts["job"]),
        breakdown_from_document(parts["breakdown"]),
    )
