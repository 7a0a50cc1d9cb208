"""The quote as a paper and as text: both say the same."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from io import BytesIO

import pypdf
import pytest

from patterns.drawing.foot import draw_foot
from patterns.drawing.pieces import draw_piece, draw_piece_set
from tests.drawn_samples import boot, toe_box
from tests.pdf_reading import page_texts
from workshop.documents.quote_paper import (
    MAIL_COLUMNS,
    QuotePaper,
    accept_words,
    quote_pdf,
    quote_text,
    usual_cautions,
)

QUOTE = QuotePaper(
    workshop="Workshop of the tests",
    code="Q-0001-1",
    made_on=date(2026, 3, 14),
    valid_until=date(2026, 4, 14),
    greeting="Dear test customer",
    doll="Test doll",
    style="Lace-up ankle boot",
    included=("one pair in black goat leather, lined", "twelve eyelets and two laces"),
    currency="EUR",
    pair_count=2,
    price_per_pair=Decimal("75.00"),
    price=Decimal("156.50"),
    tax=Decimal("26.08"),
    tax_percent=Decimal("20.0"),
    tax_name="VAT",
    extra_lines=(("parcel", Decimal("6.50")),),
    accept_link="https://boots.example/q/9f2c1ab07de4/",
    contact="post@boots.example",
)


def flat(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())


@pytest.fixture(scope="module")
def both():
    return flat(" ".join(page_texts(quote_pdf(QUOTE)))), flat(quote_text(QUOTE))


@pytest.mark.parametrize(
    "part",
    [
        "Q-0001-1", "14 March 2026", "14 April 2026", "Dear test customer,", "Test doll",
        "Lace-up ankle boot", "one pair in black goat leather, lined", "75.00 EUR", "6.50 EUR",
        "2 pairs, total", "156.50 EUR", "The total includes 20 % VAT: 26.08 EUR.",
        "https://boots.example/q/9f2c1ab07de4/", "post@boots.example",
    ],
)  # fmt: skip
def test_paper_and_text_both_say(both, part):
    assert part in both[0]
    assert part in both[1]


def test_cautions_tell_of_small_parts_toys_and_colour(both):
    said = " ".join(usual_cautions())
    for part in ("under 3", "toy", "rub off", "swallowed"):
        assert part in said
    for caution in usual_cautions():
        assert flat(caution) in both[0]
        assert flat(caution) in both[1]


def test_own_cautions_take_the_place_of_the_usual_ones():
    quote = replace(QUOTE, cautions=("Assessed as a toy for 3 years and over.",))
    text = quote_text(quote)
    assert "Assessed as a toy for 3 years and over." in text
    assert "collector's doll" not in text


def test_text_lines_fit_a_mail_and_amounts_end_in_one_column():
    lines = quote_text(replace(QUOTE, note="Ready in three weeks. " * 12)).splitlines()
    assert all(len(line) <= MAIL_COLUMNS or "https://" in line for line in lines)
    priced = [line for line in lines if line.endswith("\u00a0EUR")]
    assert len(priced) == 3
    assert len({len(line) for line in priced}) == 1


def test_without_a_link_the_customer_answers_with_the_code():
    assert accept_words(replace(QUOTE, accept_link="")) == (
        "To accept, answer this letter by 14 April 2026 and name quote Q-0001-1."
    )


def test_no_tax_is_said_plainly():
    assert "No tax is added." in quote_text(replace(QUOTE, tax=Decimal("0.00")))


def test_drawing_is_on_the_paper_as_lines():
    with_drawing = quote_pdf(replace(QUOTE, drawing=draw_foot(), drawing_caption="Where it sits"))
    assert len(with_drawing) > len(quote_pdf(QUOTE)) + 2000
    assert "Where it sits" in flat(" ".join(page_texts(with_drawing)))


def test_a_hostile_quote_is_only_text():
    evil = '</style><script>x</script>"; } * { display: none }\\'
    quote = replace(QUOTE, code=evil, doll=evil, greeting=evil, included=(evil,), note=evil)
    text = flat(" ".join(page_texts(quote_pdf(quote))))
    assert text.count("<script>x</script>") >= 5
    assert "156.50 EUR" in text


def test_same_quote_gives_the_same_bytes():
    one, two = quote_pdf(QUOTE, document_id=b"1"), quote_pdf(QUOTE, document_id=b"1")
    assert one == two


def test_paper_asks_not_to_be_scaled_and_carries_its_title():
    reader = pypdf.PdfReader(BytesIO(quote_pdf(QUOTE)))
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert reader.metadata.title == "Quote Q-0001-1"


def test_words_too_small_to_read_are_left_off_the_drawing():
    small = flat(" ".join(page_texts(quote_pdf(replace(QUOTE, drawing=draw_piece_set(boot()))))))
    large = replace(QUOTE, drawing=draw_piece(toe_box()))
    assert "grain side up" not in small
    assert "grain side up" in flat(" ".join(page_texts(quote_pdf(large))))
