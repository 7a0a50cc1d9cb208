"""Lists: sorted by their heads, over all their pages, and sent as tables; every name invented."""

import csv
import datetime
import io
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests.workshop.fixtures_stock import make_hide, make_lot, make_supply
from workshop.list_columns import CUSTOMERS
from workshop.models import Commission, Customer, Doll
from workshop.paging import Order, sorted_by
from workshop.services.library import foot_measure
from workshop.services.orders import commission_take_in
from workshop.services.pairs import pairs_made
from workshop.services.records import record_save
from workshop.services.stock import stock_buy

pytestmark = pytest.mark.django_db


@pytest.fixture
def helper_client(helper):
    client = Client()
    client.force_login(helper)
    return client


def make_customers(count):
    """Make customers of three names and two countries, so that most are alike in either."""
    for n in range(count):
        name = ("Ada Fern", "berry hill", "Cora Moss")[n % 3]
        record_save(Customer(name=name, country=("Norland", "")[n % 2]), by=None)


def walked(client, address, sort):
    """Return the rows of all pages of a list, and how many pages it had."""
    rows, pages, before = [], 0, ""
    while True:
        page = client.get(address, {"sort": sort, "before": before}).context["page"]
        rows += page.rows
        pages += 1
        if page.next_before is None:
            return rows, pages
        before = page.next_before


def table_of(client, address, **query):
    answer = client.get(address, query)
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert answer.headers["Content-Disposition"].startswith('attachment; filename="')
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_pages_of_a_sorted_list_hold_every_row_once_and_in_order(owner_client):
    make_customers(113)
    expected = sorted(Customer.objects.all(), key=lambda row: (row.name.casefold(), row.number))
    rows, pages = walked(owner_client, "/customers/", "name")
    assert pages == 3
    assert rows == expected
    assert walked(owner_client, "/customers/", "-name")[0] == expected[::-1]
    by_code = walked(owner_client, "/customers/", "code")[0]
    assert [row.number for row in by_code] == sorted(row.number for row in expected)
    assert walked(owner_client, "/customers/", "")[0] == by_code[::-1]
    gone = rows[49]
    Customer.objects.filter(pk=gone.pk).update(name="Cora Moss")
    later = owner_client.get("/customers/", {"sort": "name", "before": gone.number})
    assert all(row.name == "Cora Moss" for row in later.context["page"].rows)


def test_rows_without_a_value_come_last_both_ways(owner_client, owner, customer, doll):
    made = []
    for n in range(60):
        day = None if n % 2 else datetime.date(2027, 3, 1 + n % 7)
        job = commission_take_in(customer=customer, doll=doll, note=f"{n}", by=owner)
        Commission.objects.filter(pk=job.pk).update(wanted_on=day)
        made.append((day, job.number))
    dated = sorted(row for row in made if row[0])
    undated = sorted(number for day, number in made if day is None)
    rising = [job.number for job in walked(owner_client, "/jobs/", "wanted_on")[0]]
    falling = [job.number for job in walked(owner_client, "/jobs/", "-wanted_on")[0]]
    assert rising == [number for _day, number in dated] + undated
    assert falling == [number for _day, number in dated[::-1]] + undated[::-1]


def test_dolls_are_sorted_by_their_newest_foot(owner_client, owner, customer):
    lengths = ["75.5", "47", "112", "75.25"]
    for n in range(56):
        doll = Doll(customer=customer if n % 2 else None, name=f"Doll {n}", material="resin")
        record_save(doll, by=None)
        if n < 54:
            length = lengths[n % 4]
            measures = {"foot_length": Decimal(length), "ball_girth": Decimal(length)}
            foot_measure(doll=doll, foot_side="left", measures=measures, reason="x", by=owner)
    rows = walked(owner_client, "/dolls/", "length_mm")[0]
    shown = [Decimal(row.foot_length) if row.foot_length else None for row in rows]
    assert shown[:54] == sorted(shown[:54])
    assert shown[54:] == [None, None]
    table = table_of(owner_client, "/dolls/list.csv", sort="-length_mm", house="1")
    assert [row["length_mm"] for row in table] == ["112"] * 13 + ["75.5"] * 14 + [""]
    assert {row["customer"] for row in table} == {""}
    assert len(table) == 28


def test_heads_lead_to_their_order_and_say_which_way_it_is(owner_client):
    make_customers(3)
    page = owner_client.get("/customers/?q=r&sort=-name&before=99").content.decode()
    assert (
        '<th scope="col" aria-sort="descending"><a class="sort-head" href="?q=r&amp;sort=name">'
        in page
    )
    assert 'href="?q=r&amp;sort=country"' in page
    assert 'href="/customers/list.csv?q=r&amp;sort=-name"' in page
    assert '<option value="-name" selected>Name, falling</option>' in page
    assert page.count("aria-sort") == 1


@pytest.mark.parametrize(
    "sort", ["pk", "-note", "name; drop", "--name", "name__x", "\0", "é" * 500]
)
def test_an_order_that_is_none_is_told_and_the_list_is_as_usual(owner_client, sort):
    make_customers(3)
    answer = owner_client.get("/customers/", {"sort": sort})
    assert "no such column" in answer.content.decode()
    assert [row.number for row in answer.context["page"].rows] == [3, 2, 1]
    assert len(table_of(owner_client, "/customers/list.csv", sort=sort)) == 3


