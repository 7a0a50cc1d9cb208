"""The last's cards, read back."""

from datetime import date

import pytest

from patterns.errors import PatternError
from patterns.foot import Foot
from patterns.last import build_last, wrapped
from patterns.last.cards import card_sections
from patterns.last.solid import mirrored_last
from tests.pdf_reading import drawn_paths, inked_box_mm, page_sizes_mm, page_texts
from workshop.documents.heading import SheetHeading
from workshop.documents.last_sheet import last_sheet_pdf

DAY = date(2026, 3, 14)
SIZES = {"card_thickness_mm": 1.0, "spacing_mm": 9.0}


@pytest.fixture(scope="module")
def last():
    return build_last(Foot("Wren", {"foot_length": 75.0}), top_mm=60.0)


@pytest.fixture(scope="module", params=["A4", "Letter"])
def sheet(request, last):
    heading = SheetHeading(doll="Wren")
    return last_sheet_pdf(last, **SIZES, heading=heading, made_on=DAY, paper=request.param)


def test_every_card_is_drawn_once_at_true_scale(sheet, last):
    cards = card_sections(last, **SIZES).pieces
    cuts = [p for page in drawn_paths(sheet) for p in page if p.closed and 0.49 < p.width_mm < 0.51]
    assert len(cuts) == len(cards)

    def size(points) -> tuple[float, float]:
        spans = [max(v) - min(v) for v in zip(*points, strict=True)]
        return tuple(round(span, 1) for span in sorted(spans))

    wanted = sorted(size(card.cut_mm) for card in cards)
    found = sorted(size(path.points_mm) for path in cuts)
    for one, other in zip(wanted, found, strict=True):
        assert one == pytest.approx(other, abs=0.11)


def test_it_says_foot_wrap_card_and_how_it_goes_together(sheet, last):
    said = " ".join(" ".join(page_texts(sheet)).split())
    for words in ("left foot, bare, without any wrap", "Card 1 mm thick", "9 mm apart", "Wren",
                  "lengthwise card", "cross card 1", "sharp blade", "14 March 2026"):  # fmt: skip
        assert words in said
    other = mirrored_last(wrapped(last, 0.8))
    grown = last_sheet_pdf(other, **SIZES, heading=SheetHeading(), made_on=DAY)
    said = " ".join(" ".join(page_texts(grown)).split())
    assert "right foot, with a wrap of 0.80 mm all round" in said


def test_nothing_is_drawn_in_the_margin(sheet):
    for number, (width, height) in enumerate(page_sizes_mm(sheet)):
        left, bottom, right, top = inked_box_mm(sheet, number, dpi=254.0)
        assert min(left, bottom, width - right, height - top) >= 9.9


def test_the_same_last_gives_the_same_bytes(last):
    first, second = (
        last_sheet_pdf(last, **SIZES, heading=SheetHeading(), made_on=DAY) for _ in range(2)
    )
    assert first == second


def test_card_that_cannot_be_slotted_is_refused(last):
    with pytest.raises(PatternError):
        last_sheet_pdf(
            last, card_thickness_mm=4.0, spacing_mm=5.0, heading=SheetHeading(), made_on=DAY
        )
