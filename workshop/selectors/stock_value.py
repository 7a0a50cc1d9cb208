"""What supplies taken from the shelf cost, and what the stock is worth on a day."""

import datetime
import sys
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from itertools import groupby
from operator import itemgetter

from django.db.models import F, Min, Q, QuerySet
from django.utils import timezone

from costing.shelf import Shelf
from workshop.models import Hide, StockMove, Supply, WorkshopProfile
from workshop.models.stock import THOUSANDTHS

Row = tuple[int, int, int, Decimal | None, int | None]  # id, supply, change, cost, job
CHUNK = 10_000


@dataclass(slots=True)
class Ledger:
    """The ledger worked through in its order: what wanted takings cost, and the worth on a day.

    ``costs`` are by the moves' ids; what went back to the shelf is below zero. ``worth`` is
    thousandths on hand and their value, by the supplies' ids.
    """

    costs: dict[int, Fraction] = field(default_factory=dict)
    worth: dict[int, tuple[int, Fraction]] = field(default_factory=dict)


def end_of(day: datetime.date) -> datetime.datetime:
    """Return the moment a day ends in the workshop's zone."""
    following = day + datetime.timedelta(days=1)
    return timezone.make_aware(datetime.datetime.combine(following, datetime.time()))


def ledger_of(
    *,
    supplies: Collection[int] | None = None,
    jobs: Collection[int] = (),
    since: datetime.date | None = None,
    worth_on: datetime.date | None = None,
) -> Ledger:
    """Return the ledger worked through by the workshop's own way of costing.

    Parameters
    ----------
    supplies : collection of int, optional
        Only these.
    jobs : collection of int
        The jobs whose takings are wanted.
    since : date, optional
        The first day whose takings are wanted, whatever they were for.
    worth_on : date, optional
        The day at whose end the worth is wanted; left out, it is that of now.
    """
    way = WorkshopProfile.current().stock_cost
    wanted = _Wanted(
        frozenset(jobs),
        since=None if since is None else _first_from(since),
        until=None if worth_on is None else _first_from(worth_on + datetime.timedelta(days=1)),
    )
    ledger = Ledger()
    for supply_id, rows in groupby(_rows(supplies), key=itemgetter(1)):
        _work_through(supply_id, rows, Shelf(way), wanted, ledger)
    return ledger


@dataclass(frozen=True, slots=True)
class _Wanted:
    """Whose takings are asked for, and the first moves after a day; moves are in their order."""

    jobs: frozenset[int]
    since: int | None
    until: int | None

    def has(self, move_id: int, job: int | None) -> bool:
        return job in self.jobs or (self.since is not None and move_id >= self.since)


def _first_from(day: datetime.date) -> int:
    """Return the id of the first move of a day or after it; one that never comes for none."""
    start = end_of(day - datetime.timedelta(days=1))
    first = StockMove.objects.filter(made_at__gte=start).aggregate(first=Min("id"))["first"]
    return first if first is not None else sys.maxsize


def _rows(supplies: Collection[int] | None) -> Iterator[Row]:
    moves: QuerySet[StockMove] = StockMove.objects.exclude(on_hand_change=0)
    if supplies is not None:
        moves = moves.filter(supply__in=supplies)
    rows = moves.order_by("supply_id", "id").values_list(
        "id", "supply_id", "on_hand_change", "cost", "commission_id"
    )
    return rows.iterator(chunk_size=CHUNK)


def _work_through(
    supply_id: int, rows: Iterable[Row], shelf: Shelf, wanted: _Wanted, ledger: Ledger
) -> None:
    price: Fraction | None = None
    of_jobs: dict[int, tuple[int, Fraction]] = {}  # quantity and cost a job took so far
    for move_id, _supply, change, cost, job in rows:
        if wanted.until is not None and move_id >= wanted.until:
            ledger.worth.setdefault(supply_id, (shelf.on_hand, shelf.value))
        if job is not None:
            taken, spent = of_jobs.get(job, (0, Fraction(0)))
            if change < 0:
                paid = shelf.take(-change)
            else:
                # It goes back at what the job took it for, on the average.
                paid = -spent / taken * change
                shelf.receive(change, -paid)
            of_jobs[job] = (taken - change, spent + paid)
        elif change < 0:
            if not wanted.has(move_id, job):
                shelf.pass_by(-change)
                continue
            paid = shelf.take(-change)
        else:
            if cost is None:  # nobody wrote what it cost: by the present price
                price = _price(supply_id) if price is None else price
            shelf.receive(change, price * change if cost is None else cost)
            continue
        if wanted.has(move_id, job):
            ledger.costs[move_id] = paid
    ledger.worth.setdefault(supply_id, (shelf.on_hand, shelf.value))


def _price(supply_id: int) -> Fraction:
    """Return the present price of a thousandth of a supply's unit."""
    supply = Supply.objects.get(pk=supply_id)
    return Fraction(supply.pack_price) / Fraction(supply.pack_quantity) / THOUSANDTHS


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
