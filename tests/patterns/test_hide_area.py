"""Areas of hides, and the plain shapes defects are recorded with."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from patterns.errors import HideError
from patterns.geometry.outline import outline_area_mm2
from patterns.hide import GradedArea, Hide
from patterns.hide_area import (
    hide_along_tight_way,
    is_rectangle,
    is_round,
    plain_ring,
    rectangle_ring,
    ring_box,
    round_ring,
    usable_hide_area_mm2,
    whole_area_mm2,
)

SHEET = rectangle_ring(0.0, 0.0, 600.0, 400.0)
LENGTHS = st.floats(1.0, 500.0)
PLACES = st.floats(-500.0, 500.0)


def sheet(*defects, areas=()):
    return Hide("H-0001", SHEET, tuple(defects), tuple(areas))


def test_overlapping_defects_are_taken_off_once():
    # Two 20 x 10 rectangles that share 10 x 10: 300 mm² of 240 000.
    hide = sheet(rectangle_ring(10, 10, 20, 10), rectangle_ring(20, 10, 20, 10))
    assert usable_hide_area_mm2(hide) == pytest.approx(240_000 - 300, abs=1e-9)
    assert whole_area_mm2(hide) == 240_000


def test_a_defect_over_the_edge_takes_only_what_lies_on_the_hide():
    assert usable_hide_area_mm2(sheet(rectangle_ring(-10, 0, 20, 10))) == pytest.approx(239_900)


def test_a_defect_that_touches_the_edge_from_outside_is_allowed():
    assert usable_hide_area_mm2(sheet(rectangle_ring(600, 0, 20, 10))) == pytest.approx(240_000)


def test_a_defect_beside_the_hide_is_refused_by_its_number():
    with pytest.raises(HideError) as refused:
        usable_hide_area_mm2(sheet(rectangle_ring(0, 0, 5, 5), rectangle_ring(700, 0, 5, 5)))
    assert (refused.value.field, refused.value.code) == ("holes[1]", "beside_the_hide")


def test_a_graded_area_beside_the_hide_is_refused_by_its_number():
    with pytest.raises(HideError) as refused:
        usable_hide_area_mm2(sheet(areas=[GradedArea(2, rectangle_ring(700, 0, 5, 5))]))
    assert refused.value.field == "areas[0].outer"


def test_defects_that_cover_the_hide_leave_nothing():
    with pytest.raises(HideError) as refused:
        usable_hide_area_mm2(sheet(rectangle_ring(-1, -1, 602, 402)))
    assert refused.value.code == "nothing_usable"


def test_a_round_defect_covers_its_circle_by_less_than_half_a_per_cent_more():
    area = outline_area_mm2(round_ring(10, 20, 40, 40))
    # A circle of radius 20 mm has an area of 400 pi.
    assert 1.0 < area / (400 * pi) < 1.005


@given(PLACES, PLACES, LENGTHS, LENGTHS)
def test_shapes_fill_their_box_and_are_known_again(x, y, width, height):
    for make, is_known, is_other in (
        (rectangle_ring, is_rectangle, is_round),
        (round_ring, is_round, is_rectangle),
    ):
        ring = make(x, y, width, height)
        assert ring_box(ring) == pytest.approx((x, y, width, height), abs=1e-6)
        assert is_known(ring)
        assert not is_other(ring)


@given(st.floats(-180.0, 180.0))
def test_turning_a_hide_keeps_its_areas(angle_deg):
    hide = sheet(
        rectangle_ring(100, 100, 20, 10), areas=[GradedArea(2, rectangle_ring(300, 0, 300, 100))]
    )
    turned = hide_along_tight_way(hide, angle_deg)
    assert usable_hide_area_mm2(turned) == pytest.approx(usable_hide_area_mm2(hide))
    assert outline_area_mm2(turned.areas[0].outline_mm) == pytest.approx(30_000)


def test_a_tight_way_along_y_comes_to_lie_along_x():
    turned = hide_along_tight_way(sheet(), 90.0)
    _left, _bottom, width, height = ring_box(turned.outline_mm)
    assert (width, height) == pytest.approx((400, 600))
    # The end of the tight way, up the y axis, now lies along x.
    assert turned.outline_mm[3] == pytest.approx((400, 0), abs=1e-9)


@given(st.floats(0.01, 2.0))
def test_a_plainer_outline_stays_as_near_as_asked(within_mm):
    ring = round_ring(0.0, 0.0, 50.0, 30.0)
    plainer = plain_ring(ring, within_mm)
    assert set(plainer) <= set(ring)
    assert Polygon(plainer).exterior.hausdorff_distance(Polygon(ring).exterior) <= within_mm + 1e-9
