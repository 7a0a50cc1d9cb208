"""The layout over tiles at true scale, read back."""

from datetime import date

import pytest
from shapely.geometry import Polygon

from tests.drawn_samples import boot, hide, laid_out
from tests.pdf_reading import drawn_paths, inked_box_mm, page_sizes_mm, page_texts
from workshop.documents.heading import SheetHeading
from workshop.documents.layout_tiles import layout_tiles_pdf

DAY = date(2026, 3, 14)
HEADING = SheetHeading("Workshop of the tests", "Test doll", "Lace-up ankle boot")
FLESH, GRAIN = "FLESH SIDE UP", "GRAIN SIDE UP"


def make(**more):
    request, layout = laid_out()
    return layout_tiles_pdf(
        request, layout, heading=HEADING, made_on=DAY, pieces=boot().pieces, **more
    )


@pytest.fixture(scope="module")
def grain():
    return make()


@pytest.fixture(scope="module")
def flesh():
    return make(flesh_up=True, paper="Letter")


def test_everything_is_drawn_at_true_scale(grain):
    areas = [
        Polygon(path.points_mm).area
        for page in drawn_paths(grain)[1:]
        for path in page
        if path.closed and len(path.points_mm) > 3
    ]
    hide_mm2 = Polygon(hide().outline_mm).area
    assert any(area == pytest.approx(hide_mm2, rel=1e-3) for area in areas)


def test_every_page_has_the_bar_of_100_mm(grain, flesh):
    # Source: 100 mm is 283.465 pt at 72 points an inch of 25.4 mm; read back here in mm.
    for data in (grain, flesh):
        for page in drawn_paths(data):
            spans = [
                abs(path.points_mm[-1][0] - path.points_mm[0][0])
                for path in page
                if len(path.points_mm) == 2
                and path.points_mm[0][1] == pytest.approx(path.points_mm[1][1])
            ]
            assert any(span == pytest.approx(100.0, abs=1e-3) for span in spans)


def test_the_face_is_said_on_every_page(grain, flesh):
    assert all(GRAIN in text and FLESH not in text for text in page_texts(grain))
    assert all(FLESH in text and GRAIN not in text for text in page_texts(flesh))


def test_turned_over_the_pieces_are_the_mirror_image(grain, flesh):
    def widest(data):
        rings = [
            path.points_mm
            for page in drawn_paths(data)[1:]
            for path in page
            if path.closed and len(path.points_mm) > 8
        ]
        return max((Polygon(ring) for ring in rings), key=lambda shape: shape.area)

    one, two = widest(grain), widest(flesh)
    assert one.area == pytest.approx(two.area, rel=1e-4)

    def off_middle(shape):
        left, _bottom, right, _top = shape.bounds
        return shape.centroid.x - (left + right) / 2.0

    assert abs(off_middle(one)) > 0.1
    assert off_middle(one) == pytest.approx(-off_middle(two), abs=0.01)


def test_tiles_are_lettered_and_joined_and_nothing_is_in_the_margin(grain):
    texts = page_texts(grain)
    assert len(texts) > 2
    assert f"sheet B of {len(texts) - 1}; join at the crosses" in texts[2]
    for number, (width, height) in enumerate(page_sizes_mm(grain)):
        left, bottom, right, top = inked_box_mm(grain, number, dpi=127.0)
        assert min(left, bottom, width - right, height - top) >= 9.8


def test_the_same_input_gives_the_same_bytes(grain):
    assert make() == grain
