"""What the stock is worth on a day: supplies at the cost of their takings, hides at their own."""

import datetime
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import F, Min, Q

from workshop.models import Hide, Supply
from workshop.models.stock import THOUSANDTHS
from workshop.selectors.ledger import Ledger, end_of


@dataclass(frozen=True, slots=True)
class SupplyWorth:
    """A supply on a day: how much was there, and what it was worth, exactly."""

    supply: Supply
    on_hand: Fraction
    value: Fraction


def supplies_worth(ledger: Ledger) -> list[SupplyWorth]:
    """Return each supply that was there, with its worth."""
    supplies = Supply.objects.order_by("kind", "name")
    return [
        SupplyWorth(supply, Fraction(on_hand, THOUSANDTHS), value)
        for supply in supplies
        for on_hand, value in [ledger.worth.get(supply.pk, (0, Fraction(0)))]
        if on_hand
    ]


def hides_on(day: datetime.date) -> list[Hide]:
    """Return the hides and remnants that were there uncut at the end of a day.

    A hide is there from the day its lot was bought, what was kept of one from that moment on, until
    it was cut; one that was noted as cut without a layout is left out. What is cut and not yet
    decided on is in work, no stock.
    """
    end = end_of(day)
    here = Q(left_from=None, lot__bought_on__lte=day) | Q(left_from__cutting__settled_at__lt=end)
    uncut = ~Q(state=Hide.State.CUT) | Q(cut_at__gte=end)
    hides = Hide.objects.annotate(cut_at=Min(F("cuttings__made_at"))).filter(here, uncut)
    return list(hides.select_related("lot").defer("outline", "defects", "areas").order_by("number"))
