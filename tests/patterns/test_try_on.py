"""Strips that go round a foot, and the foot as they correct it."""

import pytest

from patterns.drawing.strips import draw_strip
from patterns.errors import FootError
from patterns.foot import Foot, LevelGirth
from patterns.last import build_last, measure_last
from patterns.measures import complete_measures
from patterns.try_on import INSOLE, STRIP_GIRTHS, TOPLINE, corrected_foot, strips_of

FOOT = Foot("wren", {"foot_length": 75.0, "ball_girth": 74.0, "ankle_girth": 61.0})


def test_a_strip_is_as_long_to_its_nought_as_the_girth_the_pattern_is_drawn_from():
    known = complete_measures(FOOT).values_mm
    built = {row.name: row.built_mm for row in build_last(FOOT).measures}
    for strip in strips_of(FOOT):
        assert strip.girth_mm == known[strip.key]
        # The last itself, measured again on its surface, closes at the same length.
        assert strip.girth_mm == pytest.approx(built[strip.key], abs=0.05)
        ticks = [stroke.points_mm for stroke in draw_strip(strip, "x").strokes[1:]]
        full = [points for points in ticks if points[1][1] - points[0][1] == 4.0]
        assert full == [((strip.girth_mm, 0.0), (strip.girth_mm, 4.0))]
        assert [points[0][0] - strip.girth_mm for points in ticks] == pytest.approx(range(-8, 9))


def test_the_topline_is_measured_on_the_last_where_a_known_girth_stands():
    foot = Foot("heron", dict(FOOT.measures_mm), level_girths=(LevelGirth(60.0, 70.0),))
    assert strips_of(foot, topline_mm=60.0)[-1].girth_mm == pytest.approx(70.0, abs=0.1)
    with pytest.raises(FootError, match="topline is 20 mm"):
        strips_of(foot, topline_mm=20.0)


def test_what_the_strips_said_makes_the_next_foot_and_its_strips_then_meet():
    strips = strips_of(FOOT, topline_mm=60.0)
    said = {"ball_girth": 1.5, "instep_girth": 0.0, TOPLINE: -2.0, INSOLE: 0.5}
    tried = corrected_foot(FOOT, strips, said)
    before = {strip.key: strip.girth_mm for strip in strips}
    after = {strip.key: strip.girth_mm for strip in strips_of(tried, topline_mm=60.0)}
    assert after["ball_girth"] == 75.5
    assert after["instep_girth"] == pytest.approx(before["instep_girth"], abs=0.0005)
    assert after[TOPLINE] == pytest.approx(before[TOPLINE] - 2.0, abs=0.1)
    assert tried.measures_mm["foot_length"] == 75.5
    assert measure_last(build_last(tried))["ball_girth"] == pytest.approx(75.5, abs=0.05)


def test_a_foot_that_cannot_be_is_refused():
    with pytest.raises(FootError):
        corrected_foot(FOOT, strips_of(FOOT), {"ball_girth": -80.0})
    assert {strip.key for strip in strips_of(FOOT)} == set(STRIP_GIRTHS)
