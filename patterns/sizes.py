"""Shoe sizes as exact fractions, so that a maker may see a foot's length in them.

Source: Paris point of 2/3 cm and barleycorn of 1/3 in, "Shoe sizes", shoesandcraft.com, March
2012; steps from zero also in the introduction of ISO/TS 19407:2015. Mondopoint: ISO 9407:2019.
EU and English sizes usually number the last, Mondopoint the foot.
"""

from dataclasses import dataclass
from fractions import Fraction

PARIS_POINT_MM = Fraction(20, 3)
BARLEYCORN_MM = Fraction(254, 30)
CHILD_ZERO_BARLEYCORNS = 12  # child size n is (12 + n) / 3 inches
ADULT_ZERO_BARLEYCORNS = 25  # adult size n is (25 + n) / 3 inches
MONDOPOINT_STEP_MM = 5


def paris_points(length_mm: Fraction | int | float) -> Fraction:
    """Return a length in Paris points.

    >>> paris_points(20)
    Fraction(3, 1)
    """
    return Fraction(length_mm) / PARIS_POINT_MM


def paris_length_mm(points: Fraction | int) -> Fraction:
    """Return the length of a size in Paris points.

    >>> paris_length_mm(38)
    Fraction(760, 3)
    """
    return points * PARIS_POINT_MM


def english_child_size(length_mm: Fraction | int | float) -> Fraction:
    """Return the English children's size of a length; it may be less than nothing."""
    return Fraction(length_mm) / BARLEYCORN_MM - CHILD_ZERO_BARLEYCORNS


def english_adult_size(length_mm: Fraction | int | float) -> Fraction:
    """Return the English adult size of a length; it may be less than nothing."""
    return Fraction(length_mm) / BARLEYCORN_MM - ADULT_ZERO_BARLEYCORNS


def english_child_length_mm(size: Fraction | int) -> Fraction:
    """Return the length of an English children's size."""
    return (CHILD_ZERO_BARLEYCORNS + size) * BARLEYCORN_MM


def english_adult_length_mm(size: Fraction | int) -> Fraction:
    """Return the length of an English adult size."""
    return (ADULT_ZERO_BARLEYCORNS + size) * BARLEYCORN_MM


def mondopoint(foot_length_mm: Fraction | int | float) -> int:
    """Return the Mondopoint size, the foot's length to the nearest 5 mm, half way up."""
    steps = Fraction(foot_length_mm) / MONDOPOINT_STEP_MM
    return int(steps + Fraction(1, 2)) * MONDOPOINT_STEP_MM


@dataclass(frozen=True, slots=True)
class ShoeSizes:
    """One length in three systems; for curiosity, never for cutting."""

    mondopoint: int
    paris_points: Fraction
    child_size: Fraction


def shoe_sizes(foot_length_mm: float) -> ShoeSizes:
    """Return the sizes a shoe of that inside length would carry.

    The child's size is below zero for lengths under 4 inches, as most dolls' are.

    Examples
    --------
    >>> shoe_sizes(200).paris_points
    Fraction(30, 1)
    """
    length = Fraction(str(foot_length_mm))
    return ShoeSizes(mondopoint(length), paris_points(length), english_child_size(length))
