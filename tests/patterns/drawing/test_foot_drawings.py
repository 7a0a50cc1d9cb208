"""The drawings of measures, and the preview of tracings."""

from itertools import pairwise

import pytest
from shapely.geometry import LineString, Polygon

from patterns.drawing.foot import MEASURE_KEYS, draw_foot, draw_foot_preview, draw_measure
from patterns.errors import PatternError
from patterns.foot import MEASURES


def wide(drawing):
    return [stroke for stroke in drawing.strokes if stroke.kind.startswith("measure")]


def test_every_measure_of_a_foot_has_its_drawing():
    assert set(MEASURE_KEYS) == {measure.key for measure in MEASURES}


def test_each_measure_is_shown_on_a_path_of_its_own():
    paths = {tuple(s.points_mm for s in wide(draw_measure(key))) for key in MEASURE_KEYS}
    assert len(paths) == len(MEASURE_KEYS)
    assert () not in paths


def test_all_drawings_are_shown_at_one_size():
    boxes = [draw_measure(key).extents for key in MEASURE_KEYS]
    assert {round(box.width_mm, 1) for box in boxes} == {round(boxes[0].width_mm, 1)}
    heights = [box.height_mm for box in boxes]
    assert max(heights) - min(heights) < 2.0


def test_views_show_a_closed_foot_whose_outline_does_not_cross_itself():
    fills = draw_foot().fills
    assert len(fills) == 2
    assert all(Polygon(fill.ring_mm).is_valid for fill in fills)


def test_foot_length_is_drawn_as_long_as_both_views():
    drawing = draw_measure("foot_length")
    length = max(LineString(stroke.points_mm).length for stroke in wide(drawing))
    for fill in draw_foot().fills:
        xs = [x for x, z in fill.ring_mm if z < 30.0]
        assert max(xs) - min(xs) == pytest.approx(length, abs=0.6)


def test_girth_tapes_reach_the_outline_on_both_sides():
    side = Polygon(draw_foot().fills[0].ring_mm)
    for key in ("ball_girth", "instep_girth", "heel_instep_girth", "ankle_girth", "calf_girth"):
        near, _far = [s for s in wide(draw_measure(key)) if len(s.points_mm) > 2][:2]
        for end in (near.points_mm[0], near.points_mm[-1]):
            assert side.exterior.distance(LineString([end, end])) < 1.0, key


def test_unknown_measure_is_refused_by_name():
    with pytest.raises(PatternError, match="'knee_width'") as caught:
        draw_measure("knee_width")
    assert caught.value.code == "measure-unknown"


def test_preview_tells_the_size_of_a_tracing_and_draws_it_true():
    sole = ((0, 0), (10, 12), (60, 15), (75, 0), (60, -15), (10, -10))
    drawing = draw_foot_preview(sole)
    assert any("75.0 mm long, 30.0 mm wide" in words.text for words in drawing.words)
    outline = next(stroke for stroke in drawing.strokes if stroke.kind == "contour")
    assert Polygon(outline.points_mm).area == pytest.approx(Polygon(sole).area)


def test_preview_grid_has_squares_of_ten_millimetres():
    drawing = draw_foot_preview(((0, 0), (40, 10), (40, -10)))
    upright = sorted(
        {s.points_mm[0][0] for s in drawing.strokes
         if s.kind == "square" and s.points_mm[0][0] == s.points_mm[1][0]}
    )  # fmt: skip
    assert {round(b - a, 9) for a, b in pairwise(upright)} == {10.0}


def test_preview_of_nothing_is_empty():
    assert draw_foot_preview(()).strokes == ()
