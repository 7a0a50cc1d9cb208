"""What is to be bought: what jobs miss, in whole packs, by supplier; leather named apart."""

import csv
import io
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.workshop.fixtures_stock import make_hide, make_lot, make_supply
from tests.workshop.fixtures_work import accept, finish
from tests.workshop.test_reservations import BOX, in_days, make_job, waits_for_deposit
from workshop.models import Quote, Reservation, ReservedSupply, WorkshopProfile
from workshop.selectors.to_buy import to_buy
from workshop.services.cuttings import hide_reserve
from workshop.services.orders import commission_move
from workshop.services.reservations import reservations_lapse
from workshop.services.stock import stock_count

pytestmark = pytest.mark.django_db

UPPER = {**BOX, "key": "upper", "name": "Calf", "unit": "dm2", "waste_share": "0.2"}


@pytest.fixture
def box(db):
    # Ten in a pack for 14.00; no reminder of its own.
    return make_supply("box", on_hand="3", reorder_point=Decimal(0), supplier="The paper stall")


def rows(role="owner", **how):
    return [
        (row.supply.kind, row.for_jobs, row.free, row.to_keep, row.purchase.packs, row.cost)
        for supplier in to_buy(role, **how).suppliers
        for row in supplier.rows
    ]


def test_jobs_need_more_than_is_there_in_whole_packs(foot_version, owner, box):
    accept(make_job(foot_version, owner, pairs=2), owner)
    assert rows() == []
    accept(make_job(foot_version, owner, pairs=12), owner)
    # 14 needed, 3 there: 11 are missing, two packs of ten.
    assert rows() == [("box", 11, 0, 0, 2, Decimal("28.00"))]
    stock_count(box, counted=Decimal(13), reason="found", by=owner)
    assert rows() == [("box", 11, 10, 0, 1, Decimal("14.00"))]
    stock_count(box, counted=Decimal(14), reason="found", by=owner)
    assert rows() == []


def test_what_jobs_leave_is_filled_up_to_where_it_is_bought_again(foot_version, owner, box):
    box.reorder_point = Decimal(4)
    box.save()
    assert rows() == [("box", 0, 3, 4, 1, Decimal("14.00"))]
    assert rows(jobs_only=True) == []
    accept(make_job(foot_version, owner, pairs=10), owner)
    # 7 missing and 4 to keep: 11, two packs; for the job alone one would do.
    assert rows() == [("box", 7, 0, 4, 2, Decimal("28.00"))]
    assert rows(jobs_only=True) == [("box", 7, 0, 0, 1, Decimal("14.00"))]


@pytest.mark.parametrize("end", ["withdrawn", "finished", "lapsed"])
def test_jobs_that_are_over_need_nothing(foot_version, owner, box, end):
    job = waits_for_deposit(make_job(foot_version, owner, pairs=9), owner)
    assert len(rows()) == 1
    if end == "withdrawn":
        commission_move(job, to="withdrawn", by=owner)
    elif end == "finished":
        finish(job, owner)
    else:
        reservations_lapse(in_days(8))
    assert rows() == []
    # A lapsed job is still accepted: the list says that it does not count it.
    assert to_buy("owner").unreserved == ([job] if end == "lapsed" else [])


def test_a_job_accepted_before_supplies_were_reserved_is_named(foot_version, owner, owner_client):
    job = accept(make_job(foot_version, owner), owner)
    ReservedSupply.objects.all().delete()
    Reservation.objects.all().delete()
    page = owner_client.get(reverse("to-buy")).content.decode()
    assert "Not counted, as nothing is reserved for them" in page
    assert reverse("job-reserved", args=[job.pk]) in page


def test_it_goes_by_supplier_and_adds_up_as_shown(foot_version, owner, owner_client, box):
    make_supply("card", supplier="the paper stall ", reorder_point=Decimal(1))
    make_supply("lace", supplier="Ribbon cart", reorder_point=Decimal(1))
    make_supply("thread", reorder_point=Decimal(1))
    accept(make_job(foot_version, owner, pairs=4), owner)
    found = to_buy("owner")
    names = [
        (supplier.name, [row.supply.kind for row in supplier.rows]) for supplier in found.suppliers
    ]
    assert names == [
        ("Ribbon cart", ["lace"]),
        ("The paper stall", ["box", "card"]),
        ("", ["thread"]),
    ]
    # A pack of each: 11.25, 14.00 + 7.20, 9.80.
    assert [supplier.cost for supplier in found.suppliers] == [
        Decimal("11.25"),
        Decimal("21.20"),
        Decimal("9.80"),
    ]
    assert found.cost == Decimal("42.25")
    page = owner_client.get(reverse("to-buy")).content.decode()
    for said in ("The paper stall", "No supplier noted", "42.25", "21.20"):
        assert said in page


def leather_quote(foot_version, owner, *, code="", hide=None, quantity="3.2"):
    quote = make_job(foot_version, owner, bill=[{**UPPER, "quantity": quantity}], pairs=2)
    snapshot = {**quote.snapshot, "hide": {"code": code}}
    Quote.objects.filter(pk=quote.pk).update(snapshot=snapshot, hide=hide)
    return Quote.objects.get(pk=quote.pk)


