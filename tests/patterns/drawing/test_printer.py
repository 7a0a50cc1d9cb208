"""Sheets drawn for a printer that is not true come out true, and a scaled page is found out."""

from datetime import date

import pytest

from patterns.drawing.calibration import (
    ACROSS_MM,
    ALONG_MM,
    calibration_bars,
    printer_measured,
)
from patterns.drawing.drawing import Drawing, Stroke
from patterns.drawing.furniture import SheetWords
from patterns.drawing.paper import MARGIN_MM, PAPER_SIZES_MM, Printer, content_box, page_size
from patterns.drawing.sheets import tiled_pdf
from patterns.errors import PatternError
from tests.pdf_reading import drawn_paths, inked_box_mm, page_sizes_mm, page_texts

DAY = date(2026, 3, 14)
PRINTERS = [Printer("long", 1.006, 1.011), Printer("short", 0.985, 0.993)]


def square(side_mm: float) -> Drawing:
    ring = ((0, 0), (side_mm, 0), (side_mm, side_mm), (0, side_mm))
    return Drawing((Stroke(ring, "cut", closed=True),))


def longest(path):
    xs, ys = zip(*path.points_mm, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("printer", PRINTERS, ids=lambda printer: printer.name)
def test_a_square_and_the_bar_come_out_true(printer, paper):
    data = tiled_pdf([square(90.0)], paper=paper, title="t", made_on=DAY, printer=printer)
    assert page_sizes_mm(data)[0] == pytest.approx(PAPER_SIZES_MM[paper], abs=0.01)
    (page,) = drawn_paths(data)
    squares = [path for path in page if len(path.points_mm) >= 4 and path.closed]
    assert squares
    for path in squares:
        across, along = longest(path)
        assert across * printer.across == pytest.approx(90.0, abs=0.01)
        assert along * printer.along == pytest.approx(90.0, abs=0.01)
    bars = [longest(path)[0] * printer.across for path in page if not path.closed]
    assert any(bar == pytest.approx(100.0, abs=0.01) for bar in bars)


@pytest.mark.parametrize("printer", PRINTERS, ids=lambda printer: printer.name)
def test_a_lying_sheet_is_corrected_the_other_way_round(printer):
    # Longer than an upright sheet has room for: only a lying one holds it whole.
    wide = Drawing((Stroke(((0, 0), (270, 0), (270, 60), (0, 60)), "cut", closed=True),))
    head = Drawing((Stroke(((0, 0), (150, 0), (150, 240), (0, 240)), "rule", closed=True),))
    data = tiled_pdf([wide], title="t", made_on=DAY, printer=printer, first_block=head)
    sizes, pages = page_sizes_mm(data), drawn_paths(data)
    number = next(k for k, (width, height) in enumerate(sizes) if width > height)
    (path,) = [path for path in pages[number] if path.closed]
    # The sheet goes through the printer upright: the page's x runs along its long side.
    across, along = longest(path)
    assert across * printer.along == pytest.approx(270.0, abs=0.01)
    assert along * printer.across == pytest.approx(60.0, abs=0.01)


@pytest.mark.parametrize("printer", PRINTERS, ids=lambda printer: printer.name)
def test_tiles_of_a_corrected_sheet_still_join(printer):
    data = tiled_pdf([square(400.0)], title="t", made_on=DAY, printer=printer)
    pages, sizes = drawn_paths(data), page_sizes_mm(data)
    assert len(pages) > 1
    for number, (width, height) in enumerate(sizes):
        left, bottom, right, top = inked_box_mm(data, number, dpi=254.0)
        assert min(left, bottom, width - right, height - top) >= MARGIN_MM - 0.101
        landscape = width > height
        makes = printer.makes(landscape=landscape)
        (ring,) = [p for p in pages[number] if p.closed and longest(p)[0] * makes[0] > 350]
        assert longest(ring)[0] * makes[0] == pytest.approx(400.0, abs=0.02)
        assert longest(ring)[1] * makes[1] == pytest.approx(400.0, abs=0.02)


def test_less_room_is_left_where_the_printer_draws_small():
    small = Printer("short", 0.985, 0.993)
    true, less = content_box("A4"), content_box("A4", printer=small)
    assert less.width_mm == pytest.approx(0.985 * 190.0)
    assert less.height_mm < true.height_mm
    assert page_size("A4", printer=Printer()) == (210.0, 297.0)


def test_a_corrected_sheet_says_so_on_every_page():
    words = SheetWords(corrected="for short: 98.50 % across, 99.30 % along")
    data = tiled_pdf([square(400.0)], title="t", made_on=DAY, printer=PRINTERS[1], words=words)
    texts = page_texts(data)
    assert len(texts) > 1
    assert all("for short: 98.50 % across" in text for text in texts)


def test_the_bars_are_as_long_as_they_say():
    lengths = {longest_of(stroke.points_mm) for stroke in calibration_bars().strokes}
    assert sorted(lengths)[-2:] == [ACROSS_MM, ALONG_MM]


def longest_of(points):
    xs, ys = zip(*points, strict=True)
    return max(max(xs) - min(xs), max(ys) - min(ys))


def test_measured_bars_make_a_printer():
    printer = printer_measured("p", 169.15, 210.84)
    assert printer.across == pytest.approx(0.995)
    assert printer.along == pytest.approx(1.004)
    assert not printer.is_true
    assert printer_measured("p", ACROSS_MM, ALONG_MM).is_true


@pytest.mark.parametrize(
    ("drawn", "put_on", "share"),
    # Source: ISO 216 and 8.5 x 11 in: 279.4 / 297 = 0.94074 and 210 / 215.9 = 0.97267.
    [("A4", "Letter", 279.4 / 297.0), ("Letter", "A4", 210.0 / 215.9)],
)
def test_a_page_fitted_on_the_other_paper_is_named(drawn, put_on, share):
    across, along = round(ACROSS_MM * share * 4) / 4, round(ALONG_MM * share * 4) / 4
    with pytest.raises(PatternError) as caught:
        printer_measured("p", across, along)
    assert caught.value.field == "across_mm"
    assert f"The page for {drawn} was fitted on {put_on} paper" in caught.value.text
    assert f"{100 * share:.2f} %" in caught.value.text


@pytest.mark.parametrize(
    ("across", "along", "field", "words"),
    [
        (165.0, 203.0, "across_mm", "to the printer's margins"),
        (170.0, 217.0, "along_mm", "scaled the page"),
        (1.7, 210.0, "across_mm", "misread"),
    ],
)
def test_a_scaled_page_is_refused_and_says_where(across, along, field, words):
    with pytest.raises(PatternError, match="Print the page again at 100 %") as caught:
        printer_measured("p", across, along)
    assert caught.value.field == field
    assert words in caught.value.text
