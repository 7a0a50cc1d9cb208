"""Hide: the usable outline of a piece of leather, its defects, graded areas and cost."""

from dataclasses import dataclass
from decimal import Decimal

from patterns.errors import HideError, OutlineError
from patterns.geometry.outline import check_outline, outline_bounds_mm
from patterns.pieces.piece import Ring

HIDE_SIZE_MAX_MM = 3_000.0  # the largest cattle hides are about 3 m long
DEFECTS_MAX = 200
COST_MAX = Decimal(10) ** 9
# What leather of a grade is worth against the best of its hide, grade 1 first; grades beyond are
# worth as much as the last. Common practice, no source: belly sells for about half of the butt.
GRADE_WORTH = (1.0, 0.8, 0.6, 0.5)


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

    ``name`` is what the maker calls the part, such as ``"belly"``; ``worth_share`` what a dm2 of
    it is worth against the best of the hide, None for what is usual of its grade.

    Raises
    ------
    HideError
        The grade is below 1, the worth is not from 0 to 1, or the outline cannot be used.
    """

    grade: int
    outline_mm: Ring
    name: str = ""
    worth_share: float | None = None

    def __post_init__(self) -> None:
        if self.grade < 1:
            raise HideError(
                f"Grade {self.grade} is below 1. Grade 1 is the best leather.",
                field="grade",
                code="grade_too_low",
                grade=self.grade,
            )
        if self.worth_share is not None and not 0.0 <= self.worth_share <= 1.0:
            raise HideError(
                f"The worth of an area is {self.worth_share:g}; it must be from 0 to 1.",
                field="worth_share",
                code="worth_out_of_range",
                worth=self.worth_share,
            )
        _check_ring(self.outline_mm, f"area of grade {self.grade}", "outer")

    @property
    def worth(self) -> float:
        """Return what a dm2 of it is worth against the best of the hide.

        >>> GradedArea(3, ((0, 0), (9, 0), (0, 9))).worth
        0.6
        """
        if self.worth_share is not None:
            return self.worth_share
        return GRADE_WORTH[min(self.grade, len(GRADE_WORTH)) - 1]


@dataclass(frozen=True, slots=True)
class Hide:
    """A hide or remnant, outline recorded grain side up, x along the tight way.

    ``defect_kinds`` names what each defect is, such as ``"scar"``; empty where nobody has said.

    Raises
    ------
    HideError
        The name is empty, an outline cannot be used, the hide is larger than 3 x 3 m, it has
        more than 200 defects, not every defect is named, or its cost is not an amount of zero or
        more.
    """

    id: str
    outline_mm: Ring
    defects_mm: tuple[Ring, ...] = ()
    areas: tuple[GradedArea, ...] = ()
    cost: Decimal | None = None
    defect_kinds: tuple[str, ...] = ()

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
        if self.defect_kinds and len(self.defect_kinds) != len(self.defects_mm):
            raise HideError(
                f"Hide {self.id} has {len(self.defects_mm)} defects but {len(self.defect_kinds)} "
                "kinds of them. Name every one, or none.",
                field="defect_kinds",
                code="kinds_do_not_match",
                hide=self.id,
            )
        for index, ring in enumerate(self.defects_mm):
            _check_ring(ring, f"defect {index + 1} of hide {self.id}", f"holes.{index}")
        self._check_cost()

    @property
    def named_defects(self) -> tuple[tuple[str, Ring], ...]:
        """Return each defect with its kind, an empty text where nobody has said."""
        kinds = self.defect_kinds or ("",) * len(self.defects_mm)
        return tuple(zip(kinds, self.defects_mm, strict=True))

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
