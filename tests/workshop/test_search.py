"""One search: every kind by words, codes and numbers; what a role may not see is not found."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests.workshop.fixtures_stock import make_lot, make_supply
from workshop.models import Customer, Doll
from workshop.selectors.search import ROWS_MOST
from workshop.services.orders import commission_take_in
from workshop.services.pairs import pairs_made
from workshop.services.records import record_save

pytestmark = pytest.mark.django_db


def find(client, text):
    answer = client.get("/search/", {"q": text})
    assert answer.status_code == 200
    return {
        group.title: [(row.code, row.name) for row in group.rows]
        for group in answer.context["groups"]
    }


def test_words_are_found_in_every_kind(owner_client, commission, hide, supplies, style_version):
    pairs_made(
        name="Juniper's spare",
        count=1,
        cost=Decimal(40),
        asked=Decimal(90),
        made_on=timezone.localdate(),
        by=None,
    )
    assert find(owner_client, "junip") == {
        "Dolls": [("D-0001", "Juniper, Merle Oakhollow")],
        "Jobs": [("O-0001", "Juniper")],
        "Pairs": [("F-0001", "Juniper's spare")],
    }
    assert list(find(owner_client, "OAKHOLLOW")) == ["Customers", "Dolls", "Jobs"]
    assert find(owner_client, "chestnut calf") == {"Leather": [("L-0001", "Calf, chestnut")]}
    assert find(owner_client, "ankle") == {"Styles": [("S-0001", "Ankle boot")]}
    assert [name for _code, name in find(owner_client, "lace")["Supplies"]] == ["Round lace 1.5 mm"]
    assert find(owner_client, "%") == find(owner_client, "no such") == {}
    assert find(owner_client, "") == {}


@pytest.mark.parametrize("text", ["änne", "ÄNNE", "Änne", "häuser"])
def test_capitals_make_no_difference_beyond_ascii_either(owner_client, text):
    record_save(Customer(name="Änne HÄUSER (Hof)"), by=None)
    assert find(owner_client, text) == {"Customers": [("C-0001", "Änne HÄUSER (Hof)")]}


def test_a_whole_code_leads_straight_to_its_page(owner_client, quote, hide):
    job = quote.commission_id
    for text, page in (
        ("O-0001", f"/jobs/{job}/"),
        ("o1", f"/jobs/{job}/"),
        ("h-1", f"/hides/{hide.pk}/"),
        ("Q-0001-1", f"/quotes/{quote.pk}/"),
        ("q1", f"/quotes/{quote.pk}/"),
    ):
        assert owner_client.get("/search/", {"q": text}).headers["Location"] == page
    for text in ("O-0099", "Q-0001-7", "Z-0001"):
        assert find(owner_client, text) == {}


def test_a_number_alone_finds_every_record_of_that_number(owner_client, commission, hide):
    kinds = find(owner_client, "0001")
    assert list(kinds) == ["Customers", "Dolls", "Jobs", "Leather", "Hides"]
    assert kinds["Hides"] == [("H-0001", "Calf, chestnut")]


def test_a_helper_finds_no_customers_nor_what_they_wrote(client, helper, commission, quote):
    client.force_login(helper)
    assert list(find(client, "oakhollow")) == ["Dolls", "Jobs"]
    for text in ("merle@example.org", "C-0001", "Q-0001-1"):
        assert find(client, text) == {}
    body = client.get("/search/", {"q": "1"}).content.decode()
    assert "Customers" not in body
    assert f"{quote.price:.2f}" not in body


def test_what_is_asked_of_the_database_does_not_grow(owner_client, owner, customer):
    def counted():
        with CaptureQueriesContext(
            connection,
        ) as queries:
            find(owner_client, "moss")
        return len(queries)

    make_lot(colour="moss")
    few = counted()
    for number in range(3 * ROWS_MOST):
        doll = Doll(name=f"Moss {number}", customer=customer, material="resin")
        record_save(doll, by=owner)
        commission_take_in(customer=customer, doll=doll, note="", by=owner)
        make_supply(name=f"Moss thread {number}")
    assert counted() == few
    answer = owner_client.get("/search/", {"q": "moss"})
    assert [len(group.rows) for group in answer.context["groups"]] == [8, 8, 1, 8]
    assert "/dolls/?q=moss" in answer.content.decode()
    assert "another word finds fewer" in owner_client.get("/search/?q=mo+ss").content.decode()
