"""The ledger of supplies worked through: what takings cost, and what was left was worth.

The work begins at the newest mark of where a supply's shelf stood before the first move that is
asked for (`shelf_marks`), else at its first move, and leaves a newer mark behind. It ends with the
last move that is asked for.
"""

import datetime
import sys
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache

from django.db.models import Count, Max, Min, OuterRef, Subquery
from django.utils import timezone

from costing.shelf import Shelf
from costing.stock_cost import CostWay
from workshop.models import StockBalance, StockMove, Supply, WorkshopProfile
from workshop.models.stock import THOUSANDTHS
from workshop.shelf_marks import Marking, Row, first_taken, mark_before, marks_keep

CHUNK = 10_000


@dataclass(slots=True)
class Ledger:
    """The ledger worked through in its order: what wanted takings cost, and the worth on a day.

    ``costs`` are by the moves' ids; what went back to the shelf is below zero. ``worth`` is
    thousandths on hand and their value, by the supplies' ids; empty where no day was asked for.
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
    days: tuple[datetime.date, datetime.date] | None = None,
    worth_on: datetime.date | None = None,
) -> Ledger:
    """Return the ledger worked through by the workshop's own way of costing.

    Parameters
    ----------
    supplies : collection of int, optional
        Only these.
    jobs : collection of int
        The jobs whose takings are wanted.
    days : pair of dates, optional
        The first and the last day whose takings are wanted, whatever they were for.
    worth_on : date, optional
        The day at whose end the worth is wanted.
    """
    wanted = _wanted(jobs, days, worth_on)
    balances = StockBalance.objects.values_list("supply_id", flat=True)
    ids = balances if supplies is None else balances.filter(supply__in=supplies)
    way, start, ledger = _way(), _start(wanted), Ledger()
    for supply_id in list(ids):
        shelf = _worked(supply_id, way, start, wanted, ledger)
        if worth_on is not None:
            ledger.worth.setdefault(supply_id, (shelf.on_hand, shelf.value))
    return ledger


def shelves_now(supply_ids: Collection[int]) -> dict[int, Shelf]:
    """Return the shelves of supplies as they are, by the workshop's own way of costing."""
    newest = StockMove.objects.filter(supply=OuterRef("supply")).order_by("-id")
    balances = StockBalance.objects.filter(supply__in=supply_ids, on_hand__gt=0)
    states = balances.values_list(
        "supply_id",
        "on_hand",
        "supply__pack_price",
        "supply__pack_quantity",
        Subquery(newest.values("id")[:1]),
        Subquery(newest.values("made_at")[:1]),
    )
    way = _way()
    return {state[0]: _shelf_at(way, *state).copied() for state in list(states)}


@lru_cache(maxsize=1_000)
def _shelf_at(way: CostWay, supply_id: int, *_state: object) -> Shelf:
    """Return a shelf as it stands; moves are never changed, so one state gives one shelf.

    The state is all a shelf hangs on: its newest move, what is there, and the price by which
    goods count whose cost nobody wrote down.
    """
    return _worked(supply_id, way, LAST, NOTHING_WANTED, Ledger())


def _way() -> CostWay:
    chosen = WorkshopProfile.current().stock_cost
    return "fifo" if chosen == WorkshopProfile.StockCost.FIFO else "average"


def _worked(supply_id: int, way: CostWay, start: int, wanted: "_Wanted", ledger: Ledger) -> Shelf:
    """Work a supply through from its newest mark before a move, and leave a newer one."""
    mark = mark_before(supply_id, way, start, wanted.end)
    begun = 0 if mark is None else mark.move_id + 1
    shelf = Shelf(way) if mark is None else Shelf.restored(way, mark.shelf)
    marking = Marking(supply_id, way, shelf, start)
    rows = _rows(supply_id, begun, wanted.end)
    _work_through(supply_id, marking.handed(rows), shelf, wanted, ledger)
    marks_keep(marking.marks)
    return shelf


@dataclass(frozen=True, slots=True)
class _Wanted:
    """Whose takings are asked for, and of which span of moves, which are in their order.

    ``until`` is the first move after the day whose worth is asked for, ``first`` the first move
    that is asked for in all, and ``end`` the first one nobody asks for any more.
    """

    jobs: frozenset[int]
    span: tuple[int, int]
    until: int
    first: int
    end: int

    def has(self, move_id: int, job: int | None) -> bool:
        return job in self.jobs or self.span[0] <= move_id < self.span[1]


LAST = sys.maxsize  # a move that never comes
NOTHING_WANTED = _Wanted(frozenset(), span=(LAST, LAST), until=LAST, first=LAST, end=LAST)


def _wanted(
    jobs: Collection[int],
    days: tuple[datetime.date, datetime.date] | None,
    worth_on: datetime.date | None,
) -> _Wanted:
    one_day = datetime.timedelta(days=1)
    of_jobs = StockMove.objects.filter(commission__in=jobs)
    ids = of_jobs.aggregate(first=Min("id"), last=Max("id"))
    span = (LAST, LAST) if days is None else (_first_from(days[0]), _after(days[1]))
    until = LAST if worth_on is None else _first_from(worth_on + one_day)
    ends = [0 if ids["last"] is None else ids["last"] + 1]
    ends += [] if days is None else [span[1]]
    ends += [] if worth_on is None else [until]
    first = min(LAST if ids["first"] is None else ids["first"], span[0], until)
    return _Wanted(frozenset(jobs), span, until, first, max(ends))


def _first_from(day: datetime.date) -> int:
    """Return the id of the first move of a day or after it; one that never comes for none."""
    start = end_of(day - datetime.timedelta(days=1))
    # Counted along, so that SQLite reads the days in their index, not all moves before them.
    found = StockMove.objects.filter(made_at__gte=start).aggregate(first=Min("id"), n=Count("id"))
    return found["first"] if found["n"] else LAST


def _after(day: datetime.date) -> int:
    """Return an id above those of all moves of a day or before it, in whatever order they came."""
    if end_of(day) > timezone.now():
        return LAST
    last = StockMove.objects.filter(made_at__lt=end_of(day)).aggregate(last=Max("id"))["last"]
    return 0 if last is None else last + 1


def _start(wanted: _Wanted) -> int:
    """Return the first move that matters: from it on, each job that gives back has taken before."""
    first = wanted.first
    while True:
        given_back = StockMove.objects.given_back().filter(id__gte=first, id__lt=wanted.end)
        taken = first_taken(given_back)
        if taken >= first:
            return first
        first = taken


def _rows(supply_id: int, start: int, end: int) -> Iterator[Row]:
    moves = StockMove.objects.filter(supply=supply_id, id__gte=start, id__lt=end)
    rows = moves.exclude(on_hand_change=0).order_by("id")
    columns = ("id", "supply_id", "on_hand_change", "cost", "commission_id")
    return rows.values_list(*columns).iterator(chunk_size=CHUNK)


def _work_through(
    supply_id: int, rows: Iterable[Row], shelf: Shelf, wanted: _Wanted, ledger: Ledger
) -> None:
    price: Fraction | None = None
    of_jobs: dict[int, tuple[int, Fraction]] = {}  # quantity and cost a job took so far
    for move_id, _supply, change, cost, job in rows:
        if move_id >= wanted.until:
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


def _price(supply_id: int) -> Fraction:
    """Return the present price of a thousandth of a supply's unit."""
    supply = Supply.objects.get(pk=supply_id)
    return Fraction(supply.pack_price) / Fraction(supply.pack_quantity) / THOUSANDTHS
