"""Where the moving average of a supply stood, kept now and then so that long ledgers are quick.

A mark may be used where nothing after it depends on what lies before: a job that gave goods back
after it has taken all of them after it too.
"""

from collections.abc import Iterator
from decimal import Decimal

from costing.shelf import Shelf
from workshop.models import AverageMark, StockMove

MARK_EVERY = 2_000  # moves that are worth not being read again
MARKS_TRIED = 3

Row = tuple[int, int, int, Decimal | None, int | None]  # id, supply, change, cost, job


def mark_before(supply_id: int, begin: int) -> AverageMark | None:
    """Return the newest mark of a supply before a move that may be used, or None."""
    marks = AverageMark.objects.filter(supply=supply_id, move_id__lt=begin)
    return next((mark for mark in marks[:MARKS_TRIED] if _stands_alone(mark)), None)


def _stands_alone(mark: AverageMark) -> bool:
    moves = StockMove.objects.filter(supply=mark.supply_id)
    back = moves.filter(id__gt=mark.move_id, on_hand_change__gt=0, commission__isnull=False)
    jobs = set(back.values_list("commission_id", flat=True))
    return not jobs or not moves.filter(id__lte=mark.move_id, commission__in=jobs).exists()


class Marking:
    """Rows of one supply handed on as they are; after many, where its shelf stands is marked.

    The mark is made before the first move that is asked for, or at the end.
    """

    def __init__(self, supply_id: int, shelf: Shelf, begin: int) -> None:
        self._supply_id = supply_id
        self._shelf = shelf
        self._begin = begin
        self.mark: AverageMark | None = None

    def handed(self, rows: Iterator[Row]) -> Iterator[Row]:
        """Yield the rows; whoever takes one works it off before asking for the next."""
        read, last, is_open = 0, 0, True
        for row in rows:
            if is_open and row[0] >= self._begin:
                self._set(read, last)
                is_open = False
            # Goods whose cost nobody wrote down count at a price that may change later.
            is_open = is_open and not (row[2] > 0 and row[3] is None and row[4] is None)
            read, last = read + 1, row[0]
            yield row
        if is_open:
            self._set(read, last)

    def _set(self, read: int, last: int) -> None:
        if read >= MARK_EVERY:
            average = self._shelf.average
            self.mark = AverageMark(
                supply_id=self._supply_id,
                move_id=last,
                on_hand=self._shelf.on_hand,
                numerator=str(average.numerator),
                denominator=str(average.denominator),
            )


def marks_keep(marks: list[AverageMark]) -> None:
    """Keep marks; those that somebody else has kept meanwhile say the same."""
    AverageMark.objects.bulk_create(marks, ignore_conflicts=True)
