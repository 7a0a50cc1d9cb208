"""Every paper and file of a job and of a quote, asked for by its address and read back."""

import re
from io import BytesIO, StringIO
from xml.etree import ElementTree

import ezdxf
import pypdf
import pytest
from django.utils.html import escape

from tests.pdf_reading import page_sizes_mm, page_texts
from tests.workshop.fixtures_quotes import lay_out_now
from workshop.models import Customer, Doll, WorkshopProfile
from workshop.paper_values import paper_of
from workshop.services import quoting
from workshop.services.quoting import work_out
from workshop.services.styles import style_version_make

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

SIZES_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
SVG = "{http://www.w3.org/2000/svg}"


def job_paper(choice, name):
    return f"/jobs/{choice.commission.pk}/{name}/"


def quote_paper(quote, name):
    return f"/quotes/{quote.pk}/{name}"


def pdf(client, address, **query):
    answer = client.get(address, query)
    assert answer.status_code == 200, address
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.headers["Content-Disposition"].startswith('inline; filename="')
    return answer.content


def words(content):
    return " ".join(" ".join(page_texts(content)).replace("\u00a0", " ").split())


def title(content):
    return pypdf.PdfReader(BytesIO(content)).metadata.title


def money_in(text):
    return set(re.findall(r"(\d+\.\d\d) EUR", text.replace("\u00a0", " ")))


def test_the_breakdown_has_every_line_and_the_total_shown(owner_client, choice):
    worked = work_out(choice)
    content = pdf(owner_client, job_paper(choice, "breakdown"))
    text = words(content)
    for line in worked.breakdown.lines:
        assert f"{line.name} {line.how} {line.amount}" in text
    page = owner_client.get(f"/jobs/{choice.commission.pk}/?station=price").content.decode()
    shown = re.search(r'class="price">([\d.]+) EUR<', page).group(1)
    assert shown == str(worked.breakdown.price)
    assert f"= {shown}" in text
    assert choice.commission.code in title(content)


def test_the_papers_of_a_quote_say_what_its_page_says(owner_client, quote):
    page = owner_client.get(quote_paper(quote, "")).content.decode()
    assert quote.shown_price in page
    breakdown = words(pdf(owner_client, quote_paper(quote, "breakdown/")))
    for line in quote.snapshot["breakdown"]["lines"]:
        assert f"{line['name']} {line['how']} {line['amount']}" in breakdown
    paper = pdf(owner_client, quote_paper(quote, "quote.pdf"))
    assert quote.code in title(paper)
    assert quote.shown_price in words(paper)


def test_paper_and_mail_of_a_quote_carry_the_same_figures(owner_client, quote):
    link = re.search(
        r"http://testserver(/q/[^\"/]*/)",
        str(owner_client.get(quote_paper(quote, "")).content.decode()),
    ).group(0)
    text = paper_of(quote, link=link).text
    paper = words(pdf(owner_client, quote_paper(quote, "quote.pdf")))
    assert money_in(text)
    assert money_in(paper) == money_in(text)
    assert quote.shown_price.split()[0] in money_in(text)
    for part in (quote.code, quote.commission.doll.name, quote.commission.customer.name):
        assert part in paper
        assert part in text
    assert link in paper.replace(" ", "")
    assert link in text


def test_the_cutting_sheet_names_job_doll_and_every_piece(owner_client, choice):
    content = pdf(owner_client, job_paper(choice, "cutting-sheet"))
    text = words(content)
    for piece in work_out(choice).pieces.pieces:
        assert piece.name in text
    for part in (choice.commission.code, choice.commission.doll.name):
        assert part in title(content)
    page = owner_client.get(f"/jobs/{choice.commission.pk}/").content.decode()
    assert f"{len(page_texts(content))} sheets" in page


def test_a_quotes_sheet_comes_from_the_outlines_it_keeps(
    owner_client, choice, quote, owner, monkeypatch
):
    before = owner_client.get(quote_paper(quote, "cutting-sheet/")).content
    style_version_make(
        choice.style.style,
        values={"boot_height_mm": 70.0, "eyelet_count": 3},
        reason="higher",
        by=owner,
    )
    Doll.objects.filter(pk=choice.foot.doll_id).update(material="vinyl")

    def nothing_is_drafted(*_arguments, **_options):
        raise AssertionError("a quote's sheet was drafted anew")

    monkeypatch.setattr(quoting, "drafted", nothing_is_drafted)
    monkeypatch.setattr(quoting, "asked_of", nothing_is_drafted)
    assert owner_client.get(quote_paper(quote, "cutting-sheet/")).content == before
    assert quote.code in title(before)


@pytest.mark.parametrize("size", SIZES_MM)
def test_papers_come_in_the_size_asked_for(owner_client, choice, quote, owner, size):
    lay_out_now(choice, owner)
    addresses = [
        job_paper(choice, "cutting-sheet"),
        job_paper(choice, "layout-sheet"),
        job_paper(choice, "mock-up"),
        job_paper(choice, "breakdown"),
        f"/dolls/{choice.foot.doll_id}/measuring-card/",
        quote_paper(quote, "cutting-sheet/"),
        quote_paper(quote, "breakdown/"),
    ]
    for address in addresses:
        for found in page_sizes_mm(pdf(owner_client, address, paper=size)):
            assert sorted(found) == pytest.approx(sorted(SIZES_MM[size]), abs=0.1), address


