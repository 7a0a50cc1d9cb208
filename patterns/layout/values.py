"""The values a layout is asked with and answered with; see DEVELOPERS.md for their files."""

from dataclasses import dataclass

from patterns.hide import Hide
from patterns.pieces.piece import Ring


@dataclass(frozen=True, slots=True)
class LayoutPiece:
    """A piece to lay out, in as many copies as asked.

    ``allowed_rotations_deg`` is None when the piece may turn freely. ``mirrored_quantity`` of the
    ``quantity`` copies are the mirror image, unless ``mirror_free`` lets any copy be either.
    A set (one pair of one size) needs ``per_set`` copies, ``per_set_mirrored`` of them mirrored.
    """

    id: str
    outline_mm: Ring
    quantity: int
    mirrored_quantity: int = 0
    mirror_free: bool = False
    allowed_rotations_deg: tuple[float, ...] | None = (0.0,)
    rotation_tolerance_deg: float = 0.0
    set_name: str = "pair"
    per_set: int = 0
    per_set_mirrored: int = 0
    grade: int | None = None


@dataclass(frozen=True, slots=True)
class Placement:
    """One copy laid down: mirrored (x to -x) if so, turned counter-clockwise, then moved."""

    id: str
    container: str
    x_mm: float
    y_mm: float
    rotation_deg: float
    mirrored: bool


@dataclass(frozen=True, slots=True)
class LayoutRequest:
    """What to lay out and where."""

    hides: tuple[Hide, ...]
    pieces: tuple[LayoutPiece, ...]
    fixed: tuple[Placement, ...] = ()
    spacing_mm: float = 1.5
    edge_spacing_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Layout:
    """Where every copy lies, and what that makes of the hides."""

    placements: tuple[Placement, ...]
    placed: int
    requested: int
    complete_sets: int
    used_area_mm2: float
    usable_area_mm2: float
    seed: int
    steps: int

    @property
    def density(self) -> float:
        """Return the placed area over the usable area of every hide given."""
        return self.used_area_mm2 / self.usable_area_mm2 if self.usable_area_mm2 else 0.0