def test_leather_that_was_quoted_as_an_offer_is_bought_once_for_all_its_jobs(foot_version, owner):
    lot = make_lot(bought_on=None, smallest_sold_dm2=Decimal(20), supplier="the leather stall")
    jobs = [
        accept(leather_quote(foot_version, owner, code=lot.code), owner),
        accept(leather_quote(foot_version, owner, code=lot.code, quantity="4"), owner),
    ]
    (row,) = to_buy("owner").leather
    # Two pairs each: 2 x 3.2 / 0.8 = 8 dm2 and 2 x 4 / 0.8 = 10 dm2; 20 dm2 is the least sold.
    assert (row.jobs, row.need_dm2, row.purchase.bought_dm2) == (jobs, 18, 20)
    assert row.cost == Decimal("22.00")  # 20 x 1.10
    lot.bought_on = in_days(0)
    lot.save()
    found = to_buy("owner")
    assert found.leather == []
    assert {row.why for row in found.without_hide} == {
        f"{lot.code} is bought: keep a hide of it for the job"
    }
    hide = make_hide(lot)
    hide_reserve(hide, commission=jobs[0], by=owner)
    assert [row.commission for row in to_buy("owner").without_hide] == [jobs[1]]


def test_a_job_whose_hide_went_elsewhere_is_named(foot_version, owner, hide):
    # Of two jobs quoted on one hide the one accepted first has it.
    first = accept(leather_quote(foot_version, owner, hide=hide, code=hide.code), owner)
    assert to_buy("owner").without_hide == []
    second = accept(leather_quote(foot_version, owner, hide=hide, code=hide.code), owner)
    (row,) = to_buy("owner").without_hide
    assert (row.commission, row.need_dm2) == (second, 8)
    assert row.why == f"{hide.code} is reserved for {first.code}"


def table(client, **query):
    answer = client.get(reverse("to-buy-file"), query)
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_the_table_holds_no_formula_and_numbers_with_a_point(
    foot_version, owner, owner_client, box
):
    box.name, box.supplier = "=1+1", "@cart"
    box.save()
    job = accept(make_job(foot_version, owner, pairs=14, bill=[{**BOX, "name": "=1+1"}]), owner)
    lot = make_lot(bought_on=None, supplier="+stall")
    accept(leather_quote(foot_version, owner, code=lot.code), owner)
    supply, leather = table(owner_client)
    assert supply == {
        "supplier": "'@cart",
        "code": box.code,
        "name": "'=1+1",
        "needed_for_jobs": "11",
        "free": "0",
        "to_keep": "0",
        "unit": "piece",
        "packs": "2",
        "pack_holds": "10.000",
        "bought": "20.000",
        "cost": "28.00",
        "currency": "EUR",
        "jobs": job.code,
    }
    assert (leather["supplier"], leather["bought"], leather["cost"]) == (
        "'+stall",
        "8.0000",
        "8.80",
    )
    box.reorder_point = Decimal(100)
    box.save()
    assert table(owner_client)[0]["to_keep"] != table(owner_client, jobs="1")[0]["to_keep"]


def test_a_helper_takes_the_list_along_without_amounts_or_suppliers(
    client, helper, bookkeeper, foot_version, owner, box
):
    box.pack_price = Decimal("918.27")
    box.save()
    accept(make_job(foot_version, owner, pairs=14), owner)
    lot = make_lot(bought_on=None, price=Decimal("813.57"), supplier="the leather stall")
    accept(leather_quote(foot_version, owner, code=lot.code), owner)
    client.force_login(helper)
    answer = client.get(reverse("to-buy"))
    given = answer.content.decode() + repr([layer.flatten() for layer in answer.context])
    for secret in ("918.27", "1836.54", "813.57", "paper stall", "leather stall"):
        assert secret not in answer.content.decode()
    for amount in ("1836.54", "6508.56"):
        assert amount not in given
    assert "Gift box" in answer.content.decode()
    assert client.get(reverse("to-buy-file")).status_code == 403
    client.force_login(bookkeeper)
    assert "1\u202f836.54" in client.get(reverse("to-buy")).content.decode()
    assert len(table(client)) == 2


def test_it_takes_as_many_queries_for_many_as_for_few(foot_version, owner, owner_client, hide):
    WorkshopProfile.current()

    def make_more(count):
        for _ in range(count):
            lot = make_lot(bought_on=None)
            make_supply("lace", name=f"lace of {lot.code}")
            bill = [{**BOX, "name": f"lace of {lot.code}", "unit": "m"}]
            accept(make_job(foot_version, owner, bill=bill), owner)
            accept(leather_quote(foot_version, owner, code=lot.code), owner)
            accept(leather_quote(foot_version, owner, hide=hide), owner)

    def queries():
        with CaptureQueriesContext(connection) as found:
            owner_client.get(reverse("to-buy"))
        return len(found)

    hide_reserve(hide, commission=make_job(foot_version, owner).commission, by=owner)
    make_more(1)
    few = queries()
    make_more(4)
    assert queries() == few
