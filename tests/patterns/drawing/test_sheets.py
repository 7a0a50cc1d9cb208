"""Sheets of paper at true scale, read back from the PDF."""

from datetime import date
from io import BytesIO
from itertools import pairwise

import pypdf
import pytest
from shapely.geometry import Polygon, box

from patterns.drawing.packing import pack_boxes
from patterns.drawing.pieces import labelled_pieces
from patterns.drawing.sheets import tiled_pdf
from patterns.drawing.tiling import tile_letter
from tests.drawn_samples import boot, long_shaft
from tests.pdf_reading import drawn_paths, inked_box_mm, page_sizes_mm, page_texts

DAY = date(2026, 3, 14)
PAPERS = ("A4", "Letter")


@pytest.fixture(scope="module", params=PAPERS)
def sheet(request):
    drawings = labelled_pieces(boot(long_shaft()))
    return request.param, tiled_pdf(drawings, paper=request.param, title="Sheets", made_on=DAY)


def bars(paths):
    return [
        path
        for path in paths
        if len(path.points_mm) == 2 and not path.closed
        and abs(path.points_mm[1][0] - path.points_mm[0][0] - 100.0) < 1.0
        and path.points_mm[0][1] < 20.0
        and abs(path.points_mm[0][1] - path.points_mm[1][1]) < 1e-3
    ]  # fmt: skip


def test_every_page_has_a_bar_of_100_mm(sheet):
    for page in drawn_paths(sheet[1]):
        (bar,) = bars(page)
        assert bar.points_mm[1][0] - bar.points_mm[0][0] == pytest.approx(100.0, abs=0.05)


@pytest.mark.external
def test_pages_are_of_the_standard_size(sheet):
    # Source: A4 is 210 x 297 mm (ISO 216); Letter 8.5 x 11 inches.
    size = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}[sheet[0]]
    for width, height in page_sizes_mm(sheet[1]):
        assert sorted((width, height)) == pytest.approx(sorted(size), abs=0.01)


def cut_rings(paths):
    return [p for p in paths if p.closed and abs(p.width_mm - 0.5) < 0.01]


def shifted_off(ring, piece_ring) -> float:
    """Return the largest distance of a drawn ring from a piece's, after moving or turning it."""
    best = float("inf")
    for quarter in (False, True):
        wanted = [(-y, x) if quarter else (x, y) for x, y in piece_ring]
        if len(ring) != len(wanted):
            continue
        dx, dy = ring[0][0] - wanted[0][0], ring[0][1] - wanted[0][1]
        off = max(
            max(abs(a[0] - dx - b[0]), abs(a[1] - dy - b[1]))
            for a, b in zip(ring, wanted, strict=True)
        )
        best = min(best, off)
    return best


def ring_of(path):
    points = path.points_mm
    return points[:-1] if points[0] == pytest.approx(points[-1], abs=1e-4) else points


def test_every_cut_outline_is_drawn_within_a_tenth_of_a_millimetre(sheet):
    rings = [ring_of(path) for page in drawn_paths(sheet[1]) for path in cut_rings(page)]
    for piece in boot(long_shaft()).pieces:
        assert min(shifted_off(ring, piece.cut_mm) for ring in rings) < 0.1, piece.name


def test_nothing_is_printed_in_the_margin(sheet):
    for number, (width, height) in enumerate(page_sizes_mm(sheet[1])):
        left, bottom, right, top = inked_box_mm(sheet[1], number, dpi=254.0)
        # One pixel of 0.1 mm is the reading's own blur.
        assert left >= 9.9
        assert bottom >= 9.9
        assert right <= width - 9.9
        assert top <= height - 9.9


def test_pieces_that_fit_a_sheet_lie_whole_on_one(sheet):
    pages = drawn_paths(sheet[1])
    sizes = page_sizes_mm(sheet[1])
    whole = 0
    for (width, height), page in zip(sizes, pages, strict=True):
        inside = box(10, 10, width - 10, height - 10)
        whole += sum(inside.covers(Polygon(path.points_mm)) for path in cut_rings(page))
    assert whole == len(boot().pieces)


