"""Measures read off a sole outline as they are read off a foot."""

from collections.abc import Sequence
from math import hypot

from patterns.geometry.curves import Point, extent_across


def ball_points(
    outline_mm: Sequence[Point], foot_length_mm: float, lateral_sign: int
) -> tuple[Point, Point]:
    """Return the widest points of the forefoot, inner and outer."""
    inner = [p for p in outline_mm if 0.62 < p[0] / foot_length_mm < 0.80]
    outer = [p for p in outline_mm if 0.52 < p[0] / foot_length_mm < 0.75]
    if not inner or not outer:
        x = 0.68 * foot_length_mm
        low, high = extent_across(outline_mm, x) or (0.0, 0.0)
        pair = ((x, low), (x, high))
        return pair if lateral_sign > 0 else (pair[1], pair[0])
    return (
        min(inner, key=lambda p: lateral_sign * p[1]),
        max(outer, key=lambda p: lateral_sign * p[1]),
    )


def ball_width_mm(outline_mm: Sequence[Point], foot_length_mm: float, lateral_sign: int) -> float:
    """Return the distance of the two ball points."""
    inner, outer = ball_points(outline_mm, foot_length_mm, lateral_sign)
    return hypot(outer[0] - inner[0], outer[1] - inner[1])


def heel_breadth_mm(outline_mm: Sequence[Point], foot_length_mm: float) -> float:
    """Return the breadth of the heel, its greatest in the rear fifth of the outline.

    On the foot the heel is measured low down in the rear quarter; seen from above, what stands
    over it further forward is already the foot's middle.
    """
    low = min(x for x, _ in outline_mm)
    breadths = []
    for k in range(1, 20):
        extent = extent_across(outline_mm, low + 0.01 * k * foot_length_mm)
        if extent:
            breadths.append(extent[1] - extent[0])
    return max(breadths)
