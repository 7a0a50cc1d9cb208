"""In which order a pair is put together, read from its pieces: what is turned, joined, lasted.

The order is common practice, no source: what is joined flat is joined first, overlaps before the
seams that close the round; then what is set on, eyelets, lining, insole, lasting and the bottom.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from patterns.geometry.curves import polyline_length_mm
from patterns.pieces.piece import Edge, EdgeName, Material, Piece, PieceSet, Seam

TONGUE = "tongue"
INSOLE = "insole"
SOCK_LINING = "sock lining"
# Layers of an upper's own making; card and soles have steps of their own.
SEWN: tuple[Material, ...] = ("upper", "lining")


@dataclass(frozen=True, slots=True)
class Turned:
    """An edge that is thinned and turned over, and how many notches let it lie flat."""

    piece: str
    edge: str
    width_mm: float
    notches: int


@dataclass(frozen=True, slots=True)
class Join:
    """Two edges put together, by an overlap or edge to edge; ``number`` stands on both pieces."""

    number: int
    a: EdgeName
    b: EdgeName
    length_mm: float
    is_lap: bool
    material: Material


@dataclass(frozen=True, slots=True)
class Making:
    """What a pair's pieces ask for, stage by stage; empty where the style has no such thing."""

    pieces: tuple[Piece, ...]
    thinned: tuple[Turned, ...]
    turned: tuple[Turned, ...]
    joins: tuple[Join, ...]
    set_on: tuple[Piece, ...]
    tongue: Piece | None
    eyelets: int
    hooks: int
    hole_diameters_mm: tuple[float, ...]
    stiffeners: tuple[Piece, ...]
    insole: Piece | None
    filler: tuple[Piece, ...]
    sock: Piece | None
    lasted: tuple[tuple[str, float, int], ...]
    soles: tuple[Piece, ...]

    def joins_of(self, material: Material) -> tuple[Join, ...]:
        """Return the joins between pieces of a material."""
        return tuple(join for join in self.joins if join.material == material)

    def numbers_on(self, piece: str) -> dict[str, int]:
        """Return the number of the join that each edge of a piece has part in."""
        found = {}
        for join in self.joins:
            for name in (join.a, join.b):
                if name.piece == piece:
                    found[name.edge] = join.number
        return found


def making_of(piece_set: PieceSet) -> Making:
    """Return what is done to the pieces of a pair, or of one shoe, and in which order."""
    pieces = piece_set.pieces
    joins = _joins(piece_set)
    joined = {name.piece for join in joins for name in (join.a, join.b)}
    card = [piece for piece in pieces if piece.material == "card"]
    insole = _named(card, INSOLE)
    lasted = {row.piece for row in piece_set.lasting}
    holes = [hole for piece in pieces for hole in piece.holes for _ in range(piece.quantity)]
    return Making(
        pieces=pieces,
        thinned=_edges(pieces, ("hem", "lap", "seam")),
        turned=_edges(pieces, ("hem",)),
        joins=joins,
        set_on=tuple(
            piece
            for piece in pieces
            if piece.material == "upper" and piece.name not in joined and piece.name != TONGUE
        ),
        tongue=_named(pieces, TONGUE),
        eyelets=sum(hole.kind == "eyelet" for hole in holes),
        hooks=sum(hole.kind == "hook" for hole in holes),
        hole_diameters_mm=tuple(sorted({hole.diameter_mm for hole in holes})),
        stiffeners=tuple(piece for piece in card if piece.name in lasted),
        insole=insole,
        filler=tuple(p for p in card if p is not insole and p.name not in lasted),
        sock=_named(pieces, SOCK_LINING),
        lasted=tuple((row.piece, row.margin_mm, row.notches) for row in piece_set.lasting),
        soles=tuple(piece for piece in pieces if piece.material == "sole"),
    )


def _named(pieces: Sequence[Piece], name: str) -> Piece | None:
    return next((piece for piece in pieces if piece.name == name), None)


def _edges(pieces: Sequence[Piece], kinds: tuple[str, ...]) -> tuple[Turned, ...]:
    return tuple(
        Turned(
            piece.name,
            edge.name,
            edge.allowance_mm,
            sum(notch.edge == edge.name for notch in piece.notches),
        )
        for piece in pieces
        if piece.material == "upper"
        for edge in piece.edges
        if edge.kind in kinds and edge.allowance_mm > 0.0
    )


def _joins(piece_set: PieceSet) -> tuple[Join, ...]:
    """Return the seams in the order they are closed, numbered from one."""
    pieces = {piece.name: piece for piece in piece_set.pieces}
    rows: list[tuple[tuple[int, bool], Seam, bool, Material]] = []
    for seam in piece_set.seams:
        a, b = pieces[seam.a.piece], pieces[seam.b.piece]
        is_lap = _edge(a, seam.a.edge).kind != "seam" or _edge(b, seam.b.edge).kind != "seam"
        # Where an upper piece meets a lining, the join belongs to the lining's turn.
        material: Material = "upper" if (a.material, b.material) == ("upper", "upper") else "lining"
        rows.append(((SEWN.index(material), not is_lap), seam, is_lap, material))
    rows.sort(key=lambda row: row[0])
    return tuple(
        Join(number, seam.a, seam.b, seam.length_a_mm, is_lap, material)
        for number, (_turn, seam, is_lap, material) in enumerate(rows, start=1)
    )


def _edge(piece: Piece, name: str) -> Edge:
    return next(edge for edge in piece.edges if edge.name == name)


def stitched_mm(piece: Piece) -> float:
    """Return the length of the stitch lines drawn on one copy of a piece."""
    return sum(polyline_length_mm(line.points_mm) for line in piece.lines if line.kind == "stitch")
