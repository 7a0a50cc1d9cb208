"""Finished pairs: made, reserved, taken to a stall, sold, come back; what each earned."""

import csv
import io
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests.workshop.fixtures_stock import make_rate_card
from tests.workshop.fixtures_work import accept, finish, write_minutes
from tests.workshop.test_places import make_place
from tests.workshop.test_stock_ledger import at_once
from workshop.models import AuditEntry, Commission, FinishedPair, PairStep, Quote
from workshop.selectors.counting_back import job_counted
from workshop.selectors.months import month_named, month_report
from workshop.services.pairs import (
    pair_back,
    pair_mark_down,
    pair_release,
    pair_reserve,
    pair_return,
    pair_sell,
    pair_take,
    pairs_from_job,
    pairs_made,
)

pytestmark = pytest.mark.django_db

MADE = {"name": "Ankle boot, 75 mm, Calf, chestnut", "count": "1", "cost": "41.50", "asked": "96"}


def today():
    return timezone.localdate()


@pytest.fixture
def pair(db):
    values = {"cost": Decimal("41.50"), "asked": Decimal(96), "made_on": today()}
    return pairs_made(name="Ankle boot, 75 mm", count=1, by=None, **values)[0]


@pytest.fixture
def stall(db):
    """A craft fair that keeps 10 % of what is paid and 2.00 for each pair."""
    fee = {"pct": Decimal(10), "fixed": Decimal("2.00")}
    return make_place(fee).place


def kinds(pair):
    return list(pair.steps.values_list("kind", flat=True))


def sell(pair, price="90", **how):
    pair_sell(pair, price=Decimal(price), day=today(), by=None, **how)


def test_a_pair_goes_to_a_stall_is_sold_there_and_earns_what_is_left(pair, stall):
    make_rate_card(tax_pct=Decimal(20))
    pair_take(pair, place=stall, day=today(), by=None)
    assert (pair.state, pair.place) == ("away", stall)
    sell(pair)
    # Paid 90.00: tax 90 x 20 / 120 = 15.00; the fair keeps 9.00 + 2.00; the pair cost 41.50.
    assert (pair.sold_price, pair.sold_tax, pair.sold_fee) == (90, 15, 11)
    assert pair.earned == Decimal("22.50")
    assert kinds(pair) == ["made", "taken", "sold"]
    actions = AuditEntry.objects.filter(record_kind="finishedpair").order_by("id")
    assert [entry.action for entry in actions] == ["made", "taken", "sold"]


def test_a_pair_that_came_back_can_be_marked_down_and_sold_from_the_workshop(pair, stall):
    pair_take(pair, place=stall, day=today(), by=None)
    pair_back(pair, day=today(), by=None)
    pair_mark_down(pair, price=Decimal(70), note="a scratch", by=None)
    sell(pair, "70")
    assert (pair.place, pair.sold_fee, pair.sold_tax) == (None, 0, 0)  # there is no rate card
    assert pair.earned == Decimal("28.50")
    assert kinds(pair) == ["made", "taken", "back", "marked down", "sold"]


def test_a_typed_fee_goes_before_the_places_own(pair, stall):
    sell(pair, place=stall, fee=Decimal("7.255"))
    assert (pair.sold_fee, pair.earned) == (Decimal("7.26"), Decimal("41.24"))


@pytest.mark.parametrize(("is_fee_back", "lost"), [(True, "0"), (False, "11")])
def test_a_pair_back_from_its_buyer_is_for_sale_again_less_what_the_place_kept(
    pair, stall, is_fee_back, lost
):
    sell(pair, place=stall)
    pair_return(pair, day=today(), is_fee_back=is_fee_back, note="too tight", by=None)
    assert (pair.state, pair.sold_price, pair.earned) == ("here", None, None)
    assert pair.lost_fees == Decimal(lost)
    sell(pair, "60")
    assert pair.earned == 60 - Decimal("41.50") - Decimal(lost)


