"""Who sees what of a job: a helper no amount and no contact data, in no page, paper or file."""

import re

import pytest

from tests.pdf_reading import page_texts
from tests.workshop.conftest import CONTACT
from tests.workshop.fixtures_quotes import lay_out_now
from workshop.services.quoting import work_out
from workshop.stations import STATIONS

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

# Whole words: a form's random token may hold any three letters.
MONEY_WORDS = r"\b(?:EUR|profit|labour|overhead|per hour|tax)\b"
LEAST_TELLING = 5
MONEY_KEYS = ("price", "amount", "currency", "cost")


@pytest.fixture
def laid_out(choice, owner, quote):
    """A job with a quote and a finished layout."""
    lay_out_now(choice, owner)
    return choice


def amounts_of(choice):
    """Return the amounts behind the price of a choice, as they would be written.

    Small ones are left out: an area in dm² on the page may happen to be the same figure.
    """
    worked = work_out(choice)
    parts = worked.breakdown
    amounts = {line.amount for line in parts.lines if line.amount}
    amounts |= {parts.cost, parts.fees, parts.profit, parts.tax, parts.price}
    amounts |= {parts.price_per_pair, choice.hide.cost}
    return {f"{amount:.2f}" for amount in amounts if amount >= LEAST_TELLING}


SHEETS = ("cutting-sheet", "layout-sheet", "layout-tiles", "mock-up")


def pages_of(choice):
    job = choice.commission
    return [
        "/",
        "/jobs/",
        f"/jobs/?q={job.code}",
        f"/jobs/{job.pk}/",
        *(f"/jobs/{job.pk}/?station={key}" for key in STATIONS),
        f"/jobs/{job.pk}/?station=leather&face=flesh",
        f"/jobs/{job.pk}/leather/",
        f"/jobs/{job.pk}/cut/",
        f"/jobs/{job.pk}/cut-list/",
        f"/hides/{choice.hide.pk}/",
        f"/jobs/{job.pk}/corrections/{choice.style.style_id}/new/",
        f"/styles/{choice.style.style_id}/",
        "/styles/",
    ]


def papers_of(choice):
    """Return the address of each paper a helper may print, and a code that stands on it."""
    job, doll = choice.commission, choice.foot.doll
    sheets = [f"/jobs/{job.pk}/{name}/" for name in SHEETS]
    return [
        (f"/hides/{choice.hide.pk}/label/", choice.hide.code),
        *((sheet, job.code) for sheet in sheets),
        (f"/dolls/{doll.pk}/measuring-card/", doll.code),
    ]


def files_of(choice):
    folder = f"/jobs/{choice.commission.pk}"
    return [f"{folder}/pieces.{kind}" for kind in ("svg", "dxf", "json")]


def told(amounts, text):
    """Return the amounts that stand in a text as a number of their own."""
    return {
        amount for amount in amounts if re.search(rf"(?<![\d.]){re.escape(amount)}(?!\d)", text)
    }


def without_coordinates(text):
    """Return a page or an SVG with the drawings' words alone: a length may equal an amount."""
    return re.sub(
        r"<svg.*?</svg>",
        lambda drawing: re.sub(r"<[^>]*>", " ", drawing.group()),
        text,
        flags=re.DOTALL,
    )


def assert_nothing_private(text, amounts, where):
    assert not told(amounts, text), where
    assert not [said for said in CONTACT.values() if said in text], where


def test_a_helper_reads_no_amount_and_no_contact_on_any_page(client, helper, laid_out):
    amounts = amounts_of(laid_out)
    client.force_login(helper)
    work = work_out(laid_out, with_money=False).layout_work
    for address in (*pages_of(laid_out), f"/background/{work.pk}/"):
        for headers in ({}, {"HX-Request": "true"}):
            answer = client.get(address, headers=headers)
            assert answer.status_code in (200, 204), address
            page = without_coordinates(answer.content.decode())
            assert_nothing_private(page, amounts, address)
            assert not re.findall(MONEY_WORDS, page), address
            assert "station=price" not in page.replace(address, ""), address
            assert "/quotes/" not in page, address


def test_a_helper_reads_no_amount_and_no_contact_on_papers(client, helper, laid_out):
    amounts = amounts_of(laid_out)
    client.force_login(helper)
    for address, code in papers_of(laid_out):
        answer = client.get(address)
        assert answer.headers["Content-Type"] == "application/pdf", address
        text = " ".join(page_texts(answer.content))
        assert code in text
        assert_nothing_private(text, amounts, address)
        assert "EUR" not in text, address


def test_a_helper_reads_no_amount_and_no_contact_in_files(client, helper, laid_out):
    amounts = amounts_of(laid_out)
    client.force_login(helper)
    for address in files_of(laid_out):
        answer = client.get(address)
        assert answer.status_code == 200, address
        assert answer.headers["Content-Disposition"].startswith("attachment")
        text = without_coordinates(answer.content.decode())
        assert_nothing_private(text, amounts, address)
        assert not [key for key in MONEY_KEYS if f'"{key}' in text], address


def test_a_helper_gets_no_paper_of_money(client, helper, laid_out, quote):
    client.force_login(helper)
    for address in (
        f"/jobs/{laid_out.commission.pk}/breakdown/",
        f"/quotes/{quote.pk}/",
        f"/quotes/{quote.pk}/quote.pdf",
        f"/quotes/{quote.pk}/breakdown/",
    ):
        assert client.get(address).status_code == 403, address


@pytest.mark.parametrize("role", ["owner", "bookkeeper"])
def test_those_who_may_do_see_the_amounts(client, request, role, laid_out):
    # The tests above would pass on empty pages; this one shows that the amounts do come out.
    client.force_login(request.getfixturevalue(role))
    amounts = amounts_of(laid_out)
    page = client.get(f"/jobs/{laid_out.commission.pk}/?station=price").content.decode()
    paper = client.get(f"/jobs/{laid_out.commission.pk}/breakdown/").content
    hide_cost = f"{laid_out.hide.cost:.2f}"
    assert told(amounts, page) >= amounts - {hide_cost}
    assert told(amounts, " ".join(page_texts(paper))) >= amounts - {hide_cost}


def test_a_bookkeeper_sees_the_quote_and_no_button(client, bookkeeper, laid_out, quote):
    client.force_login(bookkeeper)
    for address in (f"/quotes/{quote.pk}/", *pages_of(laid_out)):
        page = client.get(address).content.decode()
        forms = re.findall(r'<form[^>]*method="post"[^>]*action="([^"]*)"', page)
        forms += re.findall(r'<form[^>]*action="([^"]*)"[^>]*method="post"', page)
        assert set(forms) <= {"/logout/"}, address
    assert quote.shown_price in client.get(f"/quotes/{quote.pk}/").content.decode()


def test_a_bookkeeper_is_not_shown_the_link_that_accepts(client, bookkeeper, quote):
    client.force_login(bookkeeper)
    for address in (f"/quotes/{quote.pk}/", f"/jobs/{quote.commission_id}/"):
        assert "/q/" not in client.get(address).content.decode()
    paper = client.get(f"/quotes/{quote.pk}/quote.pdf").content
    assert "/q/" not in " ".join(page_texts(paper))
