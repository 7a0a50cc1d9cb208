"""The drawing of a layout: scale, outlines, words."""

from dataclasses import replace
from itertools import pairwise

import pytest
from shapely.geometry import LineString, Polygon

from patterns.drawing.drawing import Turn
from patterns.drawing.layout import draw_hide, draw_layout, layout_scale, scale_words
from patterns.hide import Hide
from tests.drawn_samples import boot, hide, laid_out, placed_ring


@pytest.fixture(scope="module")
def drawn():
    request, layout = laid_out()
    return draw_hide(hide(), request, layout, pieces=boot().pieces, scale=0.25)


def test_every_placed_piece_is_drawn_where_it_lies_at_the_scale(drawn):
    request, layout = laid_out()
    cuts = [stroke.points_mm for stroke in drawn[0].strokes if stroke.kind == "cut"]
    assert len(cuts) == len(layout.placements)
    for ring, place in zip(cuts, layout.placements, strict=True):
        piece = next(piece for piece in request.pieces if piece.id == place.id)
        meant = Turn(scale=0.25).many(placed_ring(piece.outline_mm, place))
        for drawn_at, meant_at in zip(ring, meant, strict=True):
            assert drawn_at == pytest.approx(meant_at, abs=1e-9)


def test_a_mirrored_piece_is_said_to_be_mirrored(drawn):
    said = [words.text for words in drawn[0].words]
    key = [line.name for line in drawn[1] if line.mirrored]
    assert said.count("mirrored") + sum("mirrored" in t and t != "mirrored" for t in said) + len(
        key
    ) == sum(place.mirrored for place in laid_out()[1].placements)


def test_defects_are_hatched_inside_and_named(drawn):
    hatch = [LineString(s.points_mm) for s in drawn[0].strokes if s.kind == "hatch"]
    defects = [Polygon(Turn(scale=0.25).many(ring)).buffer(1e-6) for ring in hide().defects_mm]
    assert hatch
    assert all(any(defect.covers(line) for defect in defects) for line in hatch)
    assert [words.text for words in drawn[0].words].count("defect") == len(defects)


def test_no_word_covers_a_piece_line_or_a_defect(drawn):
    drawing = drawn[0]
    for words in drawing.words:
        ring = Polygon(words.ring())
        for stroke in drawing.strokes:
            points = stroke.points_mm
            line = LineString([*points, points[0]] if stroke.closed else points)
            assert not ring.intersects(line), (words.text, stroke.kind)


def test_ruler_has_a_tick_every_50_mm_of_hide(drawn):
    ticks = sorted(
        s.points_mm[0][0] for s in drawn[0].strokes
        if s.kind == "grid" and s.points_mm[0][0] == s.points_mm[1][0]
        and abs(s.points_mm[0][1] - s.points_mm[1][1]) < 3.0
    )  # fmt: skip
    assert {round(b - a, 9) for a, b in pairwise(ticks)} == {12.5}


def test_scale_bar_stands_for_100_mm(drawn):
    bars = [s for s in drawn[0].strokes if s.kind == "scale"]
    lengths = [LineString(s.points_mm).length for s in bars]
    assert max(lengths) == pytest.approx(25.0)
    assert any("scale 1 : 4" in words.text for words in drawn[0].words)


def test_scale_is_the_largest_usual_one_that_fits():
    square = Hide("H-0001", ((0, 0), (400, 0), (400, 400), (0, 400)))
    assert layout_scale([square], 200, 200) == 0.5
    assert layout_scale([square], 199, 200) == pytest.approx(1 / 3)
    assert scale_words(0.5) == "scale 1 : 2"


def test_hides_are_drawn_one_under_the_other():
    request, layout = laid_out()
    second = replace(hide(), id="H-0013")
    both = replace(request, hides=(hide(), second))
    drawing = draw_layout(both, layout)
    outlines = [Polygon(s.points_mm) for s in drawing.strokes if s.kind == "hide"]
    assert len(outlines) == 2
    assert not outlines[0].intersects(outlines[1])
    assert {"H-0012", "H-0013"} <= {words.text for words in drawing.words}


def test_numbers_on_small_pieces_are_explained_under_the_hide():
    request, layout = laid_out()
    _drawn, key = draw_hide(request.hides[0], request, layout, scale=0.1)
    assert key, "at a tenth some piece is too small for its name"
    said = " ".join(words.text for words in draw_layout(request, layout, scale=0.1).words)
    for line in key:
        assert f"{line.number} {line.name}" in said
