"""The SVG of a drawing, parsed again."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.drawing.drawing import Drawing, Fill, Stroke, Words
from patterns.drawing.foot import MEASURE_KEYS, draw_measure
from patterns.drawing.pieces import draw_piece_set
from patterns.drawing.svg import drawing_svg
from tests.drawn_samples import boot

SVG = "{http://www.w3.org/2000/svg}"
ALLOWED = {
    "svg",
    "path",
    "polygon",
    "polyline",
    "line",
    "rect",
    "circle",
    "g",
    "text",
    "title",
    "desc",
}
SQUARE = Drawing(
    strokes=(Stroke(((0, 0), (40, 0), (40, 20), (0, 20)), "cut", closed=True),),
    fills=(Fill(((0, 0), (40, 0), (40, 20), (0, 20)), "hide"),),
    words=(Words("a piece", 20, 10, 3.5, "middle", 30.0),),
)


def parse(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def millimetres(text: str) -> float:
    assert text.endswith("mm")
    return float(text.removesuffix("mm"))


@pytest.mark.parametrize("drawing", [SQUARE, draw_piece_set(boot())])
def test_size_is_in_millimetres_and_equals_the_view_box(drawing):
    root = parse(drawing_svg(drawing, title="t"))
    _, _, width, height = (float(v) for v in root.get("viewBox").split())
    assert millimetres(root.get("width")) == width
    assert millimetres(root.get("height")) == height


def test_square_of_40_by_20_stays_40_by_20():
    root = parse(drawing_svg(SQUARE, title="t"))
    points = root.find(f".//{SVG}polygon").get("points")
    corners = [tuple(float(v) for v in pair.split(",")) for pair in points.split()]
    xs, ys = zip(*corners, strict=True)
    assert max(xs) - min(xs) == pytest.approx(40)
    assert max(ys) - min(ys) == pytest.approx(20)


def test_fitting_keeps_the_aspect():
    root = parse(drawing_svg(SQUARE, title="t", fit_width_mm=84.5))
    _, _, width, height = (float(v) for v in root.get("viewBox").split())
    assert millimetres(root.get("width")) == pytest.approx(84.5)
    assert millimetres(root.get("height")) / 84.5 == pytest.approx(height / width, rel=1e-4)


@pytest.mark.parametrize("key", MEASURE_KEYS)
def test_only_plain_elements_and_no_style(key):
    svg = drawing_svg(draw_measure(key), title=key)
    root = parse(svg)
    assert {element.tag.removeprefix(SVG) for element in root.iter()} <= ALLOWED
    assert "style" not in svg
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == key


def test_every_line_takes_the_colour_of_the_page():
    for element in parse(drawing_svg(SQUARE, title="t")).iter():
        assert element.get("stroke") in (None, "currentColor")
        assert element.get("fill") in (None, "none", "currentColor")


def test_fold_and_stitch_differ_by_dashes_not_by_colour():
    drawing = Drawing(
        tuple(Stroke(((0, 0), (9, 0)), kind) for kind in ("fold", "stitch", "net", "cut"))
    )
    lines = parse(drawing_svg(drawing, title="t")).findall(f".//{SVG}polyline")
    looks = {(line.get("stroke-dasharray"), line.get("stroke-width")) for line in lines}
    assert len(looks) == 4


HOSTILE = "</title><script>alert(1)</script>\"' & <!-- ]]> \x00\x08"


def test_hostile_names_stay_text():
    drawing = Drawing(words=(Words(HOSTILE, 0, 0),))
    svg = drawing_svg(drawing, title=HOSTILE, description=HOSTILE)
    root = parse(svg)
    assert "<script" not in svg
    assert {element.tag.removeprefix(SVG) for element in root.iter()} <= ALLOWED
    assert root.find(f".//{SVG}text").text == re.sub("[\x00\x08]", "", HOSTILE)


@given(st.text(max_size=40))
@settings(max_examples=60, deadline=None)
def test_any_name_gives_well_formed_svg(name):
    root = parse(drawing_svg(Drawing(words=(Words(name, 0, 0),)), title=name))
    assert len(list(root.iter())) == 4


def test_own_colours_name_no_page_colour():
    svg = drawing_svg(SQUARE, title="t", own_colours=True)
    assert "currentColor" not in svg
    assert re.search(r'stroke="#[0-9a-f]{6}"', svg)
