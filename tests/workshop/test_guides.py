"""Guides by their addresses: of a job with its names, for sale without, of an article by size."""

from dataclasses import replace

import pytest

from patterns.pieces.piece import Message
from tests.pdf_reading import page_texts
from tests.workshop.fixtures_stock import make_lot
from workshop.models import Article, Doll
from workshop.services.for_sale import guide_add, pairs_add
from workshop.services.records import record_save
from workshop.views import papers

pytestmark = [pytest.mark.django_db, pytest.mark.paper]


def words(client, address):
    answer = client.get(address)
    assert answer.headers.get("Content-Type") == "application/pdf", answer.status_code
    return " ".join(" ".join(page_texts(answer.content)).split())


def test_a_jobs_guide_names_it_and_tells_no_money(helper, client, choice):
    client.force_login(helper)
    job = choice.commission
    said = words(client, f"/jobs/{job.pk}/guide/?hide={choice.hide.pk}&pairs=1")
    assert job.doll.name in said
    assert job.code in said
    assert "by hand" in said
    assert "upper leather" in said
    assert choice.hide.code not in said
    assert "EUR" not in said
    assert job.customer.name not in said


def test_a_jobs_guide_for_sale_has_no_names(owner_client, choice):
    job = choice.commission
    address = f"/jobs/{job.pk}/guide/?hide={choice.hide.pk}&pairs=1&for_sale=1&units=in"
    said = words(owner_client, address)
    for private in (job.doll.name, job.doll.code, job.code, job.customer.name):
        assert private not in said
    assert " yd" in said


@pytest.fixture
def house(foot_version, owner):
    doll = foot_version.doll  # nobody's: a house size
    doll.customer = None
    record_save(doll, by=owner)
    return foot_version


def test_an_articles_guide_is_for_its_size(
    owner_client, owner, house, style_version, supplies, rate_card
):
    (pair,) = pairs_add(style_version, [house], [make_lot(owner)], None, by=owner)
    guide = guide_add(
        Article(kind="guide", style=style_version, printing_cost=1, minutes=5), by=owner
    )
    sized = words(owner_client, f"/for-sale/{pair.pk}/guide/")
    asked = words(owner_client, f"/for-sale/{guide.pk}/guide/?foot={house.pk}")
    for said in (sized, asked):
        assert house.doll.name not in said
        assert style_version.style.name in said
    for wrong in ("", "?foot=x", "?foot=999999", f"?foot={'9' * 40}"):
        assert owner_client.get(f"/for-sale/{guide.pk}/guide/{wrong}").status_code == 404
    page = owner_client.get(f"/for-sale/{guide.pk}/").content.decode()
    assert f'<option value="{house.pk}">' in page


def test_without_a_size_the_page_says_so(owner_client, owner, style_version, rate_card):
    guide = guide_add(
        Article(kind="guide", style=style_version, printing_cost=1, minutes=5), by=owner
    )
    assert not Doll.objects.exists()
    assert "made for a house size" in owner_client.get(f"/for-sale/{guide.pk}/").content.decode()


def test_pieces_that_may_not_be_cut_make_no_guide(owner_client, choice, monkeypatch):

    real = papers.worked_of

    def stopped(request, job_id):
        commission, worked = real(request, job_id)
        stop = Message("stop", "x", "The vamp is torn")
        worked.pieces = replace(worked.pieces, messages=(stop,))
        return commission, worked

    monkeypatch.setattr(papers, "worked_of", stopped)
    at = f"/jobs/{choice.commission.pk}/guide/?hide={choice.hide.pk}&pairs=1"
    answer = owner_client.get(at, follow=True)
    assert "No guide is made" in answer.content.decode()
    assert "The vamp is torn" in answer.content.decode()
