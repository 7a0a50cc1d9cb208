"""Pieces of several lines on several hides: one request for each leather, and whose piece is whose.

A line's pieces carry its letter before their name, so that every copy on a hide, in a cut list and
on a drawing says for which line it is.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from string import ascii_uppercase

from patterns.hide import Hide
from patterns.layout.from_pieces import request_from_pieces
from patterns.layout.sets import copies_laid, sets_of_copies
from patterns.layout.values import Layout, LayoutPiece, LayoutRequest, Placement
from patterns.layout.waste import layout_waste
from patterns.pieces.piece import EdgeName, Piece, PieceSet

HandKey = tuple[str, bool]  # a piece's name, and whether mirrored


@dataclass(frozen=True, slots=True)
class LinePieces:
    """One line of a job as a layout takes it: its pieces, and how many pairs."""

    position: int
    pieces: PieceSet
    pair_count: int


def line_letter(position: int) -> str:
    """Return what stands for a line on pieces and pairs; numbers are taken by the pairs.

    >>> line_letter(1), line_letter(26), line_letter(27)
    ('A', 'Z', 'A2')
    """
    turn, letter = divmod(position - 1, len(ascii_uppercase))
    return ascii_uppercase[letter] + (str(turn + 1) if turn else "")


def named(position: int, piece: str) -> str:
    """Return what a line's piece is called among those of other lines.

    >>> named(2, "vamp")
    'B vamp'
    """
    return f"{line_letter(position)} {piece}"


def joined_request(
    lines: Sequence[LinePieces], hides: Sequence[Hide], *, spacing_mm: float
) -> LayoutRequest:
    """Return the request to lay the upper pieces of all lines on the hides; a set is a line's pair.

    Raises
    ------
    LayoutError
        A line has no pieces of upper leather, or there are more copies or hides than a layout
        takes.
    """
    pieces: list[LayoutPiece] = []
    for line in lines:
        asked = request_from_pieces(
            line.pieces, hides, pair_count=line.pair_count, spacing_mm=spacing_mm
        )
        pieces += [
            replace(piece, id=named(line.position, piece.id), set_name=str(line.position))
            for piece in asked.pieces
        ]
    return LayoutRequest(hides=tuple(hides), pieces=tuple(pieces), spacing_mm=spacing_mm)


def whole_pairs(request: LayoutRequest, layout: Layout) -> dict[int, int]:
    """Return how many whole pairs lie there, by the line's position."""
    sets = sets_of_copies(request.pieces, copies_laid(layout.placements))
    return {int(name): count for name, count in sets.items()}


def pairs_laid(
    request: LayoutRequest, layout: Layout, line: LinePieces
) -> list[tuple[Placement, ...]]:
    """Return the placements of each pair of a line, pair by pair.

    The pairs of a line are alike, so any copy may go into any of them: they are filled hide by
    hide, which leaves as few pairs as can be on two hides.
    """
    order = {hide.id: k for k, hide in enumerate(request.hides)}
    pairs: list[list[Placement]] = [[] for _pair in range(line.pair_count)]
    for piece in request.pieces:
        if piece.set_name != str(line.position):
            continue
        rows = sorted(
            (row for row in layout.placements if row.id == piece.id),
            key=lambda row: order[row.container],
        )
        for kept, count in _hands(piece, rows):
            for number, pair in enumerate(pairs):
                pair += kept[number * count : (number + 1) * count]
    return [tuple(pair) for pair in pairs]


def _hands(piece: LayoutPiece, rows: Sequence[Placement]) -> list[tuple[Sequence[Placement], int]]:
    """Return the copies of each hand, and how many of them a pair takes."""
    if piece.mirror_free:
        return [(rows, piece.per_set)]
    plain = [row for row in rows if not row.mirrored]
    mirrored = [row for row in rows if row.mirrored]
    return [
        (plain, piece.per_set - piece.per_set_mirrored),
        (mirrored, piece.per_set_mirrored),
    ]


@dataclass(frozen=True, slots=True)
class HideUse:
    """What is taken of one hide: the pieces alone, all that is cut off for them, and the waste."""

    code: str
    pieces_mm2: float
    taken_mm2: float
    waste_share: float


def hides_used(request: LayoutRequest, layout: Layout) -> list[HideUse]:
    """Return what is taken of each hide that something lies on, each by itself."""
    used = []
    for hide in request.hides:
        rows = tuple(row for row in layout.placements if row.container == hide.id)
        if rows:
            waste = layout_waste(replace(request, hides=(hide,)), replace(layout, placements=rows))
            used.append(
                HideUse(hide.id, waste.used_area_mm2, waste.occupied_area_mm2, waste.waste_share)
            )
    return used


def cut_together(lines: Sequence[LinePieces]) -> PieceSet:
    """Return the pieces of all lines as one set, in which each is wanted as often as in all pairs.

    It is what a cutting order is made of; its pieces are named as in the layout.
    """
    first = lines[0].pieces
    pieces = [_often(line, piece) for line in lines for piece in line.pieces.pieces]
    return replace(first, pieces=tuple(pieces))


def _often(line: LinePieces, piece: Piece) -> Piece:
    edges = tuple(
        edge
        if edge.partner is None
        else replace(
            edge,
            partner=EdgeName(named(line.position, edge.partner.piece), edge.partner.edge),
        )
        for edge in piece.edges
    )
    return replace(
        piece,
        name=named(line.position, piece.name),
        edges=edges,
        quantity=piece.quantity * line.pair_count,
        mirrored_quantity=piece.mirrored_quantity * line.pair_count,
    )
