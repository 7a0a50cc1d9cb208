"""Pages of supplies, and what a helper may see and do in stock."""

import re
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.workshop.fixtures_stock import make_hide, make_lot, make_supply
from workshop.models import StockBalance, StockMove, Supply, WorkshopProfile
from workshop.services.stock import stock_buy

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

SUPPLY = {
    "name": "Linen thread",
    "kind": "thread",
    "unit": "m",
    "pack_quantity": "50",
    "pack_price": "4.20",
    "reorder_point": "10",
}


def test_a_supply_is_recorded_with_an_empty_balance(owner_client):
    answer = owner_client.post(reverse("supply-new"), SUPPLY)
    supply = Supply.objects.get()
    assert answer.headers["Location"] == reverse("supply", args=[supply.pk])
    assert (supply.balance.on_hand, supply.is_usual) == (0, True)
    page = owner_client.get(reverse("supply", args=[supply.pk])).content.decode()
    assert "0.084 EUR" in page


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""),
        ("kind", "gold"),
        ("unit", "yard"),
        ("pack_quantity", "0"),
        ("pack_quantity", "-1"),
        ("pack_quantity", "NaN"),
        ("pack_quantity", "1e9"),
        ("pack_price", "-1"),
        ("pack_price", "free"),
        ("pack_price", "Infinity"),
        ("reorder_point", "-1"),
        ("reorder_point", "1e9"),
    ],
)
def test_a_faulty_supply_is_shown_again_with_a_message_beside_the_field(owner_client, field, value):
    page = owner_client.post(reverse("supply-new"), {**SUPPLY, field: value})
    assert page.status_code == 200
    assert page.context["form"].errors.keys() == {field}
    assert not Supply.objects.exists()


def test_making_one_usual_on_its_page_un_makes_the_other(owner_client):
    make_supply("thread", name="first")
    second = make_supply("thread", name="second")
    data = {**SUPPLY, "name": "second", "is_usual": "on"}
    owner_client.post(reverse("supply-change", args=[second.pk]), data)
    assert [s.name for s in Supply.objects.filter(kind="thread", is_usual=True)] == ["second"]


def test_a_changed_unit_is_refused_beside_the_field_once_there_is_a_ledger(owner_client):
    supply = make_supply("thread", on_hand="5")
    data = {**SUPPLY, "unit": "g"}
    page = owner_client.post(reverse("supply-change", args=[supply.pk]), data)
    assert page.status_code == 200
    assert "ledger in m" in str(page.context["form"].errors["unit"])


@pytest.mark.parametrize(
    ("kind", "quantity", "on_hand"),
    [("bought", "2.5", 12_500), ("used", "0.001", 9_999), ("counted", "7", 7_000)],
)
def test_the_owner_books_what_happened(owner_client, kind, quantity, on_hand):
    supply = make_supply("thread", on_hand="10")
    data = {"kind": kind, "quantity": quantity, "reason": "a reason"}
    answer = owner_client.post(reverse("stock-move", args=[supply.pk]), data)
    assert answer.headers["Location"] == reverse("supply", args=[supply.pk])
    assert StockBalance.objects.get(supply=supply).on_hand == on_hand
    assert "a reason" in owner_client.get(reverse("supply", args=[supply.pk])).content.decode()


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"quantity": ""}, "quantity"),
        ({"quantity": "0"}, "quantity"),
        ({"quantity": "-3"}, "quantity"),
        ({"quantity": "NaN"}, "quantity"),
        ({"quantity": "much"}, "quantity"),
        ({"quantity": "1e9"}, "quantity"),
        ({"quantity": "0.0001"}, "quantity"),
        ({"quantity": "10.001"}, "quantity"),
        ({"kind": "stolen"}, "kind"),
        ({"kind": "reserved"}, "kind"),
        ({"reason": ""}, "reason"),
        ({"reason": "x" * 201}, "reason"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_faulty_line_is_shown_again_and_not_booked(owner_client, changes, field):
    supply = make_supply("thread", on_hand="10")
    data = {"kind": "used", "quantity": "1", "reason": "r", **changes}
    page = owner_client.post(reverse("stock-move", args=[supply.pk]), data)
    assert page.status_code == 200
    assert page.context["form"].errors.keys() == {field}
    assert supply.moves.count() == 1


def test_using_more_than_is_free_says_both_figures_beside_the_quantity(owner_client):
    supply = make_supply("thread", on_hand="10")
    data = {"kind": "used", "quantity": "12.5", "reason": "r"}
    page = owner_client.post(reverse("stock-move", args=[supply.pk]), data)
    assert page.context["form"].errors["quantity"] == ["12.5 m asked for, but only 10 m are free."]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"q": "lace"}, ["Round lace 1.5 mm"]),
        ({"q": "B-0001"}, ["Waxed thread 0.6 mm"]),
        ({"kind": "lace"}, ["Round lace 1.5 mm"]),
        ({"kind": "no such"}, ["Round lace 1.5 mm", "Waxed thread 0.6 mm"]),
        ({"q": "nothing"}, []),
    ],
    ids=str,
)
def test_supplies_are_found_by_name_code_and_kind(owner_client, asked, found):
    make_supply("thread")
    make_supply("lace")
    page = owner_client.get(reverse("supplies"), asked).context["page"]
    assert [supply.name for supply in page.rows] == found


