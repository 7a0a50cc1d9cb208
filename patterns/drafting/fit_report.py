"""The fit report: everything measured on a draft, and what it means in a maker's words."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from patterns.drafting.lay_flat import FlatPart
from patterns.pieces.eyelets import EyeletRow
from patterns.pieces.piece import GirthClosure, Lasting, Piece, PieceSet
from patterns.projection.closure import measured_seams

if TYPE_CHECKING:
    from patterns.drafting.draft import Plan


def report(
    plan: "Plan",
    pieces: Sequence[Piece],
    flats: Sequence[FlatPart],
    *,
    closures: Sequence[GirthClosure],
    lasting: Sequence[Lasting],
    row: EyeletRow | None,
) -> PieceSet:
    """Return the pieces with their report."""
    return PieceSet(
        style=plan.style.name,
        foot=plan.foot.name,
        foot_side="pair",
        engine="surface 1",
        parameters=plan.values,
        source_kind=plan.last.source_kind,
        measures=plan.last.measures,
        girth_closure=tuple(closures),
        lasting=tuple(lasting),
        seams=tuple(measured_seams(pieces)),
        messages=(),
        pieces=tuple(pieces),
    )
