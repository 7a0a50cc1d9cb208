"""The only translation between records and the cores' values."""

from decimal import Decimal
from typing import Any

from patterns.foot import MEASURE_KEYS, Foot, LevelGirth
from workshop.models import FootVersion

MeasuresMm = dict[str, float]
PointMm = tuple[float, float]


def foot_from_version(version: FootVersion) -> Foot:
    """Return the core's foot of a stored version.

    Raises
    ------
    patterns.errors.FootError
        The measures contradict each other, as they may in a version made before a rule was.
    """
    return Foot(**foot_values(version, name=f"{version.doll.code} {version.doll.name}"))


def foot_values(version: FootVersion, *, name: str) -> dict[str, Any]:
    """Return a version's values by the names of `Foot`'s parameters, unchecked."""
    return {
        "name": name,
        "measures_mm": {
            key: float(value)
            for key in MEASURE_KEYS
            if (value := getattr(version, key)) is not None
        },
        "foot_side": version.foot_side,
        "level_girths": level_girths_of(version.level_girths),
        "knee_clearance_mm": _optional(version.knee_clearance_mm),
        "sole_outline_mm": points_of(version.sole_outline),
        "side_profile_mm": points_of(version.side_profile),
    }


def level_girths_of(rows: list[dict[str, str]]) -> tuple[LevelGirth, ...]:
    """Return stored rows of height and girth as the core's values."""
    return tuple(LevelGirth(float(row["height_mm"]), float(row["girth_mm"])) for row in rows)


def points_of(points: list[list[float]]) -> tuple[PointMm, ...] | None:
    """Return stored points as the core's, None when there are none."""
    return tuple((float(x), float(y)) for x, y in points) or None


def _optional(value: Decimal | None) -> float | None:
    return None if value is None else float(value)
