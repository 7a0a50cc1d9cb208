"""What makes one layout better than another, in order."""

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from patterns.layout.orientations import Kind
from patterns.layout.sets import sets_of_copies
from patterns.layout.table import Table

Counts = Sequence[Sequence[int]]  # copies by board, then by kind

# In climbing, a copy needed for the sets aimed at counts this much above an odd one.
NEEDED_WEIGHT = 2.0
# Leather left on the shelf counts little beside leather laid with pieces.
CUT_WEIGHT = 0.05


class Rank(NamedTuple):
    """The worth of a layout; of two, the greater is better.

    In order: complete sets; area of pieces that belong to no set (of all pieces when no set is
    complete, or the cheapest layout would be an empty one); the cost of the hides opened; sets
    cut whole from one hide; area placed; leather left on the shelf.
    """

    sets: int
    loose_mm2: float
    minus_cost: Decimal
    sets_of_one_hide: int
    area_mm2: float
    minus_occupied_mm2: float


def rank(table: Table, counts: Counts) -> Rank:
    """Return the worth of what lies on the table."""
    return rank_of(table, counts, table.occupied_mm2())


def rank_of(table: Table, counts: Counts, occupied_mm2: float) -> Rank:
    """Return the worth of so many copies on each board that take so much leather off."""
    sets = sum(set_counts(table.kinds, _summed(counts)).values())
    area = _area(table.kinds, _summed(counts))
    loose = area if not sets else _area(table.kinds, _summed(counts), loose_only=True)
    whole = sum(sum(set_counts(table.kinds, row).values()) for row in counts)
    return Rank(
        sets=sets,
        loose_mm2=round(loose, 3),
        minus_cost=-opened_cost(table, counts),
        sets_of_one_hide=min(whole, sets),
        area_mm2=round(area, 3),
        minus_occupied_mm2=-round(occupied_mm2, 3),
    )


def opened_cost(table: Table, counts: Counts) -> Decimal:
    """Return the cost of the hides with a piece on them; a hide without a cost counts nothing."""
    return sum(
        (
            hide.cost
            for hide, row in zip(table.request.hides, counts, strict=True)
            if hide.cost is not None and any(row)
        ),
        Decimal(0),
    )


def set_counts(kinds: Sequence[Kind], copies: Sequence[int]) -> dict[str, int]:
    """Return the complete sets by name for so many copies of each kind."""
    by_copy = {
        (kind.piece.id, kind.mirrorings[0]): count
        for kind, count in zip(kinds, copies, strict=True)
    }
    pieces = {kind.piece.id: kind.piece for kind in kinds}
    return sets_of_copies(pieces.values(), by_copy)


def needed_copies(kinds: Sequence[Kind], targets: dict[str, int]) -> list[int]:
    """Return how many copies of each kind the sets aimed at need."""
    return [
        min(kind.quantity, targets.get(kind.piece.set_name, 0) * kind.per_set) for kind in kinds
    ]


def climb_value(table: Table, counts: Counts, needed: Sequence[int]) -> float:
    """Return the smooth worth by which the search climbs towards the sets aimed at."""
    copies = _summed(counts)
    value = 0.0
    for kind, count, need in zip(table.kinds, copies, needed, strict=True):
        value += kind.area_mm2 * (count + NEEDED_WEIGHT * min(count, need))
    if not any(table.left):
        value -= CUT_WEIGHT * table.occupied_mm2()
    return value


def _summed(counts: Counts) -> list[int]:
    return [sum(column) for column in zip(*counts, strict=True)]


def _area(kinds: Sequence[Kind], copies: Sequence[int], *, loose_only: bool = False) -> float:
    return sum(
        kind.area_mm2 * count
        for kind, count in zip(kinds, copies, strict=True)
        if not (loose_only and kind.piece.per_set)
    )
