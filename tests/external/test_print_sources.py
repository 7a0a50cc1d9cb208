"""What papers and files promise about scale, against the standards that say so."""

from datetime import date
from io import BytesIO

import cairosvg
import pypdf
import pytest
from PIL import Image

from patterns.drawing.drawing import PENS, Drawing, Stroke
from patterns.drawing.paper import PAPER_SIZES_MM
from patterns.drawing.sheets import tiled_pdf
from patterns.drawing.svg import drawing_svg
from patterns.units import mm_to_points
from tests.pdf_reading import drawn_paths

pytestmark = pytest.mark.external

DAY = date(2026, 3, 14)


def test_100_mm_are_283_4646_points():
    # Source: PDF user space unit is 1/72 inch, ISO 32000-1; 1 inch = 25.4 mm: 100 / 25.4 x 72.
    assert mm_to_points(100.0) == pytest.approx(283.4646, abs=5e-5)


@pytest.mark.parametrize(
    ("paper", "points"),
    [
        # Source: A4 210 x 297 mm, ISO 216; at 72 / 25.4 points a mm.
        ("A4", (595.2756, 841.8898)),
        # Source: US Letter 8.5 x 11 inches; at 72 points an inch.
        ("Letter", (612.0, 792.0)),
    ],
)
def test_pages_measure_what_their_standard_says(paper, points):
    square = Drawing((Stroke(((0, 0), (9, 0), (9, 9), (0, 9)), "cut", closed=True),))
    data = tiled_pdf([square], paper=paper, title="square", made_on=DAY)
    box = pypdf.PdfReader(BytesIO(data)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(points, abs=1e-3)
    assert "/UserUnit" not in pypdf.PdfReader(BytesIO(data)).pages[0]


def shown_when_fitted_mm(length_mm: float, made_for: str, printed_on: str) -> float:
    """Return a length after a print dialogue fitted the page to another paper."""
    from_width, from_height = PAPER_SIZES_MM[made_for]
    to_width, to_height = PAPER_SIZES_MM[printed_on]
    return length_mm * min(to_width / from_width, to_height / from_height)


def bar_length_mm(paper: str) -> float:
    square = Drawing((Stroke(((0, 0), (9, 0), (9, 9), (0, 9)), "cut", closed=True),))
    (page,) = drawn_paths(tiled_pdf([square], paper=paper, title="square", made_on=DAY))
    return max(
        path.points_mm[1][0] - path.points_mm[0][0]
        for path in page
        if len(path.points_mm) == 2 and path.points_mm[0][1] < 20.0
    )


def test_the_bar_shows_an_a4_sheet_shrunk_to_letter():
    # Source: derived from the paper sizes of ISO 216 and 8.5 x 11 in: 279.4 / 297 = 0.940741.
    shrunk = shown_when_fitted_mm(bar_length_mm("A4"), "A4", "Letter")
    assert shrunk == pytest.approx(94.07, abs=0.05)


def test_the_bar_shows_a_letter_sheet_shrunk_to_a4():
    # Source: derived from the same sizes: 210 / 215.9 = 0.972673.
    shrunk = shown_when_fitted_mm(bar_length_mm("Letter"), "Letter", "A4")
    assert shrunk == pytest.approx(97.27, abs=0.05)


def test_a_published_shrink_figure_agrees_within_its_rounding():
    # Source: as8.it/grafica/Letter-A4.html gives 94.064 %, rounded from sizes in points.
    assert shown_when_fitted_mm(100.0, "A4", "Letter") == pytest.approx(94.064, abs=0.02)


def test_svg_size_in_mm_is_100_mm_at_96_pixels_an_inch():
    # Source: CSS Values and Units: 1 in = 96 px = 25.4 mm, so 100 mm = 377.9528 px.
    svg = drawing_svg(Drawing((Stroke(((0, 0), (98, 0)), "cut"),)), title="", margin_mm=0.75)
    assert 'width="100mm"' in svg
    png = cairosvg.svg2png(bytestring=svg.encode(), dpi=96)
    assert Image.open(BytesIO(png)).width == pytest.approx(377.9528, abs=1.0)


def test_pens_are_of_the_standard_series_two_to_one():
    # Source: ISO 128-2:2022: widths 0.25 0.35 0.5 0.7 1.0 1.4 2.0 mm, wide to narrow 2 : 1.
    series = {0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0}
    assert {pen.width_mm for pen in PENS.values()} <= series
    assert PENS["cut"].width_mm == 2 * PENS["net"].width_mm
    assert PENS["measure"].width_mm == 2 * PENS["contour"].width_mm
    assert PENS["contour"].width_mm == 2 * PENS["detail"].width_mm


def test_cut_and_net_lines_are_continuous_and_fold_is_dash_dot():
    # Source: ISO 128-2:2022: 01.1 continuous narrow, 01.2 continuous wide, dash-dot for folds.
    assert PENS["cut"].dashes_mm == ()
    assert PENS["net"].dashes_mm == ()
    long_dash, gap, dot, second_gap = PENS["fold"].dashes_mm
    assert long_dash > gap > dot
    assert gap == second_gap
