"""Pieces that stand in for pieces not drawn yet, so that a price can be estimated at once.

Whenever pieces are drawn they are kept as a stand-in too, without what only a drawing needs: for
their style with its values, and for their style alone. On another foot they are scaled by its
length, which is what a price asks of them and no more: areas, seams, eyelets, pieces to cut.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from patterns.exchange.pieces_file import document_from_pieces, pieces_from_document
from patterns.pieces.piece import Piece, PieceSet, Point
from workshop.kept_results import found, kept

if TYPE_CHECKING:
    from workshop.drafting import Asked

KIND = "stand-in"
LENGTH = "foot_length"


def stand_in_keep(asked: "Asked", pieces: PieceSet) -> None:
    """Keep pieces just drawn as a stand-in; the first of a kind stay."""
    length_mm = asked.foot.measures_mm.get(LENGTH)
    if length_mm is not None:
        document = {"foot_length_mm": length_mm, "pieces": document_from_pieces(pieces)}
        for source in _sources(asked):
            kept(KIND, source, lambda: document)
    kept(KIND, _marks(asked), lambda: {"drawn": True})


def was_drawn(asked: "Asked") -> bool:
    """Return whether this style was drawn on this very foot before, with whatever values.

    The last is known then, and what is new on it is drawn while the page is waited for.
    """
    return found(KIND, _marks(asked)) is not None


def stand_in_for(asked: "Asked") -> PieceSet | None:
    """Return pieces of the style scaled to a foot, or None where it was drawn on no foot yet."""
    length_mm = asked.foot.measures_mm.get(LENGTH)
    for source in _sources(asked):
        document = found(KIND, source)
        if document is not None and length_mm is not None:
            pieces = pieces_from_document(document["pieces"])
            return scaled(pieces, length_mm / float(document["foot_length_mm"]))
    return None


def scaled(pieces: PieceSet, factor: float) -> PieceSet:
    """Return pieces with all their lines longer by a factor; holes keep their size."""
    return replace(pieces, pieces=tuple(_scaled(piece, factor) for piece in pieces.pieces))


def _scaled(piece: Piece, factor: float) -> Piece:
    def longer(points: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple((x * factor, y * factor) for x, y in points)

    return replace(
        piece,
        net_mm=longer(piece.net_mm),
        cut_mm=longer(piece.cut_mm),
        edges=tuple(replace(edge, points_mm=longer(edge.points_mm)) for edge in piece.edges),
        lines=tuple(replace(line, points_mm=longer(line.points_mm)) for line in piece.lines),
        holes=tuple(
            replace(hole, x_mm=hole.x_mm * factor, y_mm=hole.y_mm * factor) for hole in piece.holes
        ),
    )


def _style(asked: "Asked") -> dict[str, Any]:
    return {"engine": asked.engine, "style": asked.style.name, "file": asked.style.sha256}


def _sources(asked: "Asked") -> tuple[Mapping[str, Any], ...]:
    """Return what stand-ins are kept by, the nearest to what is asked first."""
    style = _style(asked)
    return ({**style, "values": dict(asked.values)}, style)


def _marks(asked: "Asked") -> dict[str, Any]:
    return {**_style(asked), "foot": dict(asked.foot_document)}
