"""The cutting sheet, read back."""

from dataclasses import replace
from datetime import date

import pytest

from patterns.drawing.pieces import turned_over
from patterns.pieces.piece import Message
from tests.drawn_samples import boot, long_shaft
from tests.pdf_reading import drawn_paths, inked_box_mm, page_sizes_mm, page_texts
from workshop.documents.cutting_sheet import ROWS_ON_FIRST_PAGE, cutting_sheet_pdf
from workshop.documents.heading import SheetHeading

DAY = date(2026, 3, 14)
HEADING = SheetHeading(
    "Workshop of the tests", "Test doll", "Lace-up ankle boot", "foot 2", "Q-0001-1"
)


@pytest.fixture(scope="module", params=["A4", "Letter"])
def sheet(request):
    return cutting_sheet_pdf(boot(long_shaft()), heading=HEADING, made_on=DAY, paper=request.param)


def test_first_page_carries_heading_table_and_cautions(sheet):
    text = page_texts(sheet)[0]
    for part in (
        "Workshop of the tests", "Test doll, foot 2, Q-0001-1", "Lace-up ankle boot",
        "14 March 2026", "as drawn", "mirrored", "face up", "sharp blade", "away from the",
        "cutting mat", "stitch line",
    ):  # fmt: skip
        assert part in text


def test_table_names_every_piece_with_count_material_and_face(sheet):
    rows = page_texts(sheet)[0].replace("\r", "").split("\n")
    for name, tail in (
        ("toe box", "1 1 upper leather grain side up"),
        ("pull tab", "2 either lining flesh side up"),
        ("insole", "1 1 card either side up"),
        ("outsole", "1 1 sole seen from above"),
    ):
        assert any(name in row and tail in row for row in rows), (name, rows)


def test_all_pages_keep_the_margin(sheet):
    for number, (width, height) in enumerate(page_sizes_mm(sheet)):
        left, bottom, right, top = inked_box_mm(sheet, number, dpi=254.0)
        assert min(left, bottom, width - right, height - top) >= 9.9


def test_every_piece_is_drawn_on_the_sheet(sheet):
    rings = [
        p for page in drawn_paths(sheet) for p in page if p.closed and 0.49 < p.width_mm < 0.51
    ]
    whole = {id(ring) for ring in rings}
    tiles = len(drawn_paths(sheet)) - 2
    assert len(whole) >= len(boot().pieces) + tiles


def test_same_input_gives_the_same_bytes():
    one, two = (cutting_sheet_pdf(boot(), heading=HEADING, made_on=DAY) for _ in range(2))
    assert one == two


def test_a_stop_is_printed_before_the_table():
    stop = Message("stop", "seam-mismatch", "The back seam differs by 3.1 mm.", "outer side")
    data = cutting_sheet_pdf(replace(boot(), messages=(stop,)), heading=HEADING, made_on=DAY)
    text = page_texts(data)[0]
    said = "Stop, do not cut (outer side): The back seam differs by 3.1 mm."
    assert text.index(said) < text.index("as drawn")


def test_heading_may_be_left_out_whole():
    text = page_texts(cutting_sheet_pdf(boot(), heading=SheetHeading(), made_on=DAY))[0]
    assert "Cutting sheet, true scale" in text


def test_a_long_table_runs_on_to_a_later_page():
    many = tuple(replace(boot().pieces[5], name=f"tab {k:02d}") for k in range(45))
    data = cutting_sheet_pdf(replace(boot(), pieces=many), heading=HEADING, made_on=DAY)
    rows = [row for page in page_texts(data) for row in page.splitlines() if "along the" in row]
    assert len(many) > ROWS_ON_FIRST_PAGE
    for piece in many:
        assert sum(piece.name in row for row in rows) == 1, piece.name


def test_a_hostile_name_is_only_text():
    piece = replace(boot().pieces[0], name="(toe\\) box) Tj ET <b>&amp; Ж")
    data = cutting_sheet_pdf(replace(boot(), pieces=(piece,)), heading=HEADING, made_on=DAY)
    assert "(toe\\) box) Tj ET <b>&amp; ?" in page_texts(data)[0]


def test_turned_over_every_page_says_so_in_large_words_and_upper_leather_is_mirrored():
    pieces = boot(long_shaft())  # the shaft is tiled: words and the map of tiles share the foot
    grain, flesh = (
        cutting_sheet_pdf(pieces, heading=HEADING, made_on=DAY, flesh_up=up) for up in (False, True)
    )
    assert len(page_texts(flesh)) > 2
    assert all("FLESH SIDE UP – turned over" in text for text in page_texts(flesh))
    assert not any("FLESH SIDE UP" in text for text in page_texts(grain))
    turned = turned_over(boot())
    for piece, over in zip(boot().pieces, turned.pieces, strict=True):
        if piece.material == "upper" and piece.face_up == "grain":
            assert over.face_up == "flesh"
            assert {(-x, y) for x, y in piece.cut_mm} == set(over.cut_mm)
        else:
            assert over == piece
    for number, (width, height) in enumerate(page_sizes_mm(flesh)):
        left, bottom, right, top = inked_box_mm(flesh, number, dpi=254.0)
        assert min(left, bottom, width - right, height - top) >= 9.9
