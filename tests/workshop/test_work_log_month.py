"""The month: hours, material, income and profit by style, stock on a day, tables as CSV."""

import csv
import datetime
import importlib
import io
from decimal import Decimal
from fractions import Fraction

import pytest
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests.workshop.fixtures_stock import make_hide, make_lot, make_supply
from tests.workshop.fixtures_work import accept, finish, write_minutes
from workshop.models import Commission, Cutting, Hide, StockMove
from workshop.month_files import cell, table_csv
from workshop.selectors.months import month_named, month_report, stock_on
from workshop.services.stock import stock_count, stock_use, stock_use_for

pytestmark = pytest.mark.django_db


@pytest.fixture
def finished(quote, owner, supplies):
    """A job finished today with an hour of lasting and a dear amount of thread."""
    commission = accept(quote, owner)
    write_minutes(commission, "Lasting", "60", owner, note="=1+1")
    write_minutes(commission, "Glue drying", "90", owner, passive=True)
    stock_use_for(supplies["thread"], commission=commission, quantity=Decimal(50), by=owner)
    finish(commission, owner)
    return commission


def this_month():
    return month_named("")


def table(client, name, **query):
    address = (
        reverse("stock-file") if name == "stock" else reverse("month-file", kwargs={"table": name})
    )
    answer = client.get(address, query)
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    text = answer.content.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


def test_a_month_adds_up_by_style_and_together(finished, quote):
    month = month_report(this_month())
    (style,), (total,), (job,) = month.styles, month.totals, month.jobs
    assert (style.style, style.jobs, style.pairs) == ("Ankle boot", 1, 1)
    breakdown = quote.snapshot["breakdown"]
    assert style.income == Decimal(breakdown["price_without_tax"])
    assert style.profit == job.counted.profit == total.profit
    assert style.income - style.fees - job.counted.cost == style.profit
    (person,) = month.people
    assert (person.active_min, person.passive_min) == (60, 90)
    material = {row.name: row for row in month.material}
    thread = material.pop("Waxed thread 0.6 mm")
    assert (thread.quantity, thread.cost) == (50, Fraction("4.90"))
    # What nobody wrote down was used up as planned when the pair was finished.
    planned = {line["name"] for line in quote.snapshot["bill"] if line["key"] != "upper"}
    assert material.keys() == planned - {thread.name}


def test_a_job_belongs_to_the_month_it_was_finished_in(finished):
    last_month = month_named(this_month().before)
    assert month_report(last_month).jobs == []
    Commission.objects.update(
        finished_at=timezone.make_aware(
            datetime.datetime.combine(last_month.last, datetime.time(23, 59))
        )
    )
    assert [job.commission for job in month_report(last_month).jobs] == [finished]
    assert month_report(this_month()).jobs == []


def test_a_job_finished_without_a_quote_is_named_and_not_counted(commission):
    Commission.objects.update(finished_at=timezone.now(), state="finished")
    month = month_report(this_month())
    assert (month.jobs, month.uncounted) == ([], [commission])


@pytest.mark.parametrize("text", ["", "2026-13", "november", "2026-1", "1999-01", "../x"])
def test_what_names_no_month_is_this_month(text):
    today = timezone.localdate()
    span = month_named(text)
    assert (span.first, span.key) == (today.replace(day=1), f"{today:%Y-%m}")
    assert span.after == ""


def test_months_know_their_neighbours():
    span = month_named("2024-02")
    assert (span.last, span.before, span.after) == (
        datetime.date(2024, 2, 29),
        "2024-01",
        "2024-03",
    )


def test_stock_on_a_day_is_what_was_there_at_what_it_cost(owner):
    thread = make_supply("thread", on_hand="100")  # 9.80 for 100 m
    lot = make_lot(bought_on=datetime.date(2024, 1, 10))
    hide, gone = make_hide(lot), make_hide(lot)
    StockMove.objects.update(made_at=timezone.make_aware(datetime.datetime(2024, 1, 5)))
    stock_use(thread, quantity=Decimal(40), reason="sewing", by=owner)
    Cutting.objects.create(
        hide=gone,
        instance={},
        layout={},
        pieces_area_mm2=1,
        least_width_mm=1,
        least_area_mm2=1,
        made_at=timezone.make_aware(datetime.datetime(2024, 3, 1)),
    )
    Hide.objects.filter(pk=gone.pk).update(state=Hide.State.CUT)
    worth = {
        day: (stock.supplies_value, [h.pk for h in stock.hides])
        for day in ("2024-01-04", "2024-01-05", "2024-01-10", "2024-03-01")
        for stock in [stock_on(datetime.date.fromisoformat(day))]
    }
    assert worth == {
        "2024-01-04": (0, []),
        "2024-01-05": (Decimal("9.80"), []),
        "2024-01-10": (Decimal("9.80"), [hide.pk, gone.pk]),
        "2024-03-01": (Decimal("9.80"), [hide.pk]),
    }
    assert stock_on(timezone.localdate()).value == Decimal("5.88") + hide.cost


