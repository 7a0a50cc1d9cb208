"""The layout sheet, read back."""

from dataclasses import replace
from datetime import date

import pytest
from shapely.geometry import Polygon

from tests.drawn_samples import boot, hide, laid_out
from tests.pdf_reading import drawn_paths, inked_box_mm, page_sizes_mm, page_texts
from workshop.documents.heading import SheetHeading
from workshop.documents.layout_sheet import layout_pdf

DAY = date(2026, 3, 14)
HEADING = SheetHeading("Workshop of the tests", "Test doll", "Lace-up ankle boot")


def make(**more):
    request, layout = laid_out()
    return layout_pdf(request, layout, heading=HEADING, made_on=DAY, pieces=boot().pieces, **more)


def test_scale_said_is_the_scale_drawn():
    data = make()
    assert "scale 1 : 3" in page_texts(data)[0]
    areas = [
        Polygon(p.points_mm).area for p in drawn_paths(data)[0]
        if p.closed and 0.49 < p.width_mm < 0.51
    ]  # fmt: skip
    assert max(areas) == pytest.approx(Polygon(hide().outline_mm).area / 9, rel=1e-3)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_nothing_is_printed_in_the_margin(paper):
    data = make(paper=paper)
    for number, (width, height) in enumerate(page_sizes_mm(data)):
        left, bottom, right, top = inked_box_mm(data, number, dpi=254.0)
        assert min(left, bottom, width - right, height - top) >= 9.9


def test_figures_tell_pairs_area_and_share_used():
    text = page_texts(make())[0]
    layout = laid_out()[1]
    assert "1 pair" in text
    assert f"{layout.used_area_mm2 / 10_000:.2f} dm² used, {100 * layout.density:.0f} %" in text


def test_pieces_without_a_place_are_told():
    request, layout = laid_out()
    data = layout_pdf(request, replace(layout, requested=8), heading=HEADING, made_on=DAY)
    assert "2 of 8 pieces asked for found no place." in page_texts(data)[0]


def test_each_hide_has_a_page_of_its_own():
    request, layout = laid_out()
    both = replace(request, hides=(hide(), replace(hide(), id="H-0013")))
    texts = page_texts(layout_pdf(both, layout, heading=HEADING, made_on=DAY))
    assert ["H-0012" in texts[0], "H-0013" in texts[1]] == [True, True]


def test_same_input_gives_the_same_bytes():
    assert make() == make()
