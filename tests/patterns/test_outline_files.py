"""Outlines of hides from CSV, SVG and DXF: the same square whichever way, faults by their line."""

import csv
from io import StringIO
from math import cos, pi, sin

import ezdxf
import pytest

from patterns.errors import OutlineError
from patterns.exchange.outline_file import (
    FileOutlines,
    outlines_from_csv,
    outlines_from_dxf,
    outlines_from_json,
    outlines_from_svg,
    sole_outline_from,
)
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
        ("0,0\n" + "9" * 200_000 + ",0\n", "Line 2 .*far too long"),
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
        (b"<?xml version='1.0' encoding='no-such-code'?><svg/>", "Line 1 .*encoding"),
        ("<?xml version='1.0' encoding='UTF-32'?><svg/>".encode("utf-16"), "Line 1 .*encoding"),
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


@pytest.mark.parametrize(("unit", "factor"), [(1, 25.4), (4, 1.0), (5, 10.0)])
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
        # Drawn turn by turn, these would never end.
        (dxf(lambda space: space.add_arc((0, 0), 50, 0, 1e300)), "a curve .ARC. .* no hide has"),
        (dxf(lambda space: space.add_circle((0, 0), 1e300)), "a curve .CIRCLE. .* no hide has"),
        (dxf(lambda space: space.add_ellipse((0, 0), (1e300, 0), 0.5)), "a curve .ELLIPSE."),
    ],
    ids=[
        *("empty", "prose", "cut off", "nothing", "one line", "unit", "coordinate", "code"),
        *("turns", "circle", "ellipse"),
    ],
)
def test_a_dxf_that_is_no_hide_says_so(text, words):
    with pytest.raises(OutlineError, match=words):
        outlines_from_dxf(text)


PAGE = 'xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80"'


def size_of(data, **options):
    x0, y0, x1, y1 = outline_bounds_mm(outlines_from_svg(data.encode(), **options).outline_mm)
    return x1 - x0, y1 - y0


@pytest.mark.parametrize(
    ("page", "inside", "size"),
    [
        # Sources: SVG 2, 8.2 (preserveAspectRatio) and 10.2 (rect); CSS Values and Units Level 4,
        # 6.2: 96 px are 25.4 mm, so 60 mm are 226.77 user units, each 1 mm in this viewBox.
        (PAGE, '<rect width="60mm" height="40"/>', (60 * 96 / 25.4, 40.0)),
        (PAGE, '<rect width="60" height="40" rx="10"/>', (60.0, 40.0)),
        ('width="100mm" height="160mm" viewBox="0 0 100 80" preserveAspectRatio="none"',
         '<rect width="60" height="40"/>', (60.0, 80.0)),
        ('width="100mm" height="160mm" viewBox="0 0 100 80"',
         '<rect width="60" height="40"/>', (60.0, 40.0)),
        ('width="100mm" height="160mm" viewBox="0 0 100 80" preserveAspectRatio="xMidYMid slice"',
         '<rect width="60" height="40"/>', (120.0, 80.0)),
        ('height="160mm" viewBox="0 0 100 80"', '<rect width="60" height="40"/>', (120.0, 80.0)),
        (PAGE, '<g display="none"><rect width="90" height="70"/></g><rect width="60" height="40"/>',
         (60.0, 40.0)),
        (PAGE, '<rect style="display: none" width="90" height="70"/><rect width="60" height="40"/>',
         (60.0, 40.0)),
        (PAGE, '<g visibility="hidden"><rect width="90" height="70"/>'
         '<rect visibility="visible" width="60" height="40"/></g>', (60.0, 40.0)),
        (PAGE, '<symbol><rect width="90" height="70"/></symbol><rect width="60" height="40"/>',
         (60.0, 40.0)),
        (PAGE, '<script>alert(1)</script><image href="http://example.org/a.png" width="90"'
         ' height="70"/><rect width="60" height="40"/>', (60.0, 40.0)),
    ],
)  # fmt: skip
def test_an_svg_is_read_as_a_browser_would_draw_it(page, inside, size):
    assert size_of(f"<svg {page}>{inside}</svg>") == pytest.approx(size)


def test_a_rounded_corner_is_no_sharp_one():
    data = f'<svg {PAGE}><rect width="60" height="40" rx="10"/></svg>'.encode()
    # Four quarter circles are left out of the corners: (4 - pi) r2.
    wanted = 60 * 40 - (4 - pi) * 10**2
    assert outline_area_mm2(outlines_from_svg(data).outline_mm) == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize(
    ("page", "inside", "words"),
    [
        (PAGE, '<defs><rect id="a" width="9" height="9"/></defs><use href="#a"/>', "by reference"),
        (PAGE, '<svg x="9" viewBox="0 0 9 9"><rect width="6" height="4"/></svg>', "inside the"),
        (PAGE, '<switch><rect width="6" height="4"/></switch>', "by choice"),
        (PAGE, '<clipPath id="c"><rect width="9" height="9"/></clipPath>'
         '<rect width="6" height="4" clip-path="url(#c)"/>', "clip-path"),
        (PAGE, '<rect width="6" height="4" style="mask:url(#m)"/>', "mask"),
        (PAGE, '<rect width="6" height="4" style="transform: scale(2)"/>', "by its style"),
        (PAGE, '<rect width="6" height="4" transform="rotate(9)" transform-origin="3 2"/>', "turn"),
        (PAGE, "<style>rect { transform: scale(2) }</style><rect width='6' height='4'/>", "sheet"),
        (PAGE, '<rect width="60%" height="50%"/>', "60%"),
        (PAGE, '<rect width="3em" height="4"/>', "3em"),
        ('width="100mm" viewBox="0 0 0 80"', '<rect width="6" height="4"/>', "no size"),
        ('width="0" height="0"', '<rect width="6" height="4"/>', "no size"),
        ('width="-5mm" viewBox="0 0 9 9"', '<rect width="6" height="4"/>', "no size"),
        ('width="9mm" viewBox="0 0 9"', '<rect width="6" height="4"/>', "four numbers"),
    ],
)  # fmt: skip
def test_what_an_svgs_shapes_alone_do_not_tell_is_refused(page, inside, words):
    with pytest.raises(OutlineError, match=words):
        outlines_from_svg(f"<svg {page}>{inside}</svg>".encode())


