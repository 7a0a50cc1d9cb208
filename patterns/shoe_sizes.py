"""Shoe sizes of a length, in the systems people know; for curiosity, never for cutting."""

from dataclasses import dataclass
from fractions import Fraction

# Source: ISO 19407:2023, introduction: EU sizes step by 2/3 cm (one Paris point) from zero.
PARIS_POINT_MM = Fraction(20, 3)
# Source: "The Manufacture of Boots and Shoes", Chapman & Hall 1902: UK sizes step by 1/3 inch
# (one barleycorn); a child's size n is (12 + n) / 3 inches, a grown-up's (25 + n) / 3 inches.
BARLEYCORN_MM = Fraction(254, 30)
CHILD_START = 12


@dataclass(frozen=True, slots=True)
class ShoeSizes:
    """One length in three systems, exact."""

    mondopoint_mm: Fraction
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
    return ShoeSizes(length, length / PARIS_POINT_MM, length / BARLEYCORN_MM - CHILD_START)
