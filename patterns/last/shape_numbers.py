"""The free numbers of a last's shape: what is turned until the measures come out as asked."""

from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ShapeNumbers:
    """Natural logarithms of factors on the usual shape; all zero is the usual doll foot.

    Widths and heights are scaled by theirs. Fullness makes the upper half of a section rounder
    (less) or squarer (more). `waist_` is the part of the fan between instep and heel, which the
    slanting heel-instep girth crosses; `heel_corner` fills the round below the heel, and
    `heel_fullness` makes the heel's lower half squarer across.
    """

    ball_width: float = 0.0
    ball_height: float = 0.0
    ball_fullness: float = 0.0
    heel_width: float = 0.0
    instep_width: float = 0.0
    instep_fullness: float = 0.0
    waist_width: float = 0.0
    waist_fullness: float = 0.0
    heel_corner: float = 0.0
    heel_fullness: float = 0.0

    @classmethod
    def from_array(cls, values: FloatArray) -> "ShapeNumbers":
        """Return the numbers held by an array in the order of the fields."""
        return cls(*(float(value) for value in values))

    def as_array(self) -> FloatArray:
        """Return the numbers in the order of the fields."""
        return np.array([getattr(self, name) for name in NUMBER_NAMES])

    def moved(self, name: str, step: float) -> "ShapeNumbers":
        """Return the same numbers with one of them changed by a step."""
        return replace(self, **{name: getattr(self, name) + step})


NUMBER_NAMES: tuple[str, ...] = tuple(entry.name for entry in fields(ShapeNumbers))

# How readily each number moves: the fit takes the smallest move counted in these units, so a
# height gives way before a fullness does.
SPREAD = ShapeNumbers(
    ball_width=0.4,
    ball_height=0.4,
    ball_fullness=0.16,
    heel_width=0.4,
    instep_width=0.4,
    instep_fullness=0.16,
    waist_width=0.16,
    waist_fullness=0.15,
    heel_corner=0.22,
    heel_fullness=0.5,
).as_array()

# Where the foot was traced, its breadths and heights stay nearly as drawn and fullness gives way.
SPREAD_TRACED = ShapeNumbers(
    ball_width=0.10,
    ball_height=0.10,
    ball_fullness=0.40,
    heel_width=0.10,
    instep_width=0.10,
    instep_fullness=0.40,
    waist_width=0.15,
    waist_fullness=0.20,
    heel_corner=0.15,
    heel_fullness=0.40,
).as_array()

# How far each may go before sections stop looking like a foot's.
LEAST = ShapeNumbers(
    ball_width=-1.2,
    ball_height=-1.5,
    ball_fullness=-1.2,
    heel_width=-1.2,
    instep_width=-1.6,
    instep_fullness=-1.2,
    waist_width=-0.7,
    waist_fullness=-1.2,
    heel_corner=-0.65,
    heel_fullness=-2.0,
).as_array()
MOST = ShapeNumbers(
    ball_width=1.2,
    ball_height=1.2,
    ball_fullness=0.8,
    heel_width=1.2,
    instep_width=1.8,
    instep_fullness=0.8,
    waist_width=0.8,
    waist_fullness=0.8,
    heel_corner=0.9,
    heel_fullness=1.0,
).as_array()