def test_a_pair_is_kept_for_one_customer_at_a_time(pair, customer):
    pair_reserve(pair, customer=customer, by=None)
    with pytest.raises(ValidationError, match=f"is reserved for {customer.code}"):
        pair_reserve(pair, customer=customer, by=None)
    with pytest.raises(ValidationError, match="is reserved for"):
        pair_back(pair, day=today(), by=None)
    pair_release(pair, by=None)
    assert (pair.state, pair.customer) == ("here", None)
    pair_reserve(pair, customer=customer, by=None)
    sell(pair)
    assert (pair.state, pair.customer) == ("sold", customer)


@pytest.mark.parametrize("step", ["sell", "reserve", "release", "take", "back", "mark down"])
def test_what_cannot_follow_a_sale_is_refused_and_changes_nothing(pair, stall, customer, step):
    sell(pair)
    steps = {
        "sell": lambda: sell(pair, "5"),
        "reserve": lambda: pair_reserve(pair, customer=customer, by=None),
        "release": lambda: pair_release(pair, by=None),
        "take": lambda: pair_take(pair, place=stall, day=today(), by=None),
        "back": lambda: pair_back(pair, day=today(), by=None),
        "mark down": lambda: pair_mark_down(pair, price=Decimal(5), note="", by=None),
    }
    with pytest.raises(ValidationError, match="is sold now"):
        steps[step]()
    pair.refresh_from_db()
    assert (pair.state, pair.sold_price, pair.asked) == ("sold", 90, 96)
    assert kinds(pair) == ["made", "sold"]


@pytest.mark.parametrize("price", ["96", "120"])
def test_marking_down_asks_less(pair, price):
    with pytest.raises(ValidationError, match=r"asks 96\.00 EUR now"):
        pair_mark_down(pair, price=Decimal(price), note="", by=None)
    assert kinds(pair) == ["made"]


@pytest.mark.django_db(transaction=True)
def test_of_two_who_sell_a_pair_at_once_one_is_told(pair):
    def sell_for(price):
        own = FinishedPair.objects.get(pk=pair.pk)
        try:
            sell(own, price)
        except ValidationError as refused:
            return refused.messages[0]
        return "sold"

    outcomes = at_once(lambda: sell_for("80"), lambda: sell_for("85"))
    assert sorted(outcomes) == [f"{pair.code} is sold now. Look at it again.", "sold"]
    assert PairStep.objects.filter(kind="sold").count() == 1


@pytest.fixture
def finished(quote, owner, supplies):
    job = accept(quote, owner)
    write_minutes(job, "Lasting", "60", owner)
    finish(job, owner)
    return job


def test_pairs_a_customer_does_not_take_go_on_the_shelf_at_what_they_cost(finished, quote, owner):
    counted = job_counted(finished).counted
    (pair,) = pairs_from_job(finished, by=owner)
    groups = ("material", "labour", "overhead")
    assert pair.cost == sum(counted.sum_of(group) for group in groups) > 0
    assert (pair.asked, pair.commission) == (quote.price, finished)
    # Nothing of whom it was made for; the size is the foot's length.
    assert pair.name == "Ankle boot, foot 75 mm, Calf, chestnut"
    assert Commission.objects.get(pk=finished.pk).state == "withdrawn"
    # Its work stays in the month and in what timings teach; it earns nothing itself.
    (job,) = month_report(month_named("")).jobs
    assert (job.is_to_shelf, job.income, job.fees, job.profit) == (True, 0, 0, 0)
    assert job.counted.active_min == counted.active_min > 0
    with pytest.raises(ValidationError, match="only pairs of a finished"):
        pairs_from_job(finished, by=owner)
    assert FinishedPair.objects.count() == 1


def test_the_cost_of_a_job_is_shared_out_over_its_pairs_to_the_cent(finished, owner):
    whole = job_counted(finished).counted
    Quote.objects.filter(commission=finished).update(pair_count=3)
    pairs = pairs_from_job(finished, by=owner)
    groups = ("material", "labour", "overhead")
    pairs_cost = sum(pair.cost for pair in pairs)
    assert (len(pairs), pairs_cost) == (3, sum(whole.sum_of(group) for group in groups))
    assert max(pair.cost for pair in pairs) - min(pair.cost for pair in pairs) <= Decimal("0.01")