def test_what_a_role_does_not_see_is_neither_sorted_by_nor_sent(helper_client, owner_client, quote):
    assert "no such column" in helper_client.get("/jobs/?sort=last_quote").content.decode()
    assert "last_quote" not in table_of(helper_client, "/jobs/list.csv")[0]
    (row,) = table_of(
        owner_client, "/jobs/list.csv", sort="last_quote", state=quote.commission.state
    )
    assert row["last_quote"] == quote.shown_price
    assert table_of(owner_client, "/jobs/list.csv", state="sent") == []


def test_files_hold_what_the_filters_show_and_no_formula(owner_client, helper_client, owner):
    make_customers(2)
    record_save(Customer(name='=HYPERLINK("x")', email="z@example.org", country="@x"), by=None)
    (row,) = table_of(owner_client, "/customers/list.csv", q="hyper")
    assert (row["name"], row["country"]) == ('\'=HYPERLINK("x")', "'@x")
    assert [row["name"] for row in table_of(owner_client, "/customers/list.csv", sort="-name")] == [
        "berry hill", "Ada Fern", "'=HYPERLINK(\"x\")",
    ]  # fmt: skip
    lot, bare = make_lot(name="Goat", colour="moss"), make_lot(name="Calf", colour="rust")
    hide = make_hide(lot)
    rows = table_of(owner_client, "/leather/list.csv", sort="name")
    assert [(row["name"], row["hide"]) for row in rows] == [("Calf", ""), ("Goat", hide.code)]
    assert rows[1]["cost"] == f"{hide.cost}"
    assert "cost" not in table_of(helper_client, "/leather/list.csv")[0]
    assert [row["lot"] for row in table_of(owner_client, "/leather/list.csv", q=bare.code)] == [
        bare.code
    ]


def test_supplies_and_their_moves(owner_client, helper_client, owner):
    dear = make_supply(name="Thread", pack_quantity="3", pack_price="8", kind="thread")
    make_supply(name="Lace", pack_quantity="10", pack_price="25", kind="lace")
    each = [row["name"] for row in table_of(owner_client, "/supplies/list.csv", sort="each")]
    assert each == ["Lace", "Thread"]  # 2.50 and 2.67 each: whole numbers would make both 2
    assert "supplier" not in table_of(helper_client, "/supplies/list.csv")[0]
    stock_buy(dear, quantity=Decimal(4), paid=Decimal("9.5"), reason="+ a spool", by=owner)
    moves = table_of(owner_client, f"/supplies/{dear.pk}/moves.csv", kind="bought", sort="when")
    assert {row["what"] for row in moves} == {"bought"}
    assert moves[-1]["why"] == "'+ a spool"
    assert "cost" not in table_of(helper_client, f"/supplies/{dear.pk}/moves.csv")[0]
    page = owner_client.get(f"/supplies/{dear.pk}/?kind=used")
    assert page.context["page"].rows == []


def test_pairs_are_sorted_and_sent(owner_client, helper_client):
    today = timezone.localdate()
    for name, asked in (("b", 90), ("A", 100), ("c", 9)):
        pairs_made(
            name=name, count=1, cost=Decimal(4), asked=Decimal(asked), made_on=today, by=None
        )
    assert [row["name"] for row in table_of(owner_client, "/pairs/list.csv", sort="name")] == [
        *"Abc"
    ]
    assert [row["asked"] for row in table_of(owner_client, "/pairs/list.csv", sort="-asked")] == [
        "100.00", "90.00", "9.00",
    ]  # fmt: skip
    assert "asked" not in table_of(helper_client, "/pairs/list.csv")[0]


@pytest.mark.parametrize(
    "address", ["/customers/?sort=name", "/dolls/?sort=length_mm", "/jobs/?sort=doll"]
)
def test_a_sorted_list_asks_the_same_few_times_however_long_it_is(owner_client, owner, address):
    def asked():
        with CaptureQueriesContext(
            connection,
        ) as queries:
            owner_client.get(address)
        return len(queries)

    def fill(count):
        for n in range(count):
            customer = Customer(name=f"Ada {n}")
            record_save(customer, by=None)
            doll = Doll(customer=customer, name=f"Doll {n}", material="resin")
            record_save(doll, by=None)
            commission_take_in(customer=customer, doll=doll, note="x", by=owner)

    fill(2)
    owner_client.get(address)
    few = asked()
    fill(55)
    assert asked() == few


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="a tiny table is read whole there")
def test_names_are_sorted_by_an_index():
    by = next(column.by for column in CUSTOMERS if column.key == "name")
    for is_falling in (False, True):
        plan = sorted_by(Customer.objects.all(), Order(by, is_falling=is_falling)).explain()
        assert "customer_by_name" in plan
        assert "TEMP B-TREE" not in plan


def test_a_long_list_goes_out_while_it_is_read(owner_client, monkeypatch):
    make_customers(9)
    whole = owner_client.get("/customers/list.csv", {"sort": "name"})
    assert not whole.streaming
    monkeypatch.setattr("workshop.listing.FILE_CHUNK", 4)
    monkeypatch.setattr("workshop.month_files.ROWS_AT_ONCE", 4)
    sent = owner_client.get("/customers/list.csv", {"sort": "name"})
    assert sent.streaming
    parts = list(sent.streaming_content)
    assert len(parts) == 3
    assert b"".join(parts) == whole.content
    assert sent.headers["Content-Disposition"] == whole.headers["Content-Disposition"]
