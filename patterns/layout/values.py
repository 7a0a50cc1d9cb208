"""The values a layout is asked with and answered with; see DEVELOPERS.md for their files."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from patterns.errors import LayoutError, OutlineError
from patterns.geometry.outline import COORDINATE_MAX_MM, check_outline
from patterns.hide import Hide
from patterns.pieces.piece import Ring

COPIES_MAX = 400
HIDES_MAX = 20
SPACING_MAX_MM = 100.0  # far beyond any knife; a larger number is a wrong unit


@dataclass(frozen=True, slots=True)
class LayoutPiece:
    """A piece to lay out, in as many copies as asked.

    ``allowed_rotations_deg`` is None when the piece may turn freely. ``mirrored_quantity`` of the
    ``quantity`` copies are the mirror image, unless ``mirror_free`` lets any copy be either.
    Mirrored copies may have turns of their own in ``mirrored_rotations_deg``: the tight way of a
    mirror image stands at another angle; None means the same turns.
    A set (one pair of one size) needs ``per_set`` copies, ``per_set_mirrored`` of them mirrored.

    Raises
    ------
    LayoutError
        A number is out of its range or the outline cannot be used; ``field`` is the file's key.
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
    mirrored_rotations_deg: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        if not self.id:
            raise LayoutError("A piece has no name. Give it one.", field="id", code="no_name")
        try:
            check_outline(self.outline_mm, name=f"outline of {self.id}", field="outer")
        except OutlineError as error:
            raise LayoutError(
                error.text, field=error.field, code=error.code, **error.parameters
            ) from error
        self._check_whole("quantity", self.quantity, 1, COPIES_MAX)
        self._check_whole("mirrored_quantity", self.mirrored_quantity, 0, self.quantity)
        self._check_whole("per_set", self.per_set, 0, COPIES_MAX)
        self._check_whole("per_set_mirrored", self.per_set_mirrored, 0, self.per_set)
        if self.grade is not None:
            self._check_whole("grade", self.grade, 1, COPIES_MAX)
        self._check_number("rotation_tolerance_deg", self.rotation_tolerance_deg, 0.0, 180.0)
        if self.allowed_rotations_deg is not None:
            self._check_rotations(self.allowed_rotations_deg)
        if self.mirrored_rotations_deg is not None:
            self._check_rotations(self.mirrored_rotations_deg)

    def rotations_deg(self, mirrored: bool) -> tuple[float, ...] | None:
        """Return the turns allowed to plain or to mirrored copies; None for any turn."""
        if mirrored and self.allowed_rotations_deg is not None:
            return self.mirrored_rotations_deg or self.allowed_rotations_deg
        return self.allowed_rotations_deg

    def _check_rotations(self, rotations_deg: Sequence[float]) -> None:
        if not 1 <= len(rotations_deg) <= 360:
            raise LayoutError(
                f"{self.id} has {len(rotations_deg)} allowed rotations; give 1 to 360, or free.",
                field="allowed_rotations",
                code="no_rotations",
                piece=self.id,
            )
        for index, rotation in enumerate(rotations_deg):
            self._check_number(f"allowed_rotations.{index}", rotation, -360.0, 360.0)

    def _check_whole(self, field: str, value: int, least: int, most: int) -> None:
        self._check_number(field, value, least, most)

    def _check_number(self, field: str, value: float, least: float, most: float) -> None:
        if not (math.isfinite(value) and least <= value <= most):
            raise LayoutError(
                f"{self.id}: {field} is {value:g}; it must be from {least:g} to {most:g}.",
                field=field,
                code="out_of_range",
                piece=self.id,
                value=value,
                least=least,
                most=most,
            )


@dataclass(frozen=True, slots=True)
class Placement:
    """One copy laid down: mirrored (x to -x) if so, turned counter-clockwise, then moved.

    Raises
    ------
    LayoutError
        A coordinate or the angle is not a finite number of usable size.
    """

    id: str
    container: str
    x_mm: float
    y_mm: float
    rotation_deg: float
    mirrored: bool

    def __post_init__(self) -> None:
        numbers = (
            ("x", self.x_mm, COORDINATE_MAX_MM),
            ("y", self.y_mm, COORDINATE_MAX_MM),
            ("rotation_deg", self.rotation_deg, 720.0),
        )
        for field, value, most in numbers:
            if not abs(value) <= most:  # a NaN fails this too
                raise LayoutError(
                    f"The placement of {self.id} has {field} {value:g}; it must be from "
                    f"{-most:g} to {most:g}.",
                    field=field,
                    code="out_of_range",
                    piece=self.id,
                    value=value,
                    least=-most,
                    most=most,
                )


@dataclass(frozen=True, slots=True)
class LayoutRequest:
    """What to lay out and where.

    Raises
    ------
    LayoutError
        No hide or piece, too many of them, a name used twice, a gap out of range, or a fixed
        placement of an unknown piece or hide.
    """

    hides: tuple[Hide, ...]
    pieces: tuple[LayoutPiece, ...]
    fixed: tuple[Placement, ...] = ()
    spacing_mm: float = 1.5
    edge_spacing_mm: float = 0.0

    def __post_init__(self) -> None:
        copies = sum(piece.quantity for piece in self.pieces)
        self._check_count("containers", "hides", len(self.hides), HIDES_MAX)
        self._check_count("pieces", "pieces to lay out", copies, COPIES_MAX)
        self._check_names("containers", [hide.id for hide in self.hides])
        self._check_names("pieces", [piece.id for piece in self.pieces])
        for field, gap in (
            ("spacing_mm", self.spacing_mm),
            ("edge_spacing_mm", self.edge_spacing_mm),
        ):
            if not 0.0 <= gap <= SPACING_MAX_MM:
                raise LayoutError(
                    f"{field} is {gap:g}; it must be from 0 to {SPACING_MAX_MM:g} mm.",
                    field=field,
                    code="out_of_range",
                    value=gap,
                    least=0.0,
                    most=SPACING_MAX_MM,
                )
        self._check_fixed()

    @staticmethod
    def _check_count(field: str, what: str, count: int, most: int) -> None:
        if not 1 <= count <= most:
            raise LayoutError(
                f"There are {count} {what}; a layout takes 1 to {most}. "
                + ("Lay them out in several runs." if count else "Add one."),
                field=field,
                code="too_many" if count else "none_given",
                count=count,
                most=most,
            )

    @staticmethod
    def _check_names(field: str, names: Sequence[str]) -> None:
        for name, count in Counter(names).items():
            if count > 1:
                index = len(names) - 1 - names[::-1].index(name)
                raise LayoutError(
                    f"The name {name} is used {count} times. Give each its own.",
                    field=f"{field}.{index}.id",
                    code="name_used_twice",
                    name=name,
                )

    def _check_fixed(self) -> None:
        known = {"id": {p.id for p in self.pieces}, "container": {h.id for h in self.hides}}
        for index, placement in enumerate(self.fixed):
            for field, name in (("id", placement.id), ("container", placement.container)):
                if name not in known[field]:
                    raise LayoutError(
                        f"Fixed placement {index + 1} names {name}, which is not in this layout.",
                        field=f"fixed.{index}.{field}",
                        code="unknown_name",
                        name=name,
                    )


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


@dataclass(frozen=True, slots=True)
class LayoutProgress:
    """The best layout after some steps; ``share`` runs from 0 to 1 over the time allowed."""

    step: int
    share: float
    layout: Layout