def test_without_a_size_the_workshops_own_paper_is_taken(owner_client, choice):
    WorkshopProfile.current()
    WorkshopProfile.objects.update(paper="Letter")
    for query in ({}, {"paper": "A0"}):
        (first, *_more) = page_sizes_mm(
            pdf(owner_client, job_paper(choice, "cutting-sheet"), **query)
        )
        assert sorted(first) == pytest.approx(sorted(SIZES_MM["Letter"]), abs=0.1)


def test_the_hides_sheet_is_there_once_there_is_a_layout(owner_client, owner, choice):
    address = job_paper(choice, "layout-sheet")
    answer = owner_client.get(address, {"pairs": "1"})
    assert (answer.status_code, answer.headers["Location"]) == (
        302,
        f"/jobs/{choice.commission.pk}/?pairs=1",
    )
    assert "layout-sheet" not in owner_client.get(answer.headers["Location"]).content.decode()
    lay_out_now(choice, owner)
    page = owner_client.get(f"/jobs/{choice.commission.pk}/?station=paper").content.decode()
    assert "layout-sheet" in page
    content = pdf(owner_client, address)
    assert choice.hide.code in words(content)
    assert choice.commission.code in title(content)


@pytest.mark.parametrize("name", ["cutting-sheet/", "layout-sheet/", "breakdown/", "pieces.dxf"])
def test_a_paper_of_a_faulty_choice_leads_back_to_the_page_that_says_why(
    owner_client, choice, name
):
    address = f"/jobs/{choice.commission.pk}/{name}"
    for query in ({"boot_height_mm": "abc"}, {"boot_height_mm": "-5"}, {"foot": "987654"}):
        answer = owner_client.get(address, query, follow=True)
        assert answer.redirect_chain
        assert 'class="faults"' in answer.content.decode()


def test_the_svg_is_as_large_as_it_is_drawn(owner_client, choice):
    content = owner_client.get(f"/jobs/{choice.commission.pk}/pieces.svg").content
    root = ElementTree.fromstring(content)
    assert root.tag == f"{SVG}svg"
    _left, _top, width, height = (float(word) for word in root.get("viewBox").split())
    assert float(root.get("width").removesuffix("mm")) == width
    assert float(root.get("height").removesuffix("mm")) == height
    drawn = {text.text for text in root.iter(f"{SVG}text")}
    for piece in work_out(choice).pieces.pieces:
        assert any(piece.name in (text or "") for text in drawn)


def test_the_dxf_opens_and_holds_the_pieces_at_their_size(owner_client, choice):
    content = owner_client.get(f"/jobs/{choice.commission.pk}/pieces.dxf").content
    document = ezdxf.read(StringIO(content.decode()))
    assert not document.audit().has_errors
    assert document.header["$INSUNITS"] == 4  # published DXF Reference, HEADER: 4 is millimetres
    longest = max(
        max(x for x, _y in piece.cut_mm) - min(x for x, _y in piece.cut_mm)
        for piece in work_out(choice).pieces.pieces
    )
    widths = []
    for line in document.modelspace().query("LWPOLYLINE"):
        xs = [point[0] for point in line.get_points()]
        widths.append(max(xs) - min(xs))
    assert max(widths) == pytest.approx(longest, abs=0.001)


# Names of the doll, the customer and the workshop.
ODD_NAMES = {
    "marks": ('O\'Nest "the <b>small</b>" & sons', "Fay 🧚‍♀️ Moss", "{{ 7|add:7 }} {% now 'Y' %}"),
    "long": ("A very long name " * 6, "عروسة صغيرة", "../../etc; rm -rf\r\n/"),
}


@pytest.mark.parametrize("kind", ODD_NAMES)
def test_odd_names_break_no_page_paper_or_file(owner_client, owner, choice, quote, kind):
    doll, customer, workshop = ODD_NAMES[kind]
    Doll.objects.filter(pk=choice.foot.doll_id).update(name=doll)
    Customer.objects.filter(pk=choice.commission.customer_id).update(name=customer)
    WorkshopProfile.current()
    WorkshopProfile.objects.update(name=workshop)
    lay_out_now(choice, owner)
    for address in (
        job_paper(choice, "cutting-sheet"),
        job_paper(choice, "layout-sheet"),
        job_paper(choice, "mock-up"),
        job_paper(choice, "breakdown"),
        f"/dolls/{choice.foot.doll_id}/measuring-card/",
        quote_paper(quote, "quote.pdf"),
    ):
        assert page_texts(pdf(owner_client, address)), address
    for ending in ("svg", "dxf", "json"):
        answer = owner_client.get(f"/jobs/{choice.commission.pk}/pieces.{ending}")
        assert answer.status_code == 200
        assert answer.headers["Content-Disposition"].endswith(f'-pieces.{ending}"')
    for address in ("/", "/jobs/", f"/jobs/{choice.commission.pk}/", quote_paper(quote, "")):
        page = owner_client.get(address).content.decode()
        assert escape(doll.strip()) in page or escape(doll) in page, address
        assert "<b>small" not in page
    assert doll.split()[0] in words(pdf(owner_client, job_paper(choice, "cutting-sheet")))