def test_a_supply_low_in_stock_says_buy_again(owner_client):
    make_supply("thread", on_hand="19.999", reorder_point=Decimal(20))
    assert "buy again" in owner_client.get(reverse("supplies")).content.decode()
    stock_buy(Supply.objects.get(), quantity=Decimal("0.001"), reason="r", by=None)
    assert "buy again" not in owner_client.get(reverse("supplies")).content.decode()


def test_lists_of_supplies_take_as_many_queries_for_many_as_for_one(owner_client, owner):
    def counted(address):
        with CaptureQueriesContext(connection) as queries:
            owner_client.get(address)
        return len(queries)

    WorkshopProfile.current()  # made on first use
    supply = make_supply("thread", on_hand="100")
    addresses = [reverse("supplies"), reverse("supply", args=[supply.pk])]
    few = [counted(address) for address in addresses]
    for index in range(6):
        make_supply("lace", name=f"lace {index}")
        stock_buy(supply, quantity=Decimal(1), reason="r", by=owner)
    assert [counted(address) for address in addresses] == few


# What a helper looks at: every page of these families that the table of doors opens to helpers.
PRICES = ["813.57", "642.91", "377.33", "918.27"]
TAG = re.compile(r"<[^>]*>")
AMOUNT = re.compile(r"EUR|\bprice|\bcost", re.IGNORECASE)


@pytest.fixture
def stock(db):
    """Leather and a supply whose amounts are found at once in any page."""
    lot = make_lot(price=Decimal("813.57"))
    hide = make_hide(lot, cost=Decimal("642.91"))
    make_hide(lot, cost=Decimal("377.33"), remnant_of=hide)
    supply = make_supply("thread", on_hand="5", pack_price=Decimal("918.27"))
    return lot, hide, supply


def addresses_of(lot, hide, supply):
    return [
        reverse("leather"),
        reverse("lot", args=[lot.pk]),
        reverse("hide", args=[hide.pk]),
        reverse("supplies"),
        reverse("supply", args=[supply.pk]),
        reverse("stock-move", args=[supply.pk]),
        reverse("styles"),
    ]


def test_a_helper_sees_no_amount_on_any_page_of_stock(client, helper, stock):
    client.force_login(helper)
    for address in addresses_of(*stock):
        answer = client.get(address)
        page = answer.content.decode()
        assert answer.status_code == 200
        words = TAG.sub(" ", page)
        assert not AMOUNT.search(words), f"{address}: {AMOUNT.search(words)}"
        # A unit's cost is the pack's price over what it holds: 918.27 / 100.
        for amount in [*PRICES, "9.1827", "9.18"]:
            assert amount not in page, f"{address} shows {amount}"
            given = repr([layer.flatten() for layer in answer.context])
            assert amount not in given, f"the template of {address} is given {amount}"


def test_the_bookkeeper_reads_those_amounts_and_may_change_nothing(client, bookkeeper, stock):
    client.force_login(bookkeeper)
    pages = "".join(client.get(address).content.decode() for address in addresses_of(*stock))
    for amount in [*PRICES, "9.1827"]:
        assert amount in pages
    assert client.post(reverse("stock-move", args=[stock[2].pk])).status_code == 403


def test_a_helper_books_use_and_counts_but_nothing_bought(client, helper, stock):
    client.force_login(helper)
    supply = stock[2]
    address = reverse("stock-move", args=[supply.pk])
    for kind in ("used", "counted"):
        data = {"kind": kind, "quantity": "2", "reason": "bench"}
        assert client.post(address, data).status_code == 302
    page = client.post(address, {"kind": "bought", "quantity": "2", "reason": "bench"})
    assert page.status_code == 200
    assert "kind" in page.context["form"].errors
    assert StockMove.objects.filter(made_by=helper).count() == 2


@pytest.mark.parametrize("name", ["lot-new", "supply-new", "style-new", "rates", "rate-new"])
def test_a_helper_is_kept_out_of_what_is_the_owners(client, helper, name):
    client.force_login(helper)
    assert client.get(reverse(name)).status_code == 403


@pytest.mark.parametrize("name", ["leather", "supplies", "styles"])
@pytest.mark.parametrize("text", ["\0", "x" * 5000, "L-" + "9" * 30, "'; --", "<b>"])
def test_any_text_may_be_looked_for(owner_client, name, text):
    answer = owner_client.get(reverse(name), {"q": text, "state": text, "kind": text})
    assert answer.status_code == 200
