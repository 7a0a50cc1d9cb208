"""Hide: the usable outline of a piece of leather, its defects, graded areas and cost."""

from dataclasses import dataclass
from decimal import Decimal

from patterns.errors import HideError, OutlineError
from patterns.geometry.outline import check_outline, outline_bounds_mm
from patterns.pieces.piece import Ring

HIDE_SIZE_MAX_MM = 3_000.0  # the largest cattle hides are about 3 m long
DEFECTS_MAX = 200
COST_MAX = Decimal(10) ** 9


def _check_ring(ring_mm: Ring, name: str, field: str) -> None:
    try:
        check_outline(ring_mm, name=name, field=field)
    except OutlineError as error:
        raise HideError(
            error.text, field=error.field, code=error.code, **error.parameters
        ) from error


@dataclass(frozen=True, slots=True)
class GradedArea:
    """A part of a hide of a lesser grade; 1 is the best, larger numbers are worse.

    Raises
    ------
    HideError
        The grade is below 1 or the outline cannot be used.
    """

    grade: int
    outline_mm: Ring

    def __post_init__(self) -> None:
        if self.grade < 1:
            raise HideError(
                f"Grade {self.grade} is below 1. Grade 1 is the best leather.",
                field="grade",
                code="grade_too_low",
                grade=self.grade,
            )
        _check_ring(self.outline_mm, f"area of grade {self.grade}", "outer")


@dataclass(frozen=True, slots=True)
class Hide:
    """A hide or remnant, outline recorded grain side up, x along the tight way.

    Raises
    ------
    HideError
        The name is empty, an outline cannot be used, the hide is larger than 3 x 3 m, it has
        more than 200 defects, or its cost is not an amount of zero or more.
    """

    id: str
    outline_mm: Ring
    defects_mm: tuple[Ring, ...] = ()
    areas: tuple[GradedArea, ...] = ()
    cost: Decimal | None = None

    def __post_init__(self) -> None:
        if not self.id:
            raise HideError("A hide has no name. Give it one.", field="id", code="no_name")
        _check_ring(self.outline_mm, f"outline of hide {self.id}", "outer")
        self._check_size()
        if len(self.defects_mm) > DEFECTS_MAX or len(self.areas) > DEFECTS_MAX:
            count = max(len(self.defects_mm), len(self.areas))
            raise HideError(
                f"Hide {self.id} has {count} defects or areas; at most {DEFECTS_MAX} can be "
                "used. Draw neighbouring ones as one.",
                field="holes" if len(self.defects_mm) > DEFECTS_MAX else "areas",
                code="too_many_defects",
                hide=self.id,
                defects=count,
                most=DEFECTS_MAX,
            )
        for index, ring in enumerate(self.defects_mm):
            _check_ring(ring, f"defect {index + 1} of hide {self.id}", f"holes.{index}")
        self._check_cost()

    def _check_size(self) -> None:
        x0, y0, x1, y1 = outline_bounds_mm(self.outline_mm)
        if max(x1 - x0, y1 - y0) > HIDE_SIZE_MAX_MM:
            raise HideError(
                f"Hide {self.id} is {x1 - x0:.0f} × {y1 - y0:.0f} mm; at most "
                f"{HIDE_SIZE_MAX_MM:.0f} × {HIDE_SIZE_MAX_MM:.0f} mm can be used. Check the unit.",
                field="outer",
                code="hide_too_large",
                hide=self.id,
                width_mm=x1 - x0,
                height_mm=y1 - y0,
                most_mm=HIDE_SIZE_MAX_MM,
            )

    def _check_cost(self) -> None:
        if self.cost is not None and not (self.cost.is_finite() and 0 <= self.cost <= COST_MAX):
            raise HideError(
                f"The cost of hide {self.id} is {self.cost}; it must be an amount from 0 to "
                f"{COST_MAX}.",
                field="cost",
                code="cost_out_of_range",
                hide=self.id,
            )
