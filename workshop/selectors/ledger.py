"""The ledger of supplies worked through: what takings cost, and what was left was worth.

First in first out needs only the end of the ledger: what lies on a shelf came in last. So the work
begins at the first move that is asked for, with the shelf as it was then. A moving average depends
on all moves before; its work begins at the newest mark of where it stood (`average_marks`), and
leaves one behind.
"""

import datetime
import sys
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from itertools import groupby
from operator import itemgetter

from django.db.models import Min, Sum
from django.utils import timezone

from costing.shelf import Shelf
from workshop.average_marks import Marking, Row, mark_before, marks_keep
from workshop.models import StockBalance, StockMove, Supply, WorkshopProfile
from workshop.models.stock import THOUSANDTHS

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
    balances = StockBalance.objects.values_list("supply_id", "on_hand")
    if supplies is not None:
        balances = balances.filter(supply__in=supplies)
    on_hand = dict(balances)
    start = _start(wanted)
    ledger = Ledger()
    if way == WorkshopProfile.StockCost.FIFO:
        _first_in_first_out(on_hand, start, wanted, ledger)
    else:
        _moving_average(on_hand, start, wanted, ledger)
    return ledger


def shelves_now(supply_ids: Collection[int]) -> dict[int, Shelf]:
    """Return the shelves of supplies as they are, by the workshop's own way of costing."""
    way = WorkshopProfile.current().stock_cost
    balances = StockBalance.objects.filter(supply__in=supply_ids, on_hand__gt=0)
    found: dict[int, Shelf] = {}
    for supply_id, on_hand in balances.values_list("supply_id", "on_hand"):
        if way == WorkshopProfile.StockCost.AVERAGE:
            found[supply_id] = _averaged(supply_id, sys.maxsize, NOTHING_WANTED, Ledger())
            continue
        shelf = _shelf_holding(supply_id, on_hand, sys.maxsize)
        if shelf is None:
            shelf = Shelf("fifo")
            _work_through(supply_id, _rows([supply_id], 0), shelf, NOTHING_WANTED, Ledger())
        found[supply_id] = shelf
    return found


def _first_in_first_out(
    on_hand: dict[int, int], start: int, wanted: "_Wanted", ledger: Ledger
) -> None:
    shelves = _shelves_before(start, on_hand) if start else {}
    for whole, begun in ((False, start), (True, 0)):
        ids = [supply for supply in on_hand if (supply in shelves) is not whole]
        for supply_id, rows in groupby(_rows(ids, begun), key=itemgetter(1)):
            shelf = Shelf("fifo") if whole else shelves[supply_id]
            _work_through(supply_id, rows, shelf, wanted, ledger)
    for supply_id, shelf in shelves.items():  # those that have not moved since
        ledger.worth.setdefault(supply_id, (shelf.on_hand, shelf.value))


def _moving_average(supplies: Iterable[int], start: int, wanted: "_Wanted", ledger: Ledger) -> None:
    for supply_id in supplies:
        _averaged(supply_id, start, wanted, ledger)


def _averaged(supply_id: int, start: int, wanted: "_Wanted", ledger: Ledger) -> Shelf:
    """Work a supply through from its newest mark before a move, and leave a newer one."""
    mark = mark_before(supply_id, start)
    begun = 0 if mark is None else mark.move_id + 1
    shelf = Shelf("average") if mark is None else Shelf.at_average(mark.on_hand, mark.average)
    marking = Marking(supply_id, shelf, start)
    _work_through(supply_id, marking.handed(_rows([supply_id], begun)), shelf, wanted, ledger)
    if marking.mark is not None:
        marks_keep([marking.mark])
    return shelf


@dataclass(frozen=True, slots=True)
class _Wanted:
    """Whose takings are asked for, and the first moves after a day; moves are in their order."""

    jobs: frozenset[int]
    since: int | None
    until: int | None

    def has(self, move_id: int, job: int | None) -> bool:
        return job in self.jobs or (self.since is not None and move_id >= self.since)


NOTHING_WANTED = _Wanted(frozenset(), None, None)


def _first_from(day: datetime.date) -> int:
    """Return the id of the first move of a day or after it; one that never comes for none."""
    start = end_of(day - datetime.timedelta(days=1))
    first = StockMove.objects.filter(made_at__gte=start).aggregate(first=Min("id"))["first"]
    return first if first is not None else sys.maxsize


def _start(wanted: _Wanted) -> int:
    """Return the first move that matters: from it on, each job that gives back has taken before."""
    of_jobs = StockMove.objects.filter(commission__in=wanted.jobs).aggregate(first=Min("id"))
    asked = (of_jobs["first"], wanted.since, wanted.until)
    first = min((found for found in asked if found is not None), default=sys.maxsize)
    while True:
        back = StockMove.objects.filter(
            id__gte=first, on_hand_change__gt=0, commission__isnull=False
        ).values_list("commission_id", flat=True)
        taken = StockMove.objects.filter(commission__in=set(back)).aggregate(first=Min("id"))
        if taken["first"] is None or taken["first"] >= first:
            return first
        first = taken["first"]


def _shelves_before(start: int, on_hand: dict[int, int]) -> dict[int, Shelf]:
    """Return the shelves as they were before a move; left out where that takes the whole ledger."""
    since = StockMove.objects.filter(id__gte=start, supply__in=on_hand).order_by()
    changes = dict(
        since.values("supply_id")
        .annotate(sum=Sum("on_hand_change"))
        .values_list("supply_id", "sum")
    )
    shelves = {}
    for supply_id, now in on_hand.items():
        shelf = _shelf_holding(supply_id, now - changes.get(supply_id, 0), start)
        if shelf is not None:
            shelves[supply_id] = shelf
    return shelves


def _shelf_holding(supply_id: int, held: int, start: int) -> Shelf | None:
    """Return a shelf with what came in last before a move; None if a job gave some of it back."""
    lots: list[tuple[int, Decimal | Fraction]] = []
    missing = held
    came = StockMove.objects.filter(supply=supply_id, id__lt=start, on_hand_change__gt=0)
    rows = came.order_by("-id").values_list("on_hand_change", "cost", "commission_id")
    if missing > 0:
        for change, cost, job in rows.iterator(chunk_size=100):
            if job is not None:
                return None
            lots.append((change, _price(supply_id) * change if cost is None else cost))
            missing -= change
            if missing <= 0:
                break
    shelf = Shelf("fifo")
    for change, paid in reversed(lots):
        shelf.receive(change, paid)
    if missing < 0:
        shelf.pass_by(-missing)
    return shelf


def _rows(supplies: Collection[int], start: int) -> Iterator[Row]:
    moves = StockMove.objects.filter(supply__in=supplies).exclude(on_hand_change=0)
    if start:
        moves = moves.filter(id__gte=start)
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
