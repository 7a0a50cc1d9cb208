"""A last grown outward by film, lining, leather and toe form."""

from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.errors import PatternError
from patterns.last import build_last, wrapped
from patterns.last.measuring import GridTape
from patterns.last.wrap import folded_triangles
from tests.patterns.random_feet import random_feet
from tests.patterns.samples_feet import sample_foot


@pytest.fixture(scope="module")
def bare():
    return build_last(sample_foot())


@settings(max_examples=15, deadline=None)
@given(thickness=st.floats(0.05, 2.5))
def test_level_girths_grow_by_the_ring_round_a_convex_curve(bare, thickness):
    # Source: perimeter of the parallel curve of a closed convex curve, P + 2 pi t.
    before, after = GridTape(bare.grid_mm), GridTape(wrapped(bare, thickness).grid_mm)
    for height in (41.25, 48.0, 60.0, 74.99):
        growth = after.level_girth(height) - before.level_girth(height)
        assert growth == pytest.approx(2 * pi * thickness, abs=0.02)


def test_sole_stays_and_walls_grow(bare):
    grown = wrapped(bare, 1.2)
    floor = grown.sole_height_mm(grown.grid_mm[..., 0])
    assert (grown.grid_mm[..., 2] >= floor - 1e-9).all()
    assert grown.grid_mm[..., 2].min() == pytest.approx(0.0, abs=1e-9)
    at_ball = [GridTape(last.grid_mm).section((50, 0, 0), (1, 0, 0)) for last in (bare, grown)]
    breadths = [np.ptp(points[points[:, 2] < 8.0, 1]) for points in at_ball]
    assert breadths[1] - breadths[0] == pytest.approx(2.4, abs=0.05)


def test_top_stays_flat_and_level(bare):
    assert np.ptp(wrapped(bare, 2.0).grid_mm[-1, :, 2]) == 0.0
    assert wrapped(bare, 2.0).top_mm == bare.top_mm


def test_thicknesses_add_up(bare):
    twice = wrapped(wrapped(bare, 0.4), 0.5)
    assert twice.thickness_mm == pytest.approx(0.9)
    above = twice.grid_mm[..., 2] > 6.0
    apart = np.linalg.norm(twice.grid_mm - wrapped(bare, 0.9).grid_mm, axis=-1)
    assert apart[above].max() < 0.1


def test_nothing_added_changes_nothing(bare):
    assert wrapped(bare, 0.0) is bare


def test_toe_form_builds_up_the_toe_alone(bare):
    plain, built = wrapped(bare, 0.8), wrapped(bare, 0.8, toe_form_mm=1.5)
    moved = np.linalg.norm(built.grid_mm - plain.grid_mm, axis=-1)
    behind = bare.grid_mm[..., 0] <= 0.8 * bare.foot_length_mm
    assert moved[behind].max() == 0.0
    assert moved.max() == pytest.approx(1.5, abs=0.1)
    assert built.thickness_mm == plain.thickness_mm


FEET = [*random_feet(8, seed=31), *random_feet(8, seed=32, odd=True)]


@pytest.mark.parametrize("foot", FEET, ids=lambda foot: foot.name)
def test_nothing_folds_on_feet_of_any_shape(foot):
    bare = build_last(foot)
    grown = wrapped(bare, 0.02 * foot.foot_length_mm, toe_form_mm=0.015 * foot.foot_length_mm)
    assert folded_triangles(bare, grown) == 0


def test_too_thick_a_wrap_is_refused(bare):
    with pytest.raises(PatternError, match="take thinner leather") as caught:
        wrapped(bare, 40.0)
    assert caught.value.code == "wrap-folds"


def test_negative_thickness_is_refused(bare):
    with pytest.raises(PatternError, match="zero or more"):
        wrapped(bare, -0.1)
