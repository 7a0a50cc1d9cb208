"""Where a piece lies in a person's terms and in the file's, worked out from each other."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patterns.hide import Hide
from patterns.layout.values import LayoutPiece, LayoutRequest, Placement
from tests.samples_layouts import rectangle
from workshop.plan_sheet import Spot, ground_document, placement_at, plan_ground, spot_of

TILTED = LayoutPiece(
    "toe box",
    ((10.0, 5.0), (50.0, 0.0), (44.0, 31.0)),
    2,
    1,
    allowed_rotations_deg=(20.0, 200.0),
    mirrored_rotations_deg=(160.0, 340.0),
    rotation_tolerance_deg=5.0,
)
FREE = LayoutPiece("patch", rectangle(20.0, 10.0), 3, mirror_free=True, allowed_rotations_deg=None)
HIDE = Hide("H-0001", rectangle(300.0, 200.0), (rectangle(10.0, 10.0, 50.0, 50.0),))


@given(
    x=st.floats(-500, 500),
    y=st.floats(-500, 500),
    turn=st.floats(0, 359.9),
    mirrored=st.booleans(),
)
def test_a_spot_and_its_placement_give_each_other(x, y, turn, mirrored):
    back = spot_of(TILTED, placement_at(TILTED, Spot(x, y, turn, mirrored), "H-0001"))
    assert (back.x_mm, back.y_mm) == pytest.approx((x, y), abs=1e-6)
    assert (back.turn_deg - turn + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-6)
    assert back.mirrored == mirrored


def test_no_turn_is_the_tight_way_along_the_hides():
    for mirrored, whole in ((False, 20.0), (True, 160.0)):
        assert placement_at(TILTED, Spot(0, 0, 0.0, mirrored), "H").rotation_deg == whole


def test_copies_are_named_by_their_foot_and_numbered_where_alike():
    request = LayoutRequest((HIDE,), (TILTED, FREE))
    names = [copy.name for copy in plan_ground(request, (), drawn_foot="right").copies]
    assert names == ["toe box, right foot", "toe box, left foot", "patch 1", "patch 2", "patch 3"]


def test_copies_lie_where_the_layout_has_their_side():
    request = LayoutRequest((HIDE,), (TILTED, FREE))
    rows = (
        Placement("toe box", "H-0001", 100.0, 100.0, 160.0, True),
        Placement("patch", "H-0001", 10.0, 10.0, 33.0, True),
    )
    ground = plan_ground(request, rows, fixed=rows[1:], drawn_foot="left")
    assert [copy.placement for copy in ground.copies] == [None, rows[0], rows[1], None, None]
    assert [copy.is_fixed for copy in ground.copies] == [False, False, True, False, False]
    assert ground.placed == 2


def test_the_script_gets_outlines_about_their_middle_and_the_turns_it_may_give():
    request = LayoutRequest((HIDE,), (TILTED, FREE), spacing_mm=2.0)
    document = json.loads(ground_document(plan_ground(request, (), drawn_foot="left")))
    box, patch = document["pieces"]
    xs = [x for x, _y in box["ring"]]
    assert min(xs) == -max(xs)
    assert box["turns"] == box["mirroredTurns"] == [0, 180]
    assert box["base"] == [20.0, 160.0]
    assert patch["turns"] is None
    assert patch["mirrorFree"] is True
    assert document["gap"] == 2.0
    assert document["defects"][0]["kind"] == "defect"
