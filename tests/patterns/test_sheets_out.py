"""Pieces and layouts for other programs, read back by other libraries: geometry, names, mirrors."""

from dataclasses import replace
from io import BytesIO, TextIOWrapper
from xml.etree import ElementTree

import cairosvg
import ezdxf
import numpy as np
import pytest
from PIL import Image
from shapely.affinity import scale
from shapely.geometry import LineString, MultiPoint, Polygon

from patterns.drawing.drawing import Turn
from patterns.exchange.dxf import pieces_dxf, sheet_dxf
from patterns.exchange.outline_sheet import sheet_of_layout, sheet_of_pieces
from patterns.exchange.svg_out import sheet_svg
from tests.drawn_samples import boot, laid_out, long_shaft, placed_ring

SVG = "{http://www.w3.org/2000/svg}"
PIXELS_PER_MM = 10.0


@pytest.fixture(scope="module")
def pieces():
    return boot(long_shaft())


def rings_of(document, layer):
    return [
        Polygon([(x, y) for x, y, *_ in entity.get_points()])
        for entity in document.modelspace().query("LWPOLYLINE")
        if entity.dxf.layer == layer and entity.closed
    ]


def read_dxf(data):
    document = ezdxf.read(TextIOWrapper(BytesIO(data), encoding="utf-8"))
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    return document


def groups_of(data):
    """Return the groups of an SVG by their title, each path as points, and its size in mm."""
    root = ElementTree.fromstring(data)
    groups = {}
    for group in root.iter(f"{SVG}g"):
        title = group.find(f"{SVG}title")
        if title is None:
            continue
        found = []
        for path in group.findall(f"{SVG}path"):
            text = path.get("d").replace("M", "").replace("L", "").replace("Z", "")
            found.append(
                (path.get("class"), [tuple(map(float, p.split(","))) for p in text.split()])
            )
        groups.setdefault(title.text, []).append(found)
    return root, groups


def same_shape(one, other):
    """Tell whether two outlines are equal but for where they lie."""
    moved = [
        Polygon([(x - p.bounds[0], y - p.bounds[1]) for x, y in p.exterior.coords])
        for p in (one, other)
    ]
    return moved[0].hausdorff_distance(moved[1]) < 1e-3


def test_every_piece_is_there_and_its_mirror_image_beside_it(pieces):
    document = read_dxf(pieces_dxf(pieces))
    rings = rings_of(document, "CUT")
    for piece in pieces.pieces:
        drawn = Polygon(piece.cut_mm)
        image = scale(drawn, xfact=-1.0, origin=(0, 0))
        assert any(same_shape(ring, drawn) for ring in rings), piece.name
        if piece.mirrored_quantity and not piece.mirror_free:
            assert any(same_shape(ring, image) for ring in rings), piece.name
    expected = sum(
        2 if p.mirrored_quantity and not p.mirror_free and p.quantity > p.mirrored_quantity else 1
        for p in pieces.pieces
    )
    assert len(rings) == expected


def test_the_svg_has_a_named_group_a_copy_with_the_same_outline(pieces):
    sheet = sheet_of_pieces(pieces)
    data = sheet_svg(sheet, title="Pieces <& all>")
    root, groups = groups_of(data)
    assert root.find(f"{SVG}title").text == "Pieces <& all>"
    ids = [g.get("id") for g in root.iter(f"{SVG}g") if g.get("id")]
    assert len(ids) == len(set(ids))
    for laid in sheet.pieces:
        ((lines,),) = (groups[laid.name],)
        (cut,) = [points for kind, points in lines if kind == "cut"]
        # Down the page y grows: flipped, it is the piece.
        outline = Polygon([(x, -y) for x, y in cut])
        assert same_shape(outline, Polygon(laid.turn.many(laid.piece.cut_mm)))
    # One user unit is one millimetre.
    _x, _y, width, height = map(float, root.get("viewBox").split())
    assert root.get("width") == f"{width:g}mm" or float(root.get("width")[:-2]) == width
    assert float(root.get("height")[:-2]) == height


def test_an_independent_rasteriser_draws_the_outlines_where_they_are(pieces):
    # Source: CSS Values and Units: 25.4 mm are 96 px; at 254 dots an inch 1 mm is 10 dots.
    sheet = sheet_of_pieces(pieces)
    data = sheet_svg(sheet, title="t")
    png = cairosvg.svg2png(bytestring=data, dpi=25.4 * PIXELS_PER_MM, background_color="white")
    picture = np.asarray(Image.open(BytesIO(png)).convert("L"))
    root, groups = groups_of(data)
    width = float(root.get("width")[:-2])
    assert picture.shape[1] == pytest.approx(width * PIXELS_PER_MM, abs=2)
    for laid in sheet.pieces:
        ((lines,),) = (groups[laid.name],)
        (cut,) = [points for kind, points in lines if kind == "cut"]
        along = LineString([*cut, cut[0]])
        spots = [along.interpolate(t, normalized=True) for t in np.linspace(0, 1, 60)]
        dark = [
            picture[round(spot.y * PIXELS_PER_MM), round(spot.x * PIXELS_PER_MM)] < 128
            for spot in spots
        ]
        assert all(dark), laid.name


def test_a_layout_is_drawn_as_it_lies_with_hide_and_defects():
    request, layout = laid_out()
    sheet = sheet_of_layout(request, layout, boot().pieces)
    (hide,) = request.hides
    outlines = {piece.id: piece.outline_mm for piece in request.pieces}
    left, bottom, _right, _top = Polygon(hide.outline_mm).bounds
    document = read_dxf(sheet_dxf(sheet))
    (drawn_hide,) = rings_of(document, "HIDE")
    assert same_shape(drawn_hide, Polygon(hide.outline_mm))
    assert len(rings_of(document, "DEFECT")) == len(hide.defects_mm)
    cut = rings_of(document, "CUT")
    assert len(cut) == len(layout.placements)
    _root, groups = groups_of(sheet_svg(sheet, title="t"))
    assert hide.id in groups
    for ring, place in zip(cut, layout.placements, strict=True):
        wanted = [(x - left, y - bottom) for x, y in placed_ring(outlines[place.id], place)]
        assert MultiPoint(wanted).hausdorff_distance(MultiPoint(ring.exterior.coords)) < 1e-6
    drawn = sum(len(found) for name, found in groups.items() if name != hide.id)
    assert drawn == len(layout.placements)


def test_hides_stand_apart():
    request, layout = laid_out()

    two = replace(request, hides=(request.hides[0], replace(request.hides[0], id="H-2")))
    sheet = sheet_of_layout(two, layout)
    one, other = (Polygon(hide.outline_mm) for hide in sheet.hides)
    assert one.distance(other) >= 39.0


def test_the_same_sheet_gives_the_same_bytes(pieces):
    assert sheet_svg(sheet_of_pieces(pieces), title="t") == sheet_svg(
        sheet_of_pieces(boot(long_shaft())), title="t"
    )


def test_a_mirrored_copy_is_the_image_of_the_other(pieces):
    for laid in sheet_of_pieces(pieces).pieces:
        if laid.turn.mirrored:
            image = Turn(mirrored=True).many(laid.piece.cut_mm)
            assert same_shape(Polygon(image), Polygon(laid.turn.many(laid.piece.cut_mm)))
            assert "mirrored" in laid.words[1]
