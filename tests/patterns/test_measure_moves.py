"""Which pieces each measure of the foot moves, kept true by the test below.

====================  =====================================================================
measure               pieces whose net outline moves when it grows by 4 % and nothing else
====================  =====================================================================
foot_length           all
ball_width            all: breadth of toe and bottom, and with the girth the ball's height
ball_girth            toe box, sides, linings, tongue: the ball's height
heel_width            insole, outsole
instep_girth          insole, outsole, toe box: the breadth half way along
instep_height         all: the height, and with the girth the breadth, half way along
heel_instep_girth     insole, outsole: the breadth between heel and instep
ankle_girth           sides, linings, tongue
ankle_height          sides, linings, tongue
toe_height            toe box
calf_girth            sides, linings: what lies above the ankle
calf_height           sides, linings
heel_raise            all but the tongue
====================  =====================================================================

There is no measure that moves none.
"""

import pytest
from samples_feet import STYLE, sample_measures
from shapely import Polygon

from patterns.foot import MEASURE_KEYS, Foot
from patterns.projection import draft_pieces

VISIBLE_MM = 0.03  # less is the spacing of points along a curve
SIDES = {"outer side", "inner side", "outer side lining", "inner side lining"}
BOTTOM = {"insole", "outsole"}
ALL = {*SIDES, *BOTTOM, "toe box", "tongue"}
MOVED = {
    "foot_length": ALL,
    "ball_width": ALL,
    "ball_girth": {"toe box", *SIDES, "tongue"},
    "heel_width": BOTTOM,
    "instep_girth": {"toe box", *BOTTOM},
    "instep_height": ALL,
    "heel_instep_girth": BOTTOM,
    "ankle_girth": {*SIDES, "tongue"},
    "ankle_height": {*SIDES, "tongue"},
    "toe_height": {"toe box"},
    "calf_girth": SIDES,
    "calf_height": SIDES,
    "heel_raise": ALL - {"tongue"},
}


def nets(measures):
    # The boot's height is held, or every measure of the leg would only move the topline.
    pieces = draft_pieces(Foot("foot", measures), STYLE, {"boot_height_mm": 54.0})
    return {piece.name: Polygon(piece.net_mm) for piece in pieces.pieces}


@pytest.fixture(scope="module")
def before():
    return nets(sample_measures())


@pytest.mark.parametrize("key", MEASURE_KEYS)
def test_a_measure_moves_the_pieces_where_it_acts(key, before):
    measures = sample_measures()
    measures[key] = 3.0 if key == "heel_raise" else 1.04 * measures[key]
    after = nets(measures)
    moved = {
        name
        for name, net in before.items()
        if net.exterior.hausdorff_distance(after[name].exterior) > VISIBLE_MM
    }
    print(f"{key}: {', '.join(sorted(moved)) or 'nothing'}")
    assert moved == MOVED[key]


def test_no_measure_is_asked_for_in_vain():
    assert set(MOVED) == set(MEASURE_KEYS)
    assert all(MOVED.values())
