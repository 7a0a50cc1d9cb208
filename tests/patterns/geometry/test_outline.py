import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patterns.errors import OutlineError
from patterns.geometry.outline import (
    COORDINATE_MAX_MM,
    POINTS_MAX,
    check_outline,
    outline_area_mm2,
    outline_bounds_mm,
)
from tests.samples_layouts import rectangle, ring_round

LENGTH = st.floats(0.5, 500.0)
ANGLE = st.floats(0.0, 2.0 * math.pi)


@pytest.mark.external
def test_area_of_a_regular_polygon_matches_the_closed_form():
    # Source: area of a regular n-gon, n r^2 sin(2 pi / n) / 2; n = 12, r = 10 mm: 300 mm2.
    assert outline_area_mm2(ring_round([10.0] * 12)) == pytest.approx(300.0, rel=1e-12)


@given(LENGTH, LENGTH, st.floats(-5e4, 5e4), st.floats(-5e4, 5e4), ANGLE, st.booleans())
def test_moving_turning_or_mirroring_an_outline_keeps_its_area(w, h, dx, dy, angle, mirrored):
    flip = -1.0 if mirrored else 1.0
    c, s = math.cos(angle), math.sin(angle)
    moved = [(dx + flip * x * c - y * s, dy + flip * x * s + y * c) for x, y in rectangle(w, h)]
    assert outline_area_mm2(moved) == pytest.approx(w * h, rel=1e-7, abs=1e-7)


def test_either_direction_gives_the_same_area_and_bounds():
    ring = ((0, 0), (30, 0), (30, 12), (5, 20))
    assert outline_area_mm2(ring) == outline_area_mm2(ring[::-1]) > 0
    assert outline_bounds_mm(ring) == outline_bounds_mm(ring[::-1]) == (0, 0, 30, 20)


@pytest.mark.parametrize(
    ("outline", "code"),
    [
        ([], "too_few_points"),
        ([(0, 0), (1, 0)], "too_few_points"),
        (ring_round([50.0] * (POINTS_MAX + 1)), "too_many_points"),
        ([(0, 0), (math.nan, 0), (1, 1)], "not_finite"),
        ([(0, 0), (math.inf, 0), (1, 1)], "not_finite"),
        ([(0, 0), (COORDINATE_MAX_MM * 1.01, 0), (1, 1)], "too_far_out"),
        ([(0, 0), (1e9, 0), (1, 1)], "too_far_out"),
        ([(0, 0), (10, 10), (10, 0), (0, 10)], "self_crossing"),
        ([(0, 0), (10, 0), (20, 0)], "self_crossing"),
        ([(0, 0), (1e-4, 0), (0, 1e-4)], "no_area"),
    ],
)
def test_an_unusable_outline_is_refused_by_name(outline, code):
    with pytest.raises(OutlineError) as caught:
        check_outline(outline, name="toe box", field="pieces.0.outer")
    assert caught.value.code == code
    assert caught.value.field == "pieces.0.outer"
    assert "toe box" in caught.value.text
    assert caught.value.parameters["name"] == "toe box"


def test_an_outline_at_the_limit_of_points_passes():
    check_outline(ring_round([50.0] * POINTS_MAX))
