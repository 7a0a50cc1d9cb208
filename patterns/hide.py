"""Hide: the usable outline of a piece of leather, its defects, graded areas and cost."""

from dataclasses import dataclass
from decimal import Decimal

from patterns.pieces.piece import Ring


@dataclass(frozen=True, slots=True)
class GradedArea:
    """A part of a hide of a lesser grade; 1 is the best, larger numbers are worse."""

    grade: int
    outline_mm: Ring


@dataclass(frozen=True, slots=True)
class Hide:
    """A hide or remnant, outline recorded grain side up, x along the tight way."""

    id: str
    outline_mm: Ring
    defects_mm: tuple[Ring, ...] = ()
    areas: tuple[GradedArea, ...] = ()
    cost: Decimal | None = None
