"""Eyelets evenly along a lace edge, never closer than the pitch."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import floor, hypot

from scipy.optimize import brentq

from patterns.geometry.curves import Point, point_along, polyline_length_mm

EXACT_MM = 1e-9  # how near the step of a row comes to the longest that still fits


@dataclass(frozen=True, slots=True)
class EyeletRow:
    """Centres along a line, the distance between neighbours, and how many would have fitted."""

    centres_mm: tuple[Point, ...]
    pitch_mm: float
    most: int


def eyelet_count(length_mm: float, pitch_mm: float) -> int:
    """Return how many eyelets fit along a straight line when they stand no closer than the pitch.

    Common practice, no source: one at each end, the rest evenly between.

    >>> [eyelet_count(length, 8) for length in (26, 24, 23.9)]
    [4, 4, 3]
    """
    return floor(length_mm / pitch_mm + 1e-9) + 1 if length_mm >= 0 else 0


def eyelet_row(line_mm: Sequence[Point], pitch_mm: float, asked: int = 0) -> EyeletRow:
    """Return eyelets evenly from one end of a line to the other.

    Parameters
    ----------
    line_mm : run of (x, y)
        The line the centres lie on, already ended where the first and the last may stand.
    pitch_mm : float
        Least distance between centres, measured straight from one to the next.
    asked : int
        How many are wanted; 0 means as many as fit. More than fit are not set.
    """
    return _row(tuple(line_mm), pitch_mm, asked)


@lru_cache(maxsize=32)  # outer and inner side share one lace edge
def _row(line_mm: tuple[Point, ...], pitch_mm: float, asked: int) -> EyeletRow:
    most = eyelet_count(polyline_length_mm(line_mm), pitch_mm)
    while most > 1 and _left_over(line_mm, pitch_mm - 1e-6, most) < 0.0:
        most -= 1
    count = min(asked, most) if asked else most
    if count <= 1:
        middle = point_along(line_mm, polyline_length_mm(line_mm) / 2)[0]
        return EyeletRow((middle,) if count else (), 0.0, most)
    step = _even_step(line_mm, count)
    centres = _walk(line_mm, step, count)
    return EyeletRow(tuple(centres), step, most)


def _even_step(line_mm: Sequence[Point], count: int) -> float:
    """Return the straight step with which `count` eyelets reach just from end to end."""
    # No step is longer than its share of the line, none need be shorter than that of the chord.
    low = (1.0 - 1e-9) * _away(line_mm[0], line_mm[-1]) / (count - 1)
    high = (1.0 + 1e-9) * polyline_length_mm(line_mm) / (count - 1)
    step = float(brentq(lambda tried: _left_over(line_mm, tried, count), low, high, xtol=EXACT_MM))
    # The last centre stays on the line: the root is only near, on either side.
    while _left_over(line_mm, step, count) < 0.0:
        step -= EXACT_MM
    return step


def _left_over(line_mm: Sequence[Point], step_mm: float, count: int) -> float:
    """Return what is left of a line after so many eyelets, less than 0 where it is too short."""
    centres = _walk(line_mm, step_mm, count)
    missing = count - len(centres)
    if missing:
        return _away(centres[-1], line_mm[-1]) - missing * step_mm
    return _away(centres[-1], line_mm[-1])


def _walk(line_mm: Sequence[Point], step_mm: float, count: int) -> list[Point]:
    """Return the points of straight steps along a line, fewer where it is too short."""
    centres = [line_mm[0]]
    at, index = line_mm[0], 0
    while len(centres) < count:
        while index < len(line_mm) - 1 and _away(at, line_mm[index + 1]) < step_mm:
            index += 1
        if index == len(line_mm) - 1:
            break
        at = _on_circle(at, step_mm, line_mm[index], line_mm[index + 1])
        centres.append(at)
    return centres


def _on_circle(centre: Point, radius: float, inside: Point, outside: Point) -> Point:
    """Return where a step from inside to outside a circle leaves it."""
    dx, dy = outside[0] - inside[0], outside[1] - inside[1]
    fx, fy = inside[0] - centre[0], inside[1] - centre[1]
    a, b, c = dx * dx + dy * dy, fx * dx + fy * dy, fx * fx + fy * fy - radius * radius
    t = (-b + max(b * b - a * c, 0.0) ** 0.5) / a
    return (inside[0] + t * dx, inside[1] + t * dy)


def _away(a: Point, b: Point) -> float:
    return hypot(b[0] - a[0], b[1] - a[1])