def test_goods_found_and_lost_in_a_count_change_the_stocks_worth(owner):
    thread = make_supply("thread", on_hand="100")
    stock_count(thread, counted=Decimal(90), reason="count", by=owner)
    assert stock_on(timezone.localdate()).supplies_value == Decimal("8.82")
    stock_count(thread, counted=Decimal(95), reason="count", by=owner)
    assert stock_on(timezone.localdate()).supplies_value == Decimal("9.31")


def test_the_page_opens_for_a_month_with_work_and_for_one_without(owner_client, finished):
    page = owner_client.get(reverse("month")).content.decode()
    assert "Ankle boot" in page
    assert "50\u00a0m" in page
    empty = owner_client.get(reverse("month"), {"month": "2020-02"}).content.decode()
    assert "February 2020" in empty
    assert "No job was finished" in empty


@pytest.mark.parametrize("day", ["2026-02-30", "tomorrow", "2999-01-01", "1066-10-14", "\0"])
def test_what_is_no_day_up_to_today_is_said_beside_the_field(owner_client, day):
    page = owner_client.get(reverse("month"), {"day": day})
    assert page.status_code == 200
    assert "That is no day" in page.content.decode()


def test_tables_have_iso_days_a_decimal_point_and_no_formula(owner_client, finished, quote):
    today = timezone.localdate().isoformat()
    (job,) = table(owner_client, "jobs")
    assert (job["job"], job["finished_on"], job["currency"]) == (finished.code, today, "EUR")
    assert Decimal(job["price"]) == quote.price
    parts = ("material", "labour", "overhead", "postage", "fees", "tax", "profit")
    assert sum(Decimal(job[name]) for name in parts) == quote.price
    lasting, drying = table(owner_client, "hours")
    assert (lasting["minutes"], lasting["waiting"], lasting["note"]) == ("60.00", "no", "'=1+1")
    assert drying["waiting"] == "yes"
    (thread,) = [row for row in table(owner_client, "material") if row["quantity"] == "50.000"]
    assert (thread["quantity"], thread["cost"], thread["job"]) == (
        "50.000",
        "4.9000",
        finished.code,
    )
    stock = {row["code"]: row for row in table(owner_client, "stock")}
    assert stock[thread["code"]]["quantity"] == "150.000"
    assert stock[thread["code"]]["value"] == "14.70"


def test_words_are_guarded_and_numbers_stay_numbers():
    # Source: the guard against formulas in cells is the one of the library's file, which is checked
    # there; a negative amount is a number and must stay one.
    assert cell("=HYPERLINK()") == "'=HYPERLINK()"
    assert cell("@x") == "'@x"
    assert cell(Decimal("-3.20")) == "-3.20"
    assert cell(None) == ""
    content = table_csv(("a", "b"), [("x, y", 'he said "no"')]).decode("utf-8-sig")
    assert content == 'a,b\r\n"x, y","he said ""no"""\r\n'


def test_an_unknown_table_is_not_found(owner_client):
    assert owner_client.get("/month/secrets.csv").status_code == 404


def test_only_those_who_see_money_have_the_month(client, helper, bookkeeper):
    client.force_login(bookkeeper)
    assert client.get(reverse("month")).status_code == 200
    assert client.get(reverse("stock-file")).status_code == 200
    client.force_login(helper)
    assert client.get(reverse("month")).status_code == 403
    assert "Month" not in client.get(reverse("home")).content.decode()


def test_a_month_takes_as_many_queries_for_many_jobs_as_for_one(finished, customer, doll, owner):
    span = this_month()
    with CaptureQueriesContext(connection) as few:
        month_report(span)
    quote = finished.quotes.get()
    for number in range(3):
        other = Commission.objects.create(
            number=500 + number, customer=customer, doll=doll, state="finished",
            finished_at=timezone.now(),
        )  # fmt: skip
        quote.pk, quote.commission, quote._state.adding = None, other, True
        quote.token_hash = f"another {number}"
        quote._promised = None
        quote.save(force_insert=True)
        write_minutes(other, "Lasting", "30", owner)
    with CaptureQueriesContext(connection) as many:
        assert len(month_report(span).jobs) == 4
    assert len(many) == len(few)


def test_what_was_there_before_is_filled_in_once(finished, owner):
    filled = importlib.import_module("workshop.migrations.0032_counting_back_filled")
    finished.refresh_from_db()
    told, moved = finished.finished_at, StockMove.objects.filter(on_hand_change__gt=0)
    costs = list(moved.order_by("id").values_list("cost", flat=True))
    StockMove.objects.update(cost=None)
    Commission.objects.update(finished_at=None)
    filled.fill(apps, None)
    finished.refresh_from_db()
    assert list(moved.order_by("id").values_list("cost", flat=True)) == costs
    assert abs(finished.finished_at - told) < datetime.timedelta(seconds=5)
