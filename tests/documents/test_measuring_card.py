"""The measuring card as a paper and as text."""

from datetime import date
from itertools import pairwise

import pytest

from patterns.foot import MEASURES
from tests.pdf_reading import drawn_paths, page_sizes_mm, page_texts
from workshop.documents.heading import SheetHeading
from workshop.documents.measuring_card import (
    MAIL_COLUMNS,
    card_entries,
    measuring_card_pdf,
    measuring_card_text,
)

DAY = date(2026, 3, 14)
HEADING = SheetHeading("Workshop of the tests", "Test doll")


@pytest.fixture(scope="module", params=["A4", "Letter"])
def card(request):
    return measuring_card_pdf(
        heading=HEADING, made_on=DAY, reply_to="post@boots.example", paper=request.param
    )


def flat(text: str) -> str:
    return " ".join(text.split())


def test_every_measure_is_asked_on_the_first_page_with_its_help(card):
    text = flat(page_texts(card)[0])
    for measure in MEASURES:
        assert measure.label in text
        assert flat(measure.help_text) in text
    assert "post@boots.example" in text


def test_card_has_one_page_of_measures_and_one_of_squares(card):
    assert len(page_sizes_mm(card)) == 2
    assert "Draw round the foot" in page_texts(card)[1]


def test_squares_are_10_mm_and_the_bar_is_100_mm(card):
    lines = [path.points_mm for path in drawn_paths(card)[1] if len(path.points_mm) == 2]
    upright = sorted({round(a[0], 2) for a, b in lines if a[0] == pytest.approx(b[0], abs=1e-3)
                      and abs(a[1] - b[1]) > 100})  # fmt: skip
    gaps = {round(right - left, 1) for left, right in pairwise(upright)}
    assert gaps == {10.0}
    level = [abs(a[0] - b[0]) for a, b in lines if a[1] == pytest.approx(b[1], abs=1e-3)]
    assert any(length == pytest.approx(100.0, abs=0.05) for length in level)


def test_each_entry_has_a_drawing_of_its_own():
    drawings = [entry.drawing for entry in card_entries()]
    assert len(set(drawings)) == len(MEASURES)
    assert all(drawing.startswith("<svg") for drawing in drawings)


def test_text_has_a_line_to_fill_in_for_every_measure():
    text = measuring_card_text(heading=HEADING, reply_to="post@boots.example")
    for measure in MEASURES:
        assert f"{measure.label} (mm): ______" in text
    assert all(len(line) <= MAIL_COLUMNS for line in text.splitlines())
    assert "post@boots.example" in text


def test_same_card_gives_the_same_bytes():
    one, two = (measuring_card_pdf(heading=HEADING, made_on=DAY) for _ in range(2))
    assert one == two