@pytest.mark.parametrize("page", ['viewBox="0 0 100 80"', "", 'width="100%" viewBox="0 0 9 8"'])
def test_an_svg_without_a_size_is_read_once_its_unit_is_said(page):
    data = f'<svg {page}><rect width="60" height="40"/></svg>'
    with pytest.raises(OutlineError, match="how large the drawing is") as caught:
        size_of(data)
    assert caught.value.code == "unit_missing"
    assert size_of(data, mm_per_unit=1.0) == pytest.approx((60, 40))
    assert size_of(data, mm_per_unit=25.4) == pytest.approx((1524, 1016))


def test_a_chosen_unit_goes_before_what_the_file_says():
    assert size_of(f'<svg {PAGE}><rect width="6" height="4"/></svg>', mm_per_unit=10.0) == (60, 40)
    table = outlines_from_csv("0,0\n6,0\n6,4\n0,4\n", 10.0)
    assert outline_bounds_mm(table.outline_mm)[2:] == (60.0, 40.0)


def test_a_dxf_without_a_unit_is_read_once_its_unit_is_said():
    document = ezdxf.new("R2010", units=0)
    document.modelspace().add_lwpolyline(SQUARE, close=True)
    stream = StringIO()
    document.write(stream)
    with pytest.raises(OutlineError, match="does not say its unit") as caught:
        outlines_from_dxf(stream.getvalue())
    assert caught.value.code == "unit_missing"
    box = outline_bounds_mm(outlines_from_dxf(stream.getvalue(), 25.4).outline_mm)
    plain = outline_bounds_mm(SQUARE)
    assert box[2] - box[0] == pytest.approx(25.4 * (plain[2] - plain[0]))


def test_splines_alone_are_read_and_faces_in_space_are_not():
    document = ezdxf.new("R2010", units=4)
    corners = [(40 + 30 * cos(t), 40 + 30 * sin(t)) for t in [k * pi / 8 for k in range(16)]]
    document.modelspace().add_spline([*corners, corners[0]])
    stream = StringIO()
    document.write(stream)
    x0, _y0, x1, _y1 = outline_bounds_mm(outlines_from_dxf(stream.getvalue()).outline_mm)
    assert x1 - x0 == pytest.approx(60, abs=0.5)
    solid = ezdxf.new("R2010", units=4)
    solid.modelspace().add_3dface([(0, 0, 0), (9, 0, 0), (9, 9, 5)])
    stream = StringIO()
    solid.write(stream)
    with pytest.raises(OutlineError, match="no closed outline"):
        outlines_from_dxf(stream.getvalue())


def test_an_outline_in_json_names_its_unit():
    read = outlines_from_json(
        '{"unit": "cm", "outline": [[0,0],[9,0],[9,6],[0,6],[0,0]],'
        ' "defects": [[[1,1],[2,1],[2,2]]]}'
    )
    assert outline_bounds_mm(read.outline_mm)[2:] == (90.0, 60.0)
    assert len(read.outline_mm) == 4
    assert read.defects_mm == (((10.0, 10.0), (20.0, 10.0), (20.0, 20.0)),)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "Line 1 .* is not JSON"),
        ("[" * 9000, "not JSON"),
        ('{"outline": [[' + "9" * 5000 + ", 0]]}", "not JSON"),
        ('{"outline": [[0,0],[9,0],[9,6]]}', "unit must be one of mm"),
        ('{"unit": "furlong", "outline": [[0,0],[9,0],[9,6]]}', "unit must be one of mm"),
        ('{"unit": "mm", "ring": []}', "unknown key 'ring'"),
        ('{"unit": "mm"}', "outline"),
        ('{"unit": "mm", "outline": [[0,0],[9,0]]}', "outline"),
        ('{"unit": "mm", "outline": [[0,0],[9,0],[1e30,6]]}', "outline"),
        ('{"unit": "mm", "outline": [[0,0],[9,0],[9,6]], "defects": 3}', "defects must be a list"),
        ('{"unit": "m", "outline": [[0,0],[900,0],[900,600]]}', "check the unit"),
    ],
)
def test_an_outline_in_json_that_cannot_be_used_says_why(text, words):
    with pytest.raises(OutlineError, match=words):
        outlines_from_json(text)


def test_a_sole_from_a_drawing_has_its_heel_at_the_origin():
    ring = tuple((x + 500.0, y - 30.0) for x, y in ((0, 5), (40, 0), (75, 12), (40, 28), (0, 21)))
    sole = sole_outline_from(FileOutlines(ring, ()))
    assert min(x for x, _ in sole) == 0.0
    assert max(x for x, _ in sole) == pytest.approx(75.0)
    heel = [y for x, y in sole if x < 1.0]
    assert sum(heel) == pytest.approx(0.0)


def test_a_cell_far_too_long_is_told_whatever_limit_others_have_set():
    text = "0,0\n" + "9" * 200_000 + ",0\n"
    before = csv.field_size_limit(1_000_000)
    try:
        with pytest.raises(OutlineError, match=r"Line 2 .*far too long"):
            outlines_from_csv(text)
    finally:
        csv.field_size_limit(before)
