"""A shoe as worn: every line where its piece lies on the last, nothing of the hidden side."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from patterns.drafting import draft_pieces
from patterns.drawing.drawing import box_round
from patterns.drawing.view import View
from patterns.drawing.worn import Label, draw_worn, outer_side
from patterns.drawing.worn_sole import worn_sole
from patterns.foot import Foot
from patterns.last import Last, build_last
from patterns.pieces.piece import PieceSet
from patterns.style import load_style
from tests.patterns.samples_feet import sample_measures

STYLE = load_style("lace-up-ankle-boot")


@cache
def drafted(side: str = "left") -> tuple[PieceSet, Last]:
    foot = Foot("sample", sample_measures(), foot_side=side)
    return draft_pieces(foot, STYLE, {}), build_last(foot)


def leather(side: str = "left") -> shapely.Geometry:
    drawing = draw_worn(*drafted(side))
    rings = [fill.ring_mm for fill in drawing.fills if fill.kind == "grade"]
    return shapely.union_all([shapely.Polygon(ring) for ring in rings])


def test_the_upper_reaches_as_high_as_the_boot_was_asked_for():
    pieces, last = drafted()
    drawing = draw_worn(pieces, last)
    high = float(pieces.parameters["boot_height_mm"])
    assert leather().bounds[3] / drawing.scale == pytest.approx(high, abs=0.3)
    assert any(words.text == "75 mm" for words in drawing.words)


def test_each_eyelet_of_the_outer_side_is_seen_once_and_none_of_the_inner():
    pieces, last = drafted()
    circles = [s for s in draw_worn(pieces, last).strokes if s.kind == "hole"]
    assert len(circles) == len(pieces.piece("outer side").holes)


def test_lines_that_are_asked_for_are_named_and_unknown_ones_are_passed_over():
    pieces, last = drafted()
    labels = [Label("topline", "topline"), Label("toe line", "toe line"), Label("hem", "hem")]
    texts = [words.text for words in draw_worn(pieces, last, labels=labels).words]
    assert "topline" in texts
    assert "toe line" in texts
    assert "hem" not in texts


def test_a_right_shoe_is_the_left_one_in_a_mirror():
    left = leather("left")
    right = shapely.transform(leather("right"), lambda points: points * [-1.0, 1.0])
    assert left.symmetric_difference(right).area < 0.02 * left.area


def test_a_heel_the_foot_was_not_cast_for_is_a_platform_under_all_of_it():
    _, last = drafted()
    view = View("side", (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    values = {"sole_thickness_mm": 3.0, "heel_height_mm": 8.0}
    assert worn_sole(values, last, view).ground_mm == pytest.approx(-11.0)
    assert worn_sole({"sole_thickness_mm": 3.0}, last, view).ground_mm == pytest.approx(-3.0)


def test_a_raised_foot_stands_on_a_heel_as_high_as_it_is_cast():
    measures = {"foot_length": 75.0, "heel_raise": 15.0}
    last = build_last(Foot("raised", measures))
    view = View("side", (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    sole = worn_sole({"sole_thickness_mm": 2.0, "heel_height_mm": 15.0}, last, view)
    heel = box_round(sole.drawing.fills[1].ring_mm)
    assert heel.height_mm == pytest.approx(15.0, abs=0.5)
    assert np.isclose(heel.bottom_mm, sole.ground_mm)


def test_a_wedge_inside_tilts_foot_and_upper_and_leaves_the_ground_level():
    pieces, last = drafted()
    values = {**pieces.parameters, "heel_height_mm": 10.0, "wedge_inside": True}
    tilted = draw_worn(replace(pieces, parameters=values), last)
    sole = worn_sole(values, last, outer_side(last))
    # The heel lifted by 10 mm, the foot 75 mm long: atan(10 / 75) is 7.59 degrees.
    assert abs(sole.tilt_deg) == pytest.approx(7.59, abs=0.01)
    heel = [fill for fill in tilted.fills if fill.kind == "sole"][1]
    assert box_round(heel.ring_mm).height_mm / tilted.scale == pytest.approx(10.0, abs=1.5)
    leather_box = box_round(
        [p for fill in tilted.fills if fill.kind == "grade" for p in fill.ring_mm]
    )
    flat = draw_worn(pieces, last)
    flat_box = box_round([p for fill in flat.fills if fill.kind == "grade" for p in fill.ring_mm])
    assert leather_box.top_mm / tilted.scale > flat_box.top_mm / flat.scale + 2.0
