"""Heels: of clay or of leather lifts, and a warning where the foot is cast otherwise."""

import pytest
from shapely.geometry import Polygon

from patterns.foot import Foot
from patterns.projection import draft_pieces
from tests.patterns.samples_feet import STYLE, sample_foot, sample_measures


def drafted(foot=None, **values):
    return draft_pieces(foot or sample_foot(), STYLE, STYLE.values(values))


def heel_warnings(pieces):
    return [message for message in pieces.messages if message.code == "heel-not-the-foots"]


def test_a_flat_foot_gets_no_heel():
    pieces = drafted()
    assert not [piece for piece in pieces.pieces if piece.name.startswith("heel")]
    assert not heel_warnings(pieces)


def test_a_heel_is_the_back_of_the_outsole_up_to_its_breast():
    pieces = drafted(heel_height_mm=10, heel_breast_pct=30)
    heel, sole = Polygon(pieces.piece("heel").net_mm), Polygon(pieces.piece("outsole").net_mm)
    assert sole.buffer(0.01).covers(heel)
    low, _bottom, high, _top = sole.bounds
    assert heel.bounds[0] == pytest.approx(low, abs=0.01)
    assert heel.bounds[2] == pytest.approx(low + 0.30 * (high - low), abs=0.01)
    assert (pieces.piece("heel").quantity, pieces.piece("heel").mirrored_quantity) == (2, 1)


@pytest.mark.parametrize(("height_mm", "lifts"), [(4, 1), (8, 2), (9, 3), (12, 3)])
def test_leather_lifts_are_as_many_as_reach_the_height(height_mm, lifts):
    pieces = drafted(heel_height_mm=height_mm, leather_sole=True, sole_thickness_mm=4)
    lift = pieces.piece("heel lift")
    assert (lift.quantity, lift.mirrored_quantity) == (2 * lifts, lifts)


def test_a_foot_cast_on_a_raised_heel_gets_a_heel_of_its_own_height():
    raised = Foot("raised", sample_measures() | {"heel_raise": 12.0})
    pieces = drafted(raised)
    assert pieces.parameters["heel_height_mm"] == 12.0
    assert not heel_warnings(pieces)


def test_a_heel_that_is_not_the_foots_own_is_told_with_both_heights():
    message = heel_warnings(drafted(heel_height_mm=9))[0]
    assert message.level == "warning"
    assert "9.0 mm" in message.text
    assert "0.0 mm" in message.text
