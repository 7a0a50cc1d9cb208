"""What stands on the first page."""

from dataclasses import dataclass

from django.db.models import F

from workshop.doors import MONEY
from workshop.models import (
    Commission,
    Hide,
    MeasuringLink,
    Quote,
    RateCard,
    StockBalance,
    StyleVersion,
    Supply,
    WorkshopProfile,
)
from workshop.models.stock import THOUSANDTHS

OPEN_STATES = [
    Commission.State.ENQUIRY,
    Commission.State.MEASURED,
    Commission.State.QUOTED,
    Commission.State.ACCEPTED,
    Commission.State.IN_WORK,
    Commission.State.FINISHED,
]


@dataclass(frozen=True, slots=True)
class Bench:
    """Open jobs, quotes waiting for an answer, supplies to buy again."""

    jobs: list[Commission]
    quotes: list[Quote]
    low: list[StockBalance]
    measured: list[MeasuringLink]
    has_style: bool
    has_hide: bool
    has_supplies: bool
    has_rates: bool
    has_demo: bool

    @property
    def is_bare(self) -> bool:
        """Return whether something is still missing before a price can be worked out."""
        return not (self.has_style and self.has_hide and self.has_supplies and self.has_rates)


def bench(role: str) -> Bench:
    """Return what to look at first; quotes only for those who may see money."""
    jobs = list(
        Commission.objects.filter(state__in=OPEN_STATES)
        .select_related("doll", "customer")
        .order_by("-number")[:20]
    )
    quotes = (
        list(
            Quote.objects.filter(
                state=Quote.State.OPEN, commission__state__in=Commission.OPEN_TO_QUOTES
            )
            .defer(*Quote.LARGE)
            .select_related("commission__doll", "commission__customer")
            .order_by("-id")[:10]
        )
        if role in MONEY
        else []
    )
    low = list(
        StockBalance.objects.filter(free__lt=F("supply__reorder_point") * THOUSANDTHS)
        .select_related("supply")
        .order_by("supply__name")[:10]
    )
    answered = MeasuringLink.objects.filter(state=MeasuringLink.State.ANSWERED)
    return Bench(
        jobs,
        quotes,
        low,
        list(answered.select_related("doll")[:10]),
        has_style=StyleVersion.objects.filter(style__is_offered=True).exists(),
        has_hide=Hide.objects.filter(state=Hide.State.ON_SHELF).exists(),
        has_supplies=Supply.objects.exists(),
        has_rates=RateCard.objects.exists(),
        has_demo=WorkshopProfile.current().demo_from is not None,
    )
