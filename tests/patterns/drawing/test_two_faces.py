"""A layout turned over: mirrored but for its words, said in large words, figures of the record."""

import pytest
from shapely.geometry import Polygon

from patterns.drawing.drawing import Turn
from patterns.drawing.layout import FLESH_SIZE_MM, FLESH_WORDS, draw_hide, draw_layout
from patterns.drawing.leftovers import draw_leftovers
from patterns.layout.leftovers import leftovers
from tests.drawn_samples import boot, hide, laid_out

MIRROR = Turn(mirrored=True)


def drawn(**more):
    request, layout = laid_out()
    return draw_hide(hide(), request, layout, pieces=boot().pieces, scale=0.5, **more)[0]


def lines(drawing, kind):
    return [stroke.points_mm for stroke in drawing.strokes if stroke.kind == kind]


@pytest.mark.parametrize("kind", ["hide", "cut", "net"])
def test_every_outline_is_the_mirror_image_of_the_grain_side(kind):
    grain, flesh = lines(drawn(), kind), lines(drawn(flesh_up=True), kind)
    assert grain
    assert flesh == [MIRROR.many(points) for points in grain]


def test_no_word_is_mirrored_and_each_name_lies_in_its_own_piece():
    flesh = drawn(flesh_up=True)
    grain = drawn()
    named = sorted(words.text for words in grain.words)
    turned = sorted(words.text for words in flesh.words if words.text != FLESH_WORDS)
    assert set(named) - set(turned) <= {"grain side up"}
    outline = Polygon(lines(flesh, "hide")[0])
    pieces = [Polygon(points) for points in lines(flesh, "cut")]
    for words in flesh.words:
        if words.text in {piece.name for piece in boot().pieces}:
            ring = Polygon(words.ring())
            assert outline.covers(ring)
            assert sum(piece.covers(ring) for piece in pieces) == 1


def test_it_is_said_in_large_words_on_each_hide():
    request, layout = laid_out()
    (large,) = [
        w for w in draw_layout(request, layout, flesh_up=True).words if w.text == FLESH_WORDS
    ]
    assert large.size_mm == FLESH_SIZE_MM
    assert large.size_mm >= 2 * max(w.size_mm for w in drawn().words)
    assert not [w for w in drawn().words if w.text == FLESH_WORDS]


def test_the_ruler_reads_the_records_figures_from_right_to_left():
    flesh = drawn(flesh_up=True)
    figures = [(w.x_mm, int(w.text)) for w in flesh.words if w.text.isdigit() and w.y_mm < -8]
    assert len(figures) > 3
    values = [value for _x, value in sorted(figures)]
    assert values == sorted(values, reverse=True)
    assert values[-1] == 0


def test_what_is_left_is_filled_and_numbered():
    request, layout = laid_out()
    left = leftovers(hide(), request, layout, least_width_mm=10, least_area_mm2=500)
    drawing = draw_leftovers(hide(), request, layout, left.remnants)
    assert len([fill for fill in drawing.fills if fill.kind == "here"]) == len(left.remnants) > 0
    numbers = {words.text for words in drawing.words if words.face == "bold"}
    assert {"1"} <= numbers
