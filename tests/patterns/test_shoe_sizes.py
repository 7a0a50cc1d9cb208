"""Shoe sizes of a length, against printed ones."""

from fractions import Fraction

import pytest

from patterns.sizes import shoe_sizes


@pytest.mark.external
def test_paris_points_step_by_two_thirds_of_a_centimetre():
    # Source: ISO/TS 19407:2015, introduction: 6.67 mm from zero; EU 38 = 38 x 2/3 cm = 760/3 mm.
    assert shoe_sizes(253.33333333333334).paris_points == pytest.approx(38)
    assert shoe_sizes(20).paris_points == 3


@pytest.mark.external
def test_a_childs_size_is_counted_from_four_inches():
    # Source: "The Manufacture of Boots and Shoes", Chapman & Hall 1902, Irregular Gradations:
    # child 1 is 4 1/3 inches and child 10 is 7 1/3 inches; an inch is 25.4 mm.
    for size, inches in ((1, Fraction(13, 3)), (10, Fraction(22, 3))):
        length = float(inches * Fraction(127, 5))
        assert float(shoe_sizes(length).child_size) == pytest.approx(size)


@pytest.mark.external
def test_mondopoint_is_the_length_in_steps():
    # Source: ISO 9407:2019: the foot's length in millimetres, in steps of 5 mm.
    assert shoe_sizes(75.5).mondopoint == 75
    assert shoe_sizes(78).mondopoint == 80


def test_most_dolls_wear_less_than_a_childs_nought():
    assert shoe_sizes(75).child_size < 0
