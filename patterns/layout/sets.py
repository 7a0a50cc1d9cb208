"""Counting complete sets: a set is everything one pair of one size needs."""

from collections import Counter
from collections.abc import Iterable, Mapping

from patterns.layout.values import LayoutPiece, Placement

CopyCounts = Mapping[tuple[str, bool], int]


def copies_laid(placements: Iterable[Placement]) -> CopyCounts:
    """Return how many copies of each piece lie there, by its name and whether mirrored."""
    return Counter((placement.id, placement.mirrored) for placement in placements)


def sets_of_copies(pieces: Iterable[LayoutPiece], copies: CopyCounts) -> dict[str, int]:
    """Return the number of whole sets by the set's name.

    Pieces that belong to no set (``per_set`` 0) are passed over. Plain and mirrored copies are
    counted apart, unless a piece may be either.
    """
    whole: dict[str, int] = {}
    for piece in pieces:
        if not piece.per_set:
            continue
        plain = copies.get((piece.id, False), 0)
        mirrored = copies.get((piece.id, True), 0)
        counts = []
        if piece.mirror_free:
            counts.append((plain + mirrored) // piece.per_set)
        else:
            if piece.per_set > piece.per_set_mirrored:
                counts.append(plain // (piece.per_set - piece.per_set_mirrored))
            if piece.per_set_mirrored:
                counts.append(mirrored // piece.per_set_mirrored)
        name = piece.set_name
        whole[name] = min([*counts, whole.get(name, counts[0])])
    return whole


def copies_asked(pieces: Iterable[LayoutPiece]) -> CopyCounts:
    """Return how many copies of each piece are asked for, by name and whether mirrored."""
    asked: dict[tuple[str, bool], int] = {}
    for piece in pieces:
        asked[(piece.id, False)] = piece.quantity - piece.mirrored_quantity
        asked[(piece.id, True)] = piece.mirrored_quantity
    return asked
