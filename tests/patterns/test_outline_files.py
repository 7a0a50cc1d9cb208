"""Outlines of hides from CSV, SVG and DXF: the same square whichever way, faults by their line."""

from io import StringIO
from math import pi

import ezdxf
import pytest

from patterns.errors import OutlineError
from patterns.exchange.outline_file import outlines_from_csv, outlines_from_dxf, outlines_from_svg
from patterns.geometry.outline import outline_area_mm2, outline_bounds_mm

SQUARE = ((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0))
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="{size}" viewBox="{box}">\n{inside}\n</svg>'


def svg(inside, *, size="100mm", box="0 0 100 80"):
    return outlines_from_svg(SVG.format(inside=inside, size=size, box=box).encode())


def dxf(draw, unit=4):
    document = ezdxf.new("R2010", units=unit)
    draw(document.modelspace())
    stream = StringIO()
    document.write(stream)
    return stream.getvalue()


def corners(ring):
    return {(round(x, 6), round(y, 6)) for x, y in ring}


@pytest.mark.parametrize(
    "text",
    [
        "0,0\n60,0\n60,40\n0,40\n",
        "x,y\n0,0\n60,0\n60,40\n0,40\n0,0\n",
        "x;y\r\n0,0;0\r\n60,0;0\r\n60;40\r\n0;40,000\r\n",
        "\t".join("xy") + "\n0\t0\n60\t0\n60\t40\n0\t40\n",
        "ring,x,y\nhide,0,0\nhide,60,0\nhide,60,40\nhide,0,40\n",
    ],
)
def test_a_table_of_points_is_read_however_a_spreadsheet_writes_it(text):
    assert outlines_from_csv(text).outline_mm == SQUARE


def test_the_largest_ring_is_the_hide_and_what_lies_on_it_a_defect():
    read = outlines_from_csv("5,5\n9,5\n9,9\n\n0,0\n60,0\n60,40\n0,40\n")
    assert read.outline_mm == SQUARE
    assert read.defects_mm == (((5.0, 5.0), (9.0, 5.0), (9.0, 9.0)),)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0,0\n60,0\n60,here\n", "Line 3"),
        ("0,0\n60,0\n60,nan\n", "Line 3"),
        ("0,0\n60,0\n60,1e999\n", "Line 3"),
        ("0,0\n60,0\n1,2,3,4\n", "Line 3"),
        ("0,0\n60,40\n60,0\n0,40\n", "crosses"),
        ("0,0\n60,0\n", "no closed outline"),
        ("", "no closed outline"),
        ("0,0\n60,0\n60,40\n\n100,100\n110,100\n100,110\n", "beside the largest"),
        ("0,0\n" * 1_000_000, "10000 points"),
        ("0,0\n2e6,0\n0,2e6\n", "Check the unit"),
    ],
    ids=lambda value: value[:20],
)
def test_a_table_that_is_no_hide_says_where(text, words):
    with pytest.raises(OutlineError, match=words):
        outlines_from_csv(text)


@pytest.mark.parametrize(
    "inside",
    [
        '<rect x="10" y="20" width="60" height="40"/>',
        '<polygon points="10,20 70,20 70,60 10,60"/>',
        '<polyline points="10,20 70,20 70,60 10,60 10,20"/>',
        '<path d="M10 20H70V60H10Z"/>',
        '<path d="m10 20 60 0 0 40-60 0z"/>',
        '<path d="M10,20 L70,20 L70,60 L10,60 L10,20"/>',
        '<g transform="translate(10 20)"><g transform="scale(2)"><rect width="30" height="20"/>'
        "</g></g>",
        '<rect width="40" height="60" transform="translate(70 20) rotate(90)"/>',
    ],
)
def test_the_same_square_drawn_in_svg_in_many_ways(inside):
    # The drawing is 80 high and y runs down: y 20 to 60 is 20 to 60 from below as well.
    ring = svg(inside).outline_mm
    assert corners(ring) == {(10, 20), (70, 20), (70, 60), (10, 60)}


@pytest.mark.parametrize(
    ("size", "box", "factor"),
    [
        ("100mm", "0 0 100 80", 1.0),
        ("10cm", "0 0 200 160", 0.5),
        ("1in", "0 0 25.4 20", 1.0),
        # Source: CSS Values and Units Level 4, 6.2: 96 px are an inch of 25.4 mm.
        ("96", "0 0 96 80", 25.4 / 96),
    ],
)
def test_an_svgs_size_tells_its_scale(size, box, factor):
    ring = svg('<rect width="60" height="40"/>', size=size, box=box).outline_mm
    x0, y0, x1, y1 = outline_bounds_mm(ring)
    assert (x1 - x0, y1 - y0) == pytest.approx((60 * factor, 40 * factor))


