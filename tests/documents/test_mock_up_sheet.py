"""The mock-up sheet, read back."""

from dataclasses import replace
from datetime import date

import pytest

from patterns.pieces.piece import GirthClosure
from tests.drawn_samples import boot
from tests.pdf_reading import drawn_paths, inked_box_mm, page_sizes_mm, page_texts
from workshop.documents.heading import SheetHeading
from workshop.documents.mock_up_sheet import mock_up_pieces, mock_up_sheet_pdf

CLOSURE = (GirthClosure("ankle", 61.3, 58.8), GirthClosure("ball", 74.2, 74.2))


@pytest.fixture(scope="module", params=["A4", "Letter"])
def sheet(request):
    pieces = replace(boot(), girth_closure=CLOSURE)
    return mock_up_sheet_pdf(
        pieces, heading=SheetHeading(), made_on=date(2026, 3, 14), paper=request.param
    )


def test_only_upper_and_insole_are_on_it(sheet):
    said = "".join(page_texts(sheet))
    assert {piece.name for piece in mock_up_pieces(boot())} == {
        "toe box", "outer side", "inner side", "tongue", "back stay", "insole"
    }  # fmt: skip
    assert "insole" in said
    assert "outsole" not in said
    assert "pull tab" not in said


def test_girths_tell_what_is_short(sheet):
    text = page_texts(sheet)[0]
    assert "61.3 58.8 −2.5" in text
    assert "74.2 74.2 meets" in text


def test_pieces_and_margin_are_as_on_every_sheet(sheet):
    pages = drawn_paths(sheet)
    cuts = [p for page in pages for p in page if p.closed and 0.49 < p.width_mm < 0.51]
    assert len(cuts) == len(mock_up_pieces(boot()))
    for number, (width, height) in enumerate(page_sizes_mm(sheet)):
        left, bottom, right, top = inked_box_mm(sheet, number, dpi=254.0)
        assert min(left, bottom, width - right, height - top) >= 9.9
