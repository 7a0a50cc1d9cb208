"""What a making guide is written from, and what one of its steps says."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from costing.bill_line import BillLine
from patterns.pieces.making import Making, making_of
from patterns.pieces.piece import Piece, PieceSet
from workshop.documents.guide_stages import Stage, StageMinutes
from workshop.documents.guide_units import Units, length_words, quantity_words


@dataclass(frozen=True, slots=True)
class GuideStep:
    """One step: its paragraphs, the rows of its table, the pieces drawn, cautions and times."""

    stage: Stage
    title: str
    paragraphs: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...] = ()
    heads: tuple[str, ...] = ()
    pieces: tuple[Piece, ...] = ()
    cautions: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    hands_min: int = 0
    waiting_min: int = 0


@dataclass(frozen=True, slots=True)
class GuidePlan:
    """What the steps are written from: one pair's pieces, its bill, and the times by stage."""

    pieces: PieceSet
    units: Units
    way: str
    bill: Sequence[BillLine] = ()
    minutes: Mapping[Stage, StageMinutes] = field(default_factory=dict)

    @property
    def making(self) -> Making:
        """Return the order of the work."""
        return making_of(self.pieces)

    def has(self, key: str) -> bool:
        """Return whether a parameter of the style is switched on."""
        return bool(self.pieces.parameters.get(key))


def needs(plan: GuidePlan, *keys: str) -> tuple[str, ...]:
    """Return what the bill says is taken for these lines, such as: thread 12.4 m."""
    return tuple(
        f"{line.name}: {quantity_words(line.quantity, line.unit, plan.units)}"
        for line in plan.bill
        if line.key in keys
    )


def mm_words(plan: GuidePlan, length_mm: float) -> str:
    """Return a length in the guide's units."""
    return length_words(length_mm, plan.units)


def named_pieces(making: Making, names: set[str]) -> tuple[Piece, ...]:
    """Return the pieces of these names, in the pattern's order."""
    return tuple(piece for piece in making.pieces if piece.name in names)


def glue_caution() -> str:
    """Return what is to be heeded wherever glue is used."""
    return _(
        "Glue: by its maker's label and safety sheet; open the window, no flame or spark near it,"
        " keep it off the skin, close the tin."
    )
