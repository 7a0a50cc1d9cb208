"""Pieces side by side, or as they lie on hides: what the files for other programs draw."""

from collections.abc import Iterable
from dataclasses import dataclass

from patterns.drawing.drawing import Turn, box_round
from patterns.drawing.packing import pack_boxes
from patterns.drawing.pieces import face_words
from patterns.layout.values import Layout, LayoutRequest
from patterns.pieces.piece import Piece, PieceSet, Ring

PIECE_GAP_MM = 12.0  # room for three lines of words below a piece
HIDE_GAP_MM = 40.0


@dataclass(frozen=True, slots=True)
class LaidPiece:
    """A copy of a piece, as drawn or mirrored, where ``turn`` brings it, with lines of words."""

    piece: Piece
    turn: Turn
    words: tuple[str, ...]

    @property
    def name(self) -> str:
        """Return the piece's name, and that it is mirrored."""
        return f"{self.piece.name}, mirrored" if self.turn.mirrored else self.piece.name


@dataclass(frozen=True, slots=True)
class LaidHide:
    """A hide's outline and defects where they are drawn."""

    name: str
    outline_mm: Ring
    defects_mm: tuple[Ring, ...]


@dataclass(frozen=True, slots=True)
class OutlineSheet:
    """All copies and hides of a file, in millimetres with y up."""

    pieces: tuple[LaidPiece, ...]
    hides: tuple[LaidHide, ...] = ()


def sheet_of_pieces(piece_set: PieceSet) -> OutlineSheet:
    """Return each piece as drawn and, where copies are mirrored, its mirror image beside it."""
    copies = [
        (piece, mirrored, count)
        for piece in piece_set.pieces
        for mirrored, count in _copies(piece)
        if count
    ]
    boxes = [
        box_round(Turn(mirrored=mirrored).many(piece.cut_mm)) for piece, mirrored, _count in copies
    ]
    sizes = [(box.width_mm, box.height_mm) for box in boxes]
    area = sum((w + PIECE_GAP_MM) * (h + PIECE_GAP_MM) for w, h in sizes)
    across = max((area * 1.5) ** 0.5, *(w for w, _ in sizes), 1.0)
    deep = sum(h + PIECE_GAP_MM for _, h in sizes) + 1.0
    packed = pack_boxes(sizes, [(across, deep)], gap_mm=PIECE_GAP_MM, may_turn=False)
    laid = []
    for spot in sorted(packed, key=lambda spot: spot.index):
        (piece, mirrored, count), box = copies[spot.index], boxes[spot.index]
        turn = Turn(spot.x_mm - box.left_mm, spot.y_mm - box.bottom_mm, mirrored=mirrored)
        words = (piece.name, _count_words(piece, piece_set, mirrored, count), face_words(piece))
        laid.append(LaidPiece(piece, turn, words))
    return OutlineSheet(tuple(laid))


def _copies(piece: Piece) -> tuple[tuple[bool, int], ...]:
    """Return how many copies are cut as drawn and mirrored; either way up is as drawn."""
    if piece.mirror_free:
        return ((False, piece.quantity),)
    return (
        (False, piece.quantity - piece.mirrored_quantity),
        (True, piece.mirrored_quantity),
    )


def _count_words(piece: Piece, piece_set: PieceSet, mirrored: bool, count: int) -> str:
    side = "" if piece_set.foot_side == "pair" else f"{piece_set.foot_side} foot: "
    if piece.mirror_free:
        return f"{side}cut {count}, either way up"
    return f"{side}cut {count}, mirrored" if mirrored else f"{side}cut {count}"


def sheet_of_layout(
    request: LayoutRequest, layout: Layout, pieces: Iterable[Piece] = ()
) -> OutlineSheet:
    """Return every placed copy on its hide, the hides side by side.

    Parameters
    ----------
    request : LayoutRequest
    layout : Layout
    pieces : iterable of Piece
        Those given are drawn with their finished lines and holes, others as cut outlines.
    """
    known = {piece.name: piece for piece in pieces}
    outlines = {piece.id: piece.outline_mm for piece in request.pieces}
    moves: dict[str, Turn] = {}
    hides, left = [], 0.0
    for hide in request.hides:
        box = box_round(hide.outline_mm)
        move = Turn(left - box.left_mm, -box.bottom_mm)
        moves[hide.id] = move
        hides.append(
            LaidHide(
                hide.id,
                move.many(hide.outline_mm),
                tuple(move.many(ring) for ring in hide.defects_mm),
            )
        )
        left += box.width_mm + HIDE_GAP_MM
    laid = []
    for place in layout.placements:
        ring = outlines[place.id]
        piece = known.get(place.id) or Piece(place.id, 1, 0, "upper", ring, ring)
        move = moves[place.container]
        x, y = move((place.x_mm, place.y_mm))
        turn = Turn(x, y, place.rotation_deg, mirrored=place.mirrored)
        laid.append(LaidPiece(piece, turn, (place.id,)))
    return OutlineSheet(tuple(laid), tuple(hides))
