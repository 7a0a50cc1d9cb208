"""What supplies taken from the shelf cost, and what the stock is worth on a day."""

import datetime
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from django.db.models import F, Min, Q, QuerySet
from django.utils import timezone

from costing.shelf import Shelf
from workshop.models import Hide, StockMove, Supply, WorkshopProfile
from workshop.models.stock import THOUSANDTHS

JobUse = tuple[int, int]  # supply, job


@dataclass(slots=True)
class Ledger:
    """The ledger worked through in order: what wanted takings cost, and the shelves after it.

    ``costs`` are exact, by the moves' ids; what went back to the shelf is below zero.
    """

    costs: dict[int, Fraction] = field(default_factory=dict)
    shelves: dict[int, Shelf] = field(default_factory=dict)


def end_of(day: datetime.date) -> datetime.datetime:
    """Return the moment a day ends in the workshop's zone."""
    following = day + datetime.timedelta(days=1)
    return timezone.make_aware(datetime.datetime.combine(following, datetime.time()))


def ledger_until(
    day: datetime.date | None = None,
    *,
    supplies: Collection[int] | None = None,
    jobs: Collection[int] = (),
    since: datetime.date | None = None,
) -> Ledger:
    """Return the ledger worked through by the workshop's own way of costing.

    Parameters
    ----------
    day : date, optional
        The last day that counts; left out, all do.
    supplies : collection of int, optional
        Only these.
    jobs : collection of int
        The jobs whose takings are wanted.
    since : date, optional
        The first day whose takings are wanted, whatever they were for.
    """
    way = WorkshopProfile.current().stock_cost
    first = end_of(since - datetime.timedelta(days=1)) if since is not None else None
    wanted_jobs = set(jobs)
    ledger = Ledger()
    of_jobs: dict[JobUse, tuple[Fraction, Fraction]] = {}  # quantity and cost taken so far
    prices: dict[int, Fraction] = {}
    for move in _moves(day, supplies):
        shelf = ledger.shelves.setdefault(move.supply_id, Shelf(way))
        quantity = Decimal(abs(move.on_hand_change)) / THOUSANDTHS
        use = (move.supply_id, move.commission_id or 0)
        taken, spent = of_jobs.get(use, (Fraction(0), Fraction(0)))
        if move.on_hand_change < 0:
            cost = shelf.take(quantity)
            change = (Fraction(quantity), cost)
        elif move.commission_id is not None:
            # It goes back at what the job took it for, on the average.
            shelf.receive(quantity, spent / taken)
            cost = -spent / taken * Fraction(quantity)
            change = (-Fraction(quantity), cost)
        else:
            shelf.receive(quantity, _unit_cost(move, quantity, prices))
            continue
        if move.commission_id is not None:
            of_jobs[use] = (taken + change[0], spent + change[1])
        is_recent = first is not None and move.made_at >= first
        if move.commission_id in wanted_jobs or is_recent:
            ledger.costs[move.pk] = cost
    return ledger


def _moves(day: datetime.date | None, supplies: Collection[int] | None) -> Iterator[StockMove]:
    moves: QuerySet[StockMove] = StockMove.objects.exclude(on_hand_change=0)
    if supplies is not None:
        moves = moves.filter(supply__in=supplies)
    if day is not None:
        moves = moves.filter(made_at__lt=end_of(day))
    columns = ("supply_id", "on_hand_change", "cost", "commission_id", "made_at")
    return moves.order_by("supply_id", "id").only(*columns).iterator(chunk_size=5000)


def _unit_cost(move: StockMove, quantity: Decimal, prices: dict[int, Fraction]) -> Fraction:
    """Return what a unit that came in cost; where nobody wrote it, by the present price."""
    if move.cost is not None:
        return Fraction(move.cost) / Fraction(quantity)
    if move.supply_id not in prices:
        supply = Supply.objects.get(pk=move.supply_id)
        prices[supply.pk] = Fraction(supply.pack_price) / Fraction(supply.pack_quantity)
    return prices[move.supply_id]


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
        SupplyWorth(supply, shelf.on_hand, shelf.value)
        for supply in supplies
        if (shelf := ledger.shelves.get(supply.pk)) is not None and shelf.on_hand
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
