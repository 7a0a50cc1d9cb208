"""Pattern pieces of a pair turned into a request for a layout of so many pairs."""

from collections.abc import Sequence

from patterns.errors import LayoutError
from patterns.hide import Hide
from patterns.layout.values import COPIES_MAX, LayoutPiece, LayoutRequest
from patterns.pieces.piece import Material, Piece, PieceSet

PAIRS_MAX = COPIES_MAX  # a pair has one piece at least


def request_from_pieces(
    piece_set: PieceSet,
    hides: Sequence[Hide],
    *,
    pair_count: int,
    material: Material = "upper",
    spacing_mm: float = 1.5,
    edge_spacing_mm: float = 0.0,
) -> LayoutRequest:
    """Return the request to lay out the pieces of one material for so many pairs.

    Cut outlines are laid. A piece may lie with its tight way along the hide's x axis, either way
    round, within its rotation tolerance; a piece that may turn by 90 degrees or more either way
    may lie anyhow. A copy's mirror image is turned to match: what points at an angle on the
    piece points at 180 degrees less that angle on the image. A piece with a grade keeps off the
    areas of a hide that are worse.

    Parameters
    ----------
    piece_set : PieceSet
        The pieces of one pair (or of one shoe where the feet differ).
    hides : sequence of Hide
        Where to lay them, x along the tight way.
    pair_count : int
        How many pairs, 1 or more.
    material : str
        Which pieces to take: ``"upper"``, ``"lining"``, ``"card"`` or ``"sole"``.
    spacing_mm, edge_spacing_mm : float
        Gap between pieces, and from pieces to edges and defects.

    Raises
    ------
    LayoutError
        No piece of that material, a pair count below 1, or more copies than a layout takes.
    """
    if not 1 <= pair_count <= PAIRS_MAX:
        raise LayoutError(
            f"{pair_count} pairs were asked for; a layout takes 1 to {PAIRS_MAX}.",
            field="pair_count",
            code="out_of_range",
            value=pair_count,
            least=1,
            most=PAIRS_MAX,
        )
    pieces = [piece for piece in piece_set.pieces if piece.material == material]
    if not pieces:
        raise LayoutError(
            f"The style {piece_set.style} has no pieces of {material}. Pick another material.",
            field="material",
            code="no_pieces",
            style=piece_set.style,
            material=material,
        )
    copies = pair_count * sum(piece.quantity for piece in pieces)
    if copies > COPIES_MAX:
        raise LayoutError(
            f"{pair_count} pairs have {copies} pieces of {material}; a layout takes "
            f"{COPIES_MAX}. Lay them out in several runs.",
            field="pair_count",
            code="too_many",
            count=copies,
            most=COPIES_MAX,
        )
    return LayoutRequest(
        hides=tuple(hides),
        pieces=tuple(_layout_piece(piece, pair_count) for piece in pieces),
        spacing_mm=spacing_mm,
        edge_spacing_mm=edge_spacing_mm,
    )


def _layout_piece(piece: Piece, pair_count: int) -> LayoutPiece:
    turns_freely = piece.rotation_tolerance_deg >= 90.0
    # Mirrored, the tight way stands at 180 - angle; turning by the angle brings it along x.
    return LayoutPiece(
        id=piece.name,
        outline_mm=piece.cut_mm,
        quantity=piece.quantity * pair_count,
        mirrored_quantity=piece.mirrored_quantity * pair_count,
        mirror_free=piece.mirror_free,
        allowed_rotations_deg=None if turns_freely else _both_ways(-piece.tight_way_deg),
        rotation_tolerance_deg=piece.rotation_tolerance_deg,
        grade=piece.grade,
        per_set=piece.quantity,
        per_set_mirrored=piece.mirrored_quantity,
        mirrored_rotations_deg=None if turns_freely else _both_ways(piece.tight_way_deg),
    )


def _both_ways(turn_deg: float) -> tuple[float, float]:
    """Return a turn and the one half round from it, from 0 up to 360 degrees."""
    turn = round(turn_deg % 180.0, 9) % 180.0
    return turn, turn + 180.0
