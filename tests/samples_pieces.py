"""Invented, tiny pieces for tests of what is read from them: rectangles in whole millimetres."""

from dataclasses import replace
from typing import Any

from patterns.pieces.piece import Edge, Hole, Line, Material, Piece, PieceSet, Ring

SIDE_MM = 50.0


def rectangle(length_mm: float, height_mm: float) -> Ring:
    """Return a rectangle from the origin, turning left."""
    return ((0.0, 0.0), (length_mm, 0.0), (length_mm, height_mm), (0.0, height_mm))


def eyelet_row(count: int, pitch_mm: float = 8.0) -> tuple[Hole, ...]:
    """Return eyelets up a line, 4 mm from the edge at x = 0."""
    return tuple(Hole("eyelet", 4.0, 5.0 + pitch_mm * place, 2.5) for place in range(count))


def plain_piece(name: str, material: Material, ring: Ring, **more: Any) -> Piece:
    """Return a piece cut on its net line, two for a pair, one of them mirrored."""
    return Piece(
        **{
            "name": name,
            "quantity": 2,
            "mirrored_quantity": 1,
            "material": material,
            "net_mm": ring,
            "cut_mm": ring,
        }
        | more
    )


def tiny_boot(
    *, height_mm: float = 40.0, eyelets: int = 3, pitch_mm: float = 8.0, lined: bool = True
) -> PieceSet:
    """Return a boot of two sides and a toe box, with lining, outsole and insole.

    The sides are 50 mm x `height_mm`, stitched up the back once, lasted along the bottom.
    """
    side = rectangle(SIDE_MM, height_mm)
    bottom = Edge("bottom", "lasting", 10.0, ((0.0, 0.0), (SIDE_MM, 0.0)))
    back = Line("stitch", ((SIDE_MM - 5.0, 0.0), (SIDE_MM - 5.0, height_mm)))
    holes = eyelet_row(eyelets, pitch_mm)
    inner = plain_piece("inner side", "upper", side, edges=(bottom,), lines=(back,), holes=holes)
    outer = replace(inner, name="outer side", lines=())
    pieces = [
        inner,
        outer,
        plain_piece("toe box", "upper", rectangle(30.0, 20.0)),
        plain_piece("outsole", "sole", rectangle(75.0, 30.0)),
        plain_piece("insole", "card", rectangle(70.0, 28.0)),
    ]
    if lined:
        pieces.append(plain_piece("side lining", "lining", rectangle(SIDE_MM, 30.0), quantity=4))
    return piece_set(tuple(pieces))


def piece_set(pieces: tuple[Piece, ...], **more: Any) -> PieceSet:
    """Return a set of pieces for a pair, with nothing else to say about it."""
    return PieceSet(
        **{
            "style": "tiny boot",
            "foot": "invented foot",
            "foot_side": "pair",
            "engine": "test",
            "parameters": {"eyelet_pitch_mm": 8.0},
            "source_kind": "measures",
            "measures": (),
            "girth_closure": (),
            "lasting": (),
            "seams": (),
            "messages": (),
            "pieces": pieces,
        }
        | more
    )


def one_shoe(pair: PieceSet, foot_side: str) -> PieceSet:
    """Return the pieces of one shoe of a pair."""
    pieces = tuple(
        replace(piece, quantity=piece.quantity // 2, mirrored_quantity=0) for piece in pair.pieces
    )
    return replace(pair, foot_side=foot_side, pieces=pieces)