def test_a_job_in_work_has_no_pairs_to_put_on_the_shelf(quote, owner, owner_client):
    job = accept(quote, owner)
    answer = owner_client.post(reverse("job-to-shelf", args=[job.pk]), follow=True)
    assert "is accepted: only pairs of a finished" in answer.content.decode()
    assert not FinishedPair.objects.exists()


def test_the_button_of_a_finished_job_puts_its_pair_on_the_shelf(finished, owner_client):
    page = owner_client.get(reverse("job", args=[finished.pk])).content.decode()
    address = reverse("job-to-shelf", args=[finished.pk])
    assert f'action="{address}"' in page
    answer = owner_client.post(address)
    assert answer.headers["Location"] == reverse("pair", args=[FinishedPair.objects.get().pk])


def test_pairs_made_for_the_shelf_are_noted_by_hand(owner_client, style_version):
    style = style_version.style
    sent = {**MADE, "count": "2", "made_on": today().isoformat(), "style": style.pk}
    answer = owner_client.post(reverse("pairs-new"), sent)
    assert answer.headers["Location"] == reverse("pairs")
    pairs = FinishedPair.objects.all()
    assert {(pair.name, pair.cost, pair.asked) for pair in pairs} == {
        (MADE["name"], Decimal("41.50"), Decimal(96))
    }
    assert {pair.style for pair in pairs} == {style.name}
    page = owner_client.get(reverse("pairs")).content.decode()
    assert page.count(MADE["name"]) == 2


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""),
        ("name", "x" * 161),
        ("count", "0"),
        ("count", "51"),
        ("count", "1.5"),
        ("cost", ""),
        ("cost", "-1"),
        ("cost", "NaN"),
        ("asked", "1e30"),
        ("asked", "much"),
        ("made_on", "2999-01-01"),
        ("made_on", "never"),
        ("article", "7"),
    ],
)
def test_faulty_pairs_are_shown_again_and_not_stored(owner_client, field, value):
    sent = {**MADE, "made_on": today().isoformat(), field: value}
    page = owner_client.post(reverse("pairs-new"), sent)
    assert page.status_code == 200
    assert page.context["form"].errors.keys() == {field}
    assert not FinishedPair.objects.exists()


def do(client, pair, address, step, **sent):
    data = {f"{step}-{name}": value for name, value in sent.items()}
    return client.post(reverse(address, args=[pair.pk, step]), data)


def test_every_step_can_be_done_on_the_pairs_page(owner_client, pair, stall, customer):
    day = today().isoformat()
    for address, step, sent, state in [
        ("pair-deal", "reserve", {"customer": f"{customer.code} Merle"}, "reserved"),
        ("pair-deal", "release", {}, "here"),
        ("pair-move", "take", {"place": stall.pk, "day": day}, "away"),
        ("pair-move", "back", {"day": day}, "here"),
        ("pair-deal", "mark-down", {"price": "80", "note": "n"}, "here"),
        ("pair-deal", "sell", {"price": "80", "place": stall.pk, "day": day}, "sold"),
        ("pair-deal", "return", {"day": day, "is_fee_back": "on"}, "here"),
    ]:
        page = owner_client.get(reverse("pair", args=[pair.pk])).content.decode()
        assert reverse(address, args=[pair.pk, step]) in page, step
        assert do(owner_client, pair, address, step, **sent).status_code == 302, step
        pair.refresh_from_db()
        assert pair.state == state, step
    page = owner_client.get(reverse("pair", args=[pair.pk])).content.decode()
    assert "came back from its buyer" in page


