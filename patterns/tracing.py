"""Tracings of a foot: a sole outline and a side profile drawn round the real thing, checked."""

from collections.abc import Sequence
from math import isfinite

from shapely import LinearRing, LineString, Polygon

from patterns.errors import FootError
from patterns.geometry.curves import Point

POINTS_LEAST = 3
POINTS_MOST = 5000
LENGTH_TOLERANCE = 0.05  # a pencil goes round the foot; more than this is a wrong scale


def check_sole_outline(points_mm: Sequence[Point], foot_length_mm: float) -> None:
    """Raise FootError unless the outline is a simple ring as long as the foot."""
    _check_points(points_mm, "sole_outline")
    if not LinearRing(points_mm).is_simple:
        raise _fault("sole_outline", "tracing-crosses", "crosses itself; trace it again")
    _check_extent(points_mm, foot_length_mm, "sole_outline")
    if Polygon(points_mm).area < 0.1 * foot_length_mm**2:
        raise _fault("sole_outline", "tracing-thin", "is too thin for a foot; trace it again")


def check_side_profile(points_mm: Sequence[Point], foot_length_mm: float) -> None:
    """Raise FootError unless the profile runs from the toe up the leg and down to the heel."""
    _check_points(points_mm, "side_profile")
    if not LineString(points_mm).is_simple:
        raise _fault("side_profile", "tracing-crosses", "crosses itself; trace it again")
    toe, heel = points_mm[0], points_mm[-1]
    if toe[0] < heel[0] + 0.5 * foot_length_mm:
        text = "must begin at the toe, go up the front and end at the heel; the toe lies at +x"
        raise _fault("side_profile", "tracing-direction", text)
    _check_extent([p for p in points_mm if p[1] < 0.45 * foot_length_mm], foot_length_mm,
                  "side_profile")  # fmt: skip
    if max(z for _, z in points_mm) < 0.35 * foot_length_mm:
        text = "ends below the ankle; trace the leg as high as the boot will reach"
        raise _fault("side_profile", "tracing-low", text)


def _check_points(points_mm: Sequence[Point], field: str) -> None:
    if not POINTS_LEAST <= len(points_mm) <= POINTS_MOST:
        text = f"has {len(points_mm)} points; it needs {POINTS_LEAST} to {POINTS_MOST}"
        raise _fault(field, "tracing-points", text)
    for number, point in enumerate(points_mm):
        if not all(isfinite(value) and abs(value) < 10_000 for value in point):
            raise _fault(field, "tracing-number", f"point {number + 1} is not a length in mm")
    if len(set(points_mm)) < POINTS_LEAST:
        raise _fault(field, "tracing-points", "has fewer than three different points")


def _check_extent(points_mm: Sequence[Point], foot_length_mm: float, field: str) -> None:
    xs = [x for x, _ in points_mm] or [0.0]
    extent = max(xs) - min(xs)
    if abs(extent - foot_length_mm) > LENGTH_TOLERANCE * foot_length_mm:
        text = (
            f"is {extent:.1f} mm long but the foot {foot_length_mm:g} mm; they may differ by"
            f" {100 * LENGTH_TOLERANCE:g} %. Check the scale and the unit (mm)"
        )
        raise _fault(field, "tracing-size", text)


def _fault(field: str, code: str, text: str) -> FootError:
    return FootError(f"The {field.replace('_', ' ')} {text}.", field=field, code=code)