def test_tiles_show_the_whole_of_a_large_piece_and_meet_at_the_crosses(sheet):
    pages = drawn_paths(sheet[1])
    tiles = [
        (path, size)
        for page, size in zip(pages, page_sizes_mm(sheet[1]), strict=True)
        for path in cut_rings(page)
        if len(ring_of(path)) == len(long_shaft().cut_mm)
    ]
    assert len(tiles) > 1
    origin = tiles[0][0].points_mm[0]
    seen = []
    for path, (width, height) in tiles:
        dx, dy = origin[0] - path.points_mm[0][0], origin[1] - path.points_mm[0][1]
        seen.append(box(10 + dx, 28 + dy, width - 10 + dx, height - 19 + dy))
    shape = Polygon(tiles[0][0].points_mm)
    covered = seen[0]
    for window in seen[1:]:
        covered = covered.union(window)
    assert shape.difference(covered.buffer(1e-3)).area < 1e-3
    for one, other in pairwise(seen):
        common = one.intersection(other)
        assert min(common.bounds[2] - common.bounds[0], common.bounds[3] - common.bounds[1]) == (
            pytest.approx(10.0, abs=0.01)
        )


def test_print_scaling_is_none_and_title_and_language_are_set(sheet):
    reader = pypdf.PdfReader(BytesIO(sheet[1]))
    catalog = reader.trailer["/Root"]
    assert catalog["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert catalog["/Lang"] == "en"
    assert reader.metadata.title == "Sheets"
    assert reader.metadata.creation_date.date() == DAY


def test_fonts_are_embedded_subsets(sheet):
    reader = pypdf.PdfReader(BytesIO(sheet[1]))
    fonts = [
        font.get_object()
        for page in reader.pages
        for form in page["/Resources"]["/XObject"].values()
        for font in form.get_object()["/Resources"]["/Font"].values()
    ]
    assert fonts
    for font in fonts:
        descendant = font["/DescendantFonts"][0].get_object()
        assert descendant["/FontDescriptor"]["/FontFile2"].get_object().get_data()
        assert font["/BaseFont"][7] == "+"


def test_text_can_be_found_and_copied(sheet):
    texts = page_texts(sheet[1])
    for number, text in enumerate(texts, start=1):
        assert f"page {number} of {len(texts)}" in text
        assert "Print at 100 %, not fit to page; this bar must measure 100 mm" in text
    said = "".join(texts)
    for piece in boot(long_shaft()).pieces:
        assert piece.name in said


def test_same_input_gives_the_same_bytes():
    drawings = labelled_pieces(boot())
    made = [
        tiled_pdf(labelled_pieces(boot()), title="Sheets", made_on=DAY, document_id=b"order 7")
        for _ in range(2)
    ]
    assert made[0] == made[1]
    assert b"order 7" in made[0]
    assert tiled_pdf(drawings, title="Sheets", made_on=date(2026, 3, 15)) != made[0]


def test_tile_letters_go_on_after_z():
    assert [tile_letter(k) for k in (0, 25, 26, 51, 52)] == ["A", "Z", "AA", "AZ", "BA"]


def test_packed_boxes_do_not_overlap_and_stay_on_their_sheets():
    sizes = [(10 + 7 * k % 45, 8 + 11 * k % 60) for k in range(40)]
    packed = pack_boxes(sizes, [(190, 80), (190, 240)], gap_mm=5)
    assert {spot.index for spot in packed} == set(range(40))
    laid = []
    for spot in packed:
        width, height = sizes[spot.index]
        width, height = (height, width) if spot.turned else (width, height)
        assert spot.x_mm + width <= 190 + 1e-6
        assert spot.y_mm + height <= (80 if spot.sheet == 0 else 240) + 1e-6
        laid.append((spot.sheet, box(spot.x_mm, spot.y_mm, spot.x_mm + width, spot.y_mm + height)))
    for k, (number, one) in enumerate(laid):
        for other_number, other in laid[k + 1 :]:
            assert number != other_number or one.distance(other) >= 5 - 1e-6


def test_a_box_larger_than_every_sheet_is_left_out():
    assert pack_boxes([(300, 300), (10, 10)], [(190, 240)])[0].index == 1