@pytest.mark.parametrize(
    "inside",
    [
        '<circle cx="50" cy="40" r="30"/>',
        '<path d="M20 40A30 30 0 0 1 80 40A30 30 0 0 1 20 40Z"/>',
        '<path d="M80 40a30 30 0 1 0-60 0 30 30 0 1 0 60 0z"/>',
        # Source: four cubics with handles of 0.5522847 r, within 0.03 % of a circle.
        '<path d="M80 40C80 56.568542 66.568542 70 50 70S20 56.568542 20 40 33.431458 10 50 10'
        'S80 23.431458 80 40Z"/>',
    ],
)
def test_curves_become_points_within_a_tenth_of_a_millimetre(inside):
    ring = svg(inside).outline_mm
    assert outline_area_mm2(ring) == pytest.approx(pi * 30**2, rel=0.003)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"<svg><rect", "Line 1"),
        (b"<svg>\n<path d='M0 0L5'/></svg>", "Line 2"),
        (b"<svg>\n\n<path d='Q0 0'/></svg>", "Line 3"),
        (b"<svg>\n<polygon points='0,0 x,5'/></svg>", "Line 2"),
        (b"<svg>\n<polygon points='0,0 5'/></svg>", "Line 2"),
        (b"<svg>\n<rect transform='bend(3)' width='5' height='5'/></svg>", "Line 2"),
        (b"<svg width='5 fathoms'></svg>", "Line 1"),
        (b"<html></html>", "Line 1"),
        (b"<svg></svg>", "no closed outline"),
        (b"<svg><path d='M0 0L5 5L9 0'/></svg>", "no closed outline"),
        (b"<svg>\n<polygon points='0,0 9e30,0 0,9e30'/></svg>", "Line 2"),
        (
            b'<!DOCTYPE svg [<!ENTITY a "b"><!ENTITY c "&a;&a;">]><svg>&c;</svg>',
            "no drawing needs",
        ),
        (b"<svg>\n<path d='M0 0" + b"L1 1" * 1_000_000 + b"'/></svg>", "Line 2.*20000 points"),
        (b"<svg>" + b"<g>" * 3 + b"<polygon points='" + b"0,0 " * 30_000 + b"'/></g>", "points"),
    ],
    ids=lambda value: str(value)[:30],
)
def test_an_svg_that_is_no_hide_says_where(data, words):
    with pytest.raises(OutlineError, match=words):
        outlines_from_svg(data)


@pytest.mark.parametrize(
    "draw",
    [
        lambda space: space.add_lwpolyline(SQUARE, close=True),
        lambda space: space.add_polyline2d(SQUARE, close=True),
        lambda space: [
            space.add_line(a, b) for a, b in zip(SQUARE, [*SQUARE[1:], SQUARE[0]], strict=True)
        ],
    ],
    ids=["lwpolyline", "polyline", "four lines"],
)
def test_the_same_square_drawn_in_dxf_in_many_ways(draw):
    assert corners(outlines_from_dxf(dxf(draw)).outline_mm) == set(SQUARE)


@pytest.mark.parametrize(("unit", "factor"), [(0, 1.0), (1, 25.4), (4, 1.0), (5, 10.0)])
def test_a_dxfs_unit_is_turned_into_millimetres(unit, factor):
    read = outlines_from_dxf(dxf(lambda space: space.add_lwpolyline(SQUARE, close=True), unit))
    assert outline_bounds_mm(read.outline_mm) == pytest.approx((0, 0, 60 * factor, 40 * factor))


def test_a_round_defect_in_a_dxf_is_read_beside_the_hide():
    def draw(space):
        space.add_lwpolyline(SQUARE, close=True)
        space.add_circle((30, 20), 6)

    (defect,) = outlines_from_dxf(dxf(draw)).defects_mm
    assert outline_area_mm2(defect) == pytest.approx(pi * 36, rel=0.03)


GOOD_DXF = dxf(lambda space: space.add_lwpolyline(SQUARE, close=True))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Line 1"),
        ("not a drawing", "Line 1"),
        (GOOD_DXF[: len(GOOD_DXF) // 2], "outline|unreadable|DXF|Line"),
        (dxf(lambda space: None), "no closed outline"),
        (dxf(lambda space: space.add_line((0, 0), (5, 5))), "no closed outline"),
        (dxf(lambda space: space.add_lwpolyline(SQUARE, close=True), unit=20), "unit"),
        ("0\nSECTION\n10\nseven\n", "Line 4"),
        ("0\nSECTION\nname\nHEADER\n", "Line 3"),
    ],
    ids=["empty", "prose", "cut off", "nothing", "one line", "unit", "coordinate", "code"],
)
def test_a_dxf_that_is_no_hide_says_so(text, words):
    with pytest.raises(OutlineError, match=words):
        outlines_from_dxf(text)
