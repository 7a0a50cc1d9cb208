"""Where the shelf of a supply stood, kept now and then so that long ledgers are quick to read.

One way for both ways of costing: the shelf itself is kept, as plain values that restore it to the
last fraction. A mark may be used where nothing after it depends on what lies before: a job that
gave goods back after it has taken all of them after it too.
"""

import sys
from collections.abc import Iterator
from decimal import Decimal

from django.db.models import QuerySet

from costing.shelf import Shelf
from costing.stock_cost import CostWay
from workshop.models import ShelfMark, StockMove

MARK_EVERY = 200  # moves that are worth not being read again: a job's page reads all its shelves
MARK_FAR = 20_000  # so often on a long way, so that earlier days are quick to ask for as well

Row = tuple[int, int, int, Decimal | None, int | None]  # id, supply, change, cost, job


def mark_before(supply_id: int, way: CostWay, begin: int, end: int) -> ShelfMark | None:
    """Return the newest mark of a supply that may be used to read from one move to another."""
    marks = ShelfMark.objects.filter(supply=supply_id, way=way)
    moves = StockMove.objects.filter(supply=supply_id)
    while True:
        mark = marks.filter(move_id__lt=begin).first()
        if mark is None:
            return None
        back = moves.given_back().filter(id__gt=mark.move_id, id__lt=end)
        taken = first_taken(back, supply_id)
        if taken > mark.move_id:
            return mark
        begin = taken


def first_taken(given_back: QuerySet[StockMove], supply_id: int | None = None) -> int:
    """Return the first move of the jobs that gave something back; one that never comes for none.

    Read job by job: left to choose, SQLite walks the ledger from its first move.
    """
    jobs = set(given_back.values_list("commission_id", flat=True))
    moves = StockMove.objects.filter(commission__in=jobs).order_by()
    return min(
        (
            key
            for key, supply in moves.values_list("id", "supply_id")
            if supply_id in (None, supply)
        ),
        default=sys.maxsize,
    )


class Marking:
    """Rows of one supply handed on as they are; after many, where its shelf stands is marked.

    A mark is made before the first move that is asked for, or at the end, and now and then on a
    long way there.
    """

    def __init__(self, supply_id: int, way: CostWay, shelf: Shelf, begin: int) -> None:
        self._supply_id = supply_id
        self._way = way
        self._shelf = shelf
        self._begin = begin
        self.marks: list[ShelfMark] = []

    def handed(self, rows: Iterator[Row]) -> Iterator[Row]:
        """Yield the rows; whoever takes one works it off before asking for the next."""
        read, last, is_open = 0, 0, True
        for row in rows:
            if is_open and row[0] >= self._begin:
                self._set(read, last)
                is_open = False
            elif is_open and read >= MARK_FAR:
                self._set(read, last)
                read = 0
            # Goods whose cost nobody wrote down count at a price that may change later.
            is_open = is_open and not (row[2] > 0 and row[3] is None and row[4] is None)
            read, last = read + 1, row[0]
            yield row
        if is_open:
            self._set(read, last)

    def _set(self, read: int, last: int) -> None:
        if read >= MARK_EVERY:
            self.marks.append(
                ShelfMark(
                    supply_id=self._supply_id,
                    way=self._way,
                    move_id=last,
                    shelf=self._shelf.kept(),
                )
            )


def marks_keep(marks: list[ShelfMark]) -> None:
    """Keep marks; those that somebody else has kept meanwhile say the same."""
    ShelfMark.objects.bulk_create(marks, ignore_conflicts=True)