@pytest.mark.parametrize(
    ("step", "sent", "field"),
    [
        ("sell", {"price": "-1"}, "price"),
        ("sell", {"price": "NaN"}, "price"),
        ("sell", {"price": "10", "fee": "11"}, "fee"),
        ("sell", {"price": "10", "day": "2999-01-01"}, "day"),
        ("sell", {"price": "10", "place": "999"}, "place"),
        ("mark-down", {"price": "96"}, "price"),
        ("reserve", {"customer": "C-9999"}, "customer"),
        ("reserve", {"customer": "somebody"}, "customer"),
    ],
)
def test_a_faulty_step_is_shown_again_and_not_done(owner_client, pair, step, sent, field):
    page = do(owner_client, pair, "pair-deal", step, **{"day": today().isoformat(), **sent})
    assert page.status_code == 200
    (form,) = [form for key, _words, form, *_ in page.context["offered"] if key == step]
    assert form.errors.keys() == {field}
    pair.refresh_from_db()
    assert (pair.state, pair.asked, kinds(pair)) == ("here", 96, ["made"])


def test_an_unknown_step_and_one_of_the_other_kind_are_not_found(owner_client, pair):
    assert do(owner_client, pair, "pair-deal", "burn").status_code == 404
    assert do(owner_client, pair, "pair-move", "sell").status_code == 404


def test_who_comes_second_is_told_on_the_page(owner_client, pair):
    sell(pair)
    answer = do(owner_client, pair, "pair-deal", "sell", price="5", day=today().isoformat())
    page = owner_client.get(answer.headers["Location"]).content.decode()
    assert f"{pair.code} is sold now. Look at it again." in page


def test_a_helper_takes_pairs_to_a_stall_and_sees_no_amount(client, helper, pair, stall, customer):
    pair_reserve(pair, customer=customer, by=None)
    pair_release(pair, by=None)
    sell(pair, "918.27", place=stall)
    pair_return(pair, day=today(), is_fee_back=False, note="", by=None)
    client.force_login(helper)
    assert do(client, pair, "pair-move", "take", place=stall.pk, day=today()).status_code == 302
    for address in (reverse("pairs"), reverse("pair", args=[pair.pk])):
        answer = client.get(address)
        given = repr([layer.flatten() for layer in answer.context])
        for amount in ("918.27", "41.50", "96.00", "93.83", "EUR"):
            assert amount not in answer.content.decode(), address
        for amount in ("918.27", "41.5", "93.83"):
            assert amount not in given, address
    assert do(client, pair, "pair-deal", "sell", price="1").status_code == 403
    table = client.get(reverse("pairs-file")).content.decode("utf-8-sig")
    assert pair.code in table
    for amount in ("918.27", "41.50", "96.00", "93.83", "EUR"):
        assert amount not in table


def test_the_table_has_every_pair_with_what_it_earned(client, bookkeeper, pair, stall):
    pairs_made(name="=1+1", count=1, cost=Decimal(1), asked=Decimal(2), made_on=today(), by=None)
    sell(pair, place=stall)
    client.force_login(bookkeeper)
    text = client.get(reverse("pairs-file")).content.decode("utf-8-sig")
    formula, sold = list(csv.DictReader(io.StringIO(text)))
    assert (formula["name"], formula["earned"]) == ("'=1+1", "")
    figures = {key: sold[key] for key in ("state", "where", "paid", "tax", "fee", "earned")}
    assert figures == {
        "state": "sold",
        "where": "Craft fair",
        "paid": "90.00",
        "tax": "0.00",
        "fee": "11.00",
        "earned": "37.50",
    }
    page = client.get(reverse("pair", args=[pair.pk])).content.decode()
    assert "37.50" in page
    assert 'action="/pairs/' not in page


def test_the_list_goes_by_state_in_as_many_queries_for_many(owner_client, pair, stall, customer):
    def queries(**asked):
        with CaptureQueriesContext(connection) as found:
            page = owner_client.get(reverse("pairs"), asked)
        return len(found), [row.state for row in page.context["page"].rows]

    sell(pair, place=stall)
    few, states = queries()
    assert states == ["sold"]
    for other in pairs_made(
        name="More", count=5, cost=Decimal(1), asked=Decimal(2), made_on=today(), by=None
    ):
        pair_reserve(other, customer=customer, by=None)
    assert queries() == (few, ["reserved"] * 5 + ["sold"])
    assert queries(state="sold")[1] == ["sold"]
    assert queries(state="no such")[0] == few
