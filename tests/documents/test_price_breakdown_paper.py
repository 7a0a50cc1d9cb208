"""The price breakdown as a paper, read back."""

import json
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from io import BytesIO

import pypdf
import pytest

from costing.job_file import job_from_document
from costing.price import price_job, profit_at_price
from tests.pdf_reading import page_sizes_mm, page_texts
from workshop.documents.heading import SheetHeading, amount_words
from workshop.documents.price_breakdown import (
    BAR_MM,
    line_groups,
    price_breakdown_pdf,
    price_parts,
    profit_words,
    whole_percents,
)

DAY = date(2026, 3, 14)
HEADING = SheetHeading("Workshop of the tests", "Test doll", "Lace-up ankle boot", "", "Q-0001-1")
JOB = """{"currency": "EUR", "quantity": 2,
 "materials": [{"name": "goat leather", "quantity": "2.8", "unit": "dm2", "unit_cost": "1.15",
   "waste_pct": "30"},
  {"name": "eyelets <b>&", "quantity": "24", "unit": "piece", "unit_cost": "0.05",
   "waste_pct": "4"}],
 "steps": [{"name": "drafting", "minutes": "30", "per": "order", "passive": false},
  {"name": "sewing", "minutes": "95", "per": "pair", "passive": false},
  {"name": "drying", "minutes": "180", "per": "pair", "passive": true}],
 "labour_rate_per_hour": "16.00", "overhead": {"per_active_hour": "3.50", "pct_of_direct": "0"},
 "fees": {"pct": "6.5", "fixed": "0.30", "on": "price_with_tax"},
 "tax": {"pct": "20", "included": true}, "profit": {"kind": "margin", "pct": "25"},
 "round_up_to": "0.50"}"""


@pytest.fixture(scope="module")
def job():
    return job_from_document(json.loads(JOB))


@pytest.fixture(scope="module")
def breakdown(job):
    return price_job(job)


@pytest.fixture(scope="module")
def paper(breakdown):
    return price_breakdown_pdf(breakdown, heading=HEADING, made_on=DAY)


def flat(data: bytes) -> str:
    return " ".join(" ".join(page_texts(data)).split())


def test_every_line_is_there_with_its_amount_and_its_how(paper, breakdown):
    text = flat(paper)
    for line in breakdown.lines:
        assert f"{line.name} {line.how} {amount_words(line.amount)}" in text


def test_amounts_of_the_groups_add_up_to_the_cost_shown(paper, breakdown):
    groups = line_groups(breakdown)
    assert sum(group.total for group in groups) == breakdown.cost
    assert f"Full cost the sum of the lines above = {breakdown.cost}" in flat(paper)


def test_parts_add_up_to_the_price_and_fill_the_bar(breakdown):
    parts = price_parts(breakdown)
    assert sum(part.amount for part in parts) == breakdown.price
    assert sum(part.width_mm for part in parts) == pytest.approx(BAR_MM)
    assert sum(part.percent for part in parts) == 100
    assert len({part.letter for part in parts}) == len(parts)


def test_the_proof_printed_is_true(paper):
    found = re.search(
        r"([\d.]+) cost \+ ([\d.]+) fees \+ ([\d.-]+) profit \+ ([\d.]+) tax = ([\d.]+)",
        flat(paper),
    )
    *parts, price = (Decimal(value) for value in found.groups())
    assert sum(parts) == price


def test_profit_is_said_of_the_price_and_on_the_cost(paper):
    assert "% of the price without tax" in flat(paper)
    assert "% on cost" in flat(paper)


def test_a_loss_is_called_a_loss_and_leaves_the_bar(job):
    loss = profit_at_price(job, Decimal("30.00"))
    assert loss.profit < 0
    assert "loss" in profit_words(loss)
    assert "Profit" not in {part.name for part in price_parts(loss)}
    assert str(loss.profit) in flat(price_breakdown_pdf(loss, heading=HEADING, made_on=DAY))


def test_paper_is_true_scale_titled_and_dated(paper):
    reader = pypdf.PdfReader(BytesIO(paper))
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert reader.metadata.title == "How the price is made · Q-0001-1"
    assert reader.metadata.creation_date.date() == DAY


def test_only_our_fonts_are_in_it_and_embedded(paper):
    reader = pypdf.PdfReader(BytesIO(paper))
    fonts = [f.get_object() for f in reader.pages[0]["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        assert "+Workshop" in font["/BaseFont"]
        descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        assert any(key in descriptor for key in ("/FontFile2", "/FontFile3"))


@pytest.mark.parametrize(("size", "mm"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_page_size_is_as_asked(breakdown, size, mm):
    data = price_breakdown_pdf(breakdown, heading=HEADING, made_on=DAY, paper=size)
    assert page_sizes_mm(data)[0] == pytest.approx(mm, abs=0.05)


def test_same_input_gives_the_same_bytes(breakdown, paper):
    assert price_breakdown_pdf(breakdown, heading=HEADING, made_on=DAY) == paper


def test_a_hostile_heading_is_only_text(breakdown):
    heading = replace(
        HEADING, doll="<script>x</script> {{ 7 }}", workshop='"; } body { display:none'
    )
    text = flat(price_breakdown_pdf(breakdown, heading=heading, made_on=DAY))
    assert "<script>x</script> {{ 7 }}" in text
    assert "How the price is made" in text


def test_whole_percents_add_up_to_a_hundred():
    assert sum(whole_percents([Decimal("0.01")] * 7)) == 100
    assert whole_percents([]) == ()


def test_large_amounts_are_grouped_by_a_space():
    # Source: SI Brochure, 9th edition, 5.4.4: groups of three by a space; four digits need none.
    assert amount_words(Decimal("1234.50")) == "1234.50"
    assert amount_words(Decimal("12345.60")) == "12\u00a0345.60"
