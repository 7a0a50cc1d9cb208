"""Words on pieces: what they say, and that they cover no line."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from patterns.drawing.drawing import Drawing
from patterns.drawing.fonts import cap_height
from patterns.drawing.pieces import (
    count_words,
    draw_piece,
    draw_piece_set,
    mirrored_piece,
)
from patterns.pieces.piece import Hole, Line, Piece
from tests.drawn_samples import boot, grown, long_shaft, ring, small_pieces, toe_box


def as_line(stroke) -> LineString:
    points = stroke.points_mm
    return LineString([*points, points[0]] if stroke.closed else points)


def crossings(drawing: Drawing) -> list[tuple[str, str]]:
    """Return each word with the kind of line that runs through it."""
    return [
        (words.text, stroke.kind)
        for words in drawing.words
        for stroke in drawing.strokes
        if Polygon(words.ring()).intersects(as_line(stroke))
    ]


@pytest.mark.parametrize("piece", boot(long_shaft()).pieces, ids=lambda p: p.name)
@pytest.mark.parametrize("mirrored", [False, True])
def test_no_word_covers_a_line(piece, mirrored):
    assert crossings(draw_piece(piece, mirrored=mirrored)) == []


def test_a_word_laid_over_a_line_would_be_found():
    drawing = draw_piece(toe_box())
    word = replace(drawing.words[0], x_mm=toe_box().cut_mm[0][0], y_mm=toe_box().cut_mm[0][1])
    assert crossings(replace(drawing, words=(word,)))


def test_no_two_words_overlap_in_the_whole_set():
    rings = [Polygon(words.ring()) for words in draw_piece_set(boot(long_shaft())).words]
    for k, one in enumerate(rings):
        assert all(one.intersection(other).area < 1e-6 for other in rings[k + 1 :])


def test_no_word_covers_a_line_in_the_whole_set():
    assert crossings(draw_piece_set(boot(long_shaft()))) == []


def test_every_capital_is_at_least_two_millimetres_high():
    for words in draw_piece_set(boot(long_shaft())).words:
        assert words.size_mm * cap_height(words.face) >= 2.0


@given(
    width=st.floats(6, 120),
    height=st.floats(6, 120),
    waist=st.floats(0.25, 1.0),
    turn=st.floats(0, 360),
    hole=st.floats(0.2, 0.8),
)
@settings(max_examples=25, deadline=None)
def test_any_piece_has_its_name_clear_of_every_line(width, height, waist, turn, hole):
    net = ring(
        (0, 0), (width / 2, -height / 9), (width, 0), (width * (1 - waist / 3), height / 2),
        (width, height), (width / 2, height * 1.1), (0, height), (width * waist / 3, height / 2),
    )  # fmt: skip
    piece = Piece(
        "heel lift", 4, 2, "sole", net, grown(net, 3.0), tight_way_deg=turn,
        holes=(Hole("eyelet", width * hole, height / 2, 2.0),),
        lines=(Line("stitch", ((width * 0.2, height * 0.3), (width * 0.8, height * 0.7))),),
    )  # fmt: skip
    drawing = draw_piece(piece)
    assert crossings(drawing) == []
    assert "heel lift" in {words.text for words in drawing.words}
    assert any(stroke.kind == "tight way" for stroke in drawing.strokes)


def test_label_names_count_material_and_face():
    said = " ".join(words.text for words in draw_piece(toe_box()).words)
    for part in ("toe box", "cut 1 as drawn and 1 mirrored", "upper leather", "grain side up"):
        assert part in said


def test_count_names_the_foot_where_the_feet_differ():
    piece = replace(toe_box(), quantity=1, mirrored_quantity=0)
    assert count_words(piece, "left") == "left foot: cut 1"


def test_a_piece_free_to_mirror_says_either_way_up():
    assert count_words(small_pieces()[0]) == "cut 2, either way up"


def test_eyelet_is_a_circle_of_its_size_with_cross_hairs():
    piece = boot().pieces[1]
    strokes = [stroke for stroke in draw_piece(piece).strokes if stroke.kind == "hole"]
    circles = [stroke for stroke in strokes if stroke.closed]
    assert len(circles) == len(piece.holes) == 4
    assert len(strokes) == 3 * len(circles)
    for drawn, hole in zip(circles, piece.holes, strict=True):
        centre = Polygon(drawn.points_mm).centroid
        assert (centre.x, centre.y) == pytest.approx((hole.x_mm, hole.y_mm), abs=1e-6)
        radii = {round(centre.distance(LineString([p, p])), 6) for p in drawn.points_mm}
        assert radii == {hole.diameter_mm / 2}


def test_notch_runs_from_the_cut_line_inward_by_its_depth():
    piece = toe_box()
    notches = [stroke for stroke in draw_piece(piece).strokes if stroke.kind == "notch"]
    assert len(notches) == len(piece.notches)
    outline = Polygon(piece.cut_mm)
    for stroke, notch in zip(notches, piece.notches, strict=True):
        line = LineString(stroke.points_mm)
        assert line.length == pytest.approx(notch.depth_mm)
        assert outline.exterior.distance(line.boundary.geoms[0]) < 1e-6
        assert outline.covers(line.boundary.geoms[1])


def test_mirroring_twice_gives_the_piece_back():
    assert mirrored_piece(mirrored_piece(toe_box())).cut_mm == toe_box().cut_mm


def test_pieces_of_a_set_lie_clear_of_each_other():
    cuts = [Polygon(s.points_mm) for s in draw_piece_set(boot()).strokes if s.kind == "cut"]
    assert len(cuts) == len(boot().pieces)
    for k, one in enumerate(cuts):
        assert all(one.distance(other) > 1.0 for other in cuts[k + 1 :])


def test_pieces_of_a_set_keep_their_true_size():
    cuts = [s for s in draw_piece_set(boot()).strokes if s.kind == "cut"]
    areas = sorted(Polygon(stroke.points_mm).area for stroke in cuts)
    assert areas == pytest.approx(sorted(Polygon(p.cut_mm).area for p in boot().pieces))


def test_a_set_without_labels_shows_the_lines_alone():
    drawing = draw_piece_set(boot(), labelled=False)
    assert drawing.words == ()
    assert {stroke.kind for stroke in drawing.strokes} == {
        "cut", "net", "notch", "stitch", "fold", "hole"
    }  # fmt: skip
