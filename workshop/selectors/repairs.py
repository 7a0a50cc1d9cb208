"""Repairs as pages show them: one with its price, all of them counted by what they come from."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from costing.breakdown import Breakdown
from costing.job import Job
from costing.job_file import breakdown_from_document
from workshop.models import Commission, Kept, RateCard, Repair, RepairAnswer, RepairPrice
from workshop.stored_jobs import stored_job

KEPT_SHOWN = 100


@dataclass(frozen=True, slots=True)
class PriceShown:
    """A price given for a repair, read from what was kept with it."""

    price: RepairPrice
    job: Job
    breakdown: Breakdown


def price_shown(price: RepairPrice | None) -> PriceShown | None:
    """Return a price with its lines."""
    if price is None:
        return None
    return PriceShown(price, stored_job(price.job), breakdown_from_document(price.breakdown))


@dataclass(slots=True)
class CauseCount:
    """How often a step, a glue or a leather was the cause, and what the free ones cost us."""

    name: str
    alterations: int = 0
    repairs: int = 0
    remakes: int = 0
    cost: dict[str, Decimal] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """Return how often in all."""
        return self.alterations + self.repairs + self.remakes

    def add(self, repair: Repair, cost: tuple[str, Decimal] | None) -> None:
        """Count one in."""
        name = f"{repair.kind}s"
        setattr(self, name, getattr(self, name) + 1)
        if cost is not None:
            currency, amount = cost
            self.cost[currency] = self.cost.get(currency, Decimal(0)) + amount


@dataclass(frozen=True, slots=True)
class CausesCounted:
    """All repairs counted by step, glue and leather, the most frequent first."""

    total: CauseCount
    steps: list[CauseCount]
    glues: list[CauseCount]
    leathers: list[CauseCount]


def causes_counted(
    *, since: datetime.date | None = None, until: datetime.date | None = None
) -> CausesCounted:
    """Return which step, glue and leather were the cause how often; withdrawn jobs are left out."""
    rows = Repair.objects.exclude(
        commission__state__in=(Commission.State.DECLINED, Commission.State.WITHDRAWN)
    )
    if since is not None:
        rows = rows.filter(commission__made_at__date__gte=since)
    if until is not None:
        rows = rows.filter(commission__made_at__date__lte=until)
    answered = Prefetch("answer", RepairAnswer.objects.select_related("price"))
    found = list(rows.select_related("glue", "leather", "commission").prefetch_related(answered))
    total = CauseCount(_("all"))
    groups: tuple[dict[str, CauseCount], ...] = ({}, {}, {})
    for repair in found:
        cost = _cost_of_free(repair)
        total.add(repair, cost)
        names = (
            repair.step or _("not said"),
            repair.glue.name if repair.glue is not None else _("not said"),
            str(repair.leather) if repair.leather is not None else _("not said"),
        )
        for group, name in zip(groups, names, strict=True):
            group.setdefault(name, CauseCount(name)).add(repair, cost)
    return CausesCounted(total, *(_ranked(group.values()) for group in groups))


def _cost_of_free(repair: Repair) -> tuple[str, Decimal] | None:
    """Return what a free repair that was agreed to costs us."""
    answer = getattr(repair, "answer", None)
    if not repair.is_free or answer is None:
        return None
    return answer.price.currency, Decimal(answer.price.breakdown["cost"])


def _ranked(rows: Iterable[CauseCount]) -> list[CauseCount]:
    return sorted(rows, key=lambda row: (row.name == _("not said"), -row.count, row.name))


def goods_here() -> list[Kept]:
    """Return customers' goods that are in the workshop now, the longest here first."""
    rows = Kept.objects.filter(sent_back_on=None).select_related(
        "commission__doll", "commission__customer"
    )
    return list(rows.order_by("received_on", "id")[:KEPT_SHOWN])


def causes_offered() -> list[str]:
    """Return the steps of the work of the rate card in use, for the cause of a repair."""
    card = RateCard.objects.order_by("-version").first()
    return [] if card is None else list(card.steps.values_list("name", flat=True))
