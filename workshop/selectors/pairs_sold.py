"""Finished pairs over time: what was sold in a span and came back, and what was there on a day."""

import datetime
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import OuterRef, Q, Subquery

from workshop.models import FinishedPair, PairStep

Kind = PairStep.Kind
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class PairSale:
    """One pair sold, or taken back from its buyer: then every amount counts the other way."""

    step: PairStep
    is_return: bool
    price: Decimal
    tax: Decimal
    fee: Decimal
    cost: Decimal

    @property
    def pair(self) -> FinishedPair:
        """Return the pair."""
        return self.step.pair

    @property
    def income(self) -> Decimal:
        """Return the price without its tax."""
        return self.price - self.tax

    @property
    def profit(self) -> Decimal:
        """Return what is left of the income after the place's fee and what the pair cost."""
        return self.income - self.fee - self.cost

    @property
    def count(self) -> int:
        """Return 1 for a sale, -1 for one taken back."""
        return -1 if self.is_return else 1


def pair_sales(first: datetime.date, last: datetime.date) -> list[PairSale]:
    """Return what was sold and came back from its buyer on these days, in its order.

    It is read from the steps, which never change: a pair that comes back later leaves the month of
    its sale as it was.
    """
    sold = PairStep.objects.filter(pair=OuterRef("pair"), kind=Kind.SOLD, id__lt=OuterRef("id"))
    steps = PairStep.objects.filter(
        kind__in=[Kind.SOLD, Kind.RETURNED], done_on__gte=first, done_on__lte=last
    ).annotate(fee_then=Subquery(sold.order_by("-id").values("fee")[:1]))
    rows = steps.select_related("pair__commission", "place").order_by("done_on", "id")
    return [_sale(step) for step in rows]


def _sale(step: PairStep) -> PairSale:
    price, tax, fee = step.price or ZERO, step.tax or ZERO, step.fee or ZERO
    if step.kind == Kind.SOLD:
        return PairSale(step, False, price, tax, fee, step.pair.cost)
    # A fee the place kept was counted with the sale; one it gave back is taken off again.
    back = ZERO if step.fee is not None else step.fee_then or ZERO
    return PairSale(step, True, -price, -tax, -back, -step.pair.cost)


def pairs_on(day: datetime.date) -> list[FinishedPair]:
    """Return the pairs that were made and not sold by the end of a day, at a stall or here."""
    decided = PairStep.objects.filter(
        pair=OuterRef("pk"), kind__in=[Kind.SOLD, Kind.RETURNED], done_on__lte=day
    ).order_by("-done_on", "-id")
    pairs = FinishedPair.objects.filter(made_on__lte=day).annotate(
        last_step=Subquery(decided.values("kind")[:1])
    )
    here = Q(last_step=None) | ~Q(last_step=Kind.SOLD)
    return list(pairs.filter(here).order_by("number"))
