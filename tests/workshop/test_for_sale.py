"""The list for sale: priced by the worker, prices taken or left, guides, and what is refused."""

import csv
import io
from decimal import Decimal
from fractions import Fraction
from math import ceil

import pytest
from django.urls import reverse
from django_q.models import OrmQ

from tests.workshop.fixtures_stock import make_lot, make_rate_card
from tests.workshop.test_places import make_place
from workshop import article_prices
from workshop import work as work_module
from workshop.models import Article, ArticlePrice, AuditEntry, Doll, WorkshopProfile
from workshop.selectors.for_sale import article_rows, finished_run, latest_run
from workshop.services.for_sale import pairs_add, prices_answer, prices_work_out
from workshop.services.library import foot_measure
from workshop.services.places import place_offer
from workshop.services.quoting import Choice, work_out
from workshop.services.records import record_save
from workshop.work import run

pytestmark = pytest.mark.django_db

LENGTHS = (75, 81)


@pytest.fixture
def sizes(owner):
    made = []
    for length in LENGTHS:
        doll = Doll(name=f"House {length}", material="other")
        record_save(doll, by=owner)
        measures = {"foot_length": Decimal(length), "ball_girth": Decimal(length) - Decimal("0.8")}
        foot = foot_measure(doll=doll, foot_side="left", measures=measures, reason="x", by=owner)
        made.append(foot)
    return made


@pytest.fixture
def listed(sizes, style_version, leather_lot, supplies, rate_card, owner):
    return pairs_add(style_version, sizes, [leather_lot], None, by=owner)


def work_now(owner):
    work = prices_work_out(by=owner)
    run(work.pk)
    work.refresh_from_db()
    assert work.state == "done", work.fault
    return work


def rows_by_code():
    return {row.article.code: row for row in article_rows()}


def test_a_style_over_sizes_and_leathers_is_priced_taken_and_watched(
    owner_client, owner, sizes, style_version, leather_lot, supplies, rate_card
):
    goat = make_lot(name="Goat", colour="sand", price=Decimal("0.90"))
    sent = {
        "style": style_version.pk,
        "sizes": [foot.pk for foot in sizes],
        "leathers": [leather_lot.pk, goat.pk],
    }
    assert owner_client.post("/for-sale/new/", sent).headers["Location"] == "/for-sale/"
    assert Article.objects.count() == 4
    owner_client.post("/for-sale/new/", sent)
    assert Article.objects.count() == 4  # what is there already stays
    work = work_now(owner)
    rows = article_rows()
    assert all(row.waits and row.asked is None and not row.is_below_floor for row in rows)
    # The same road as a job's price for the same foot, style and leather.
    first = rows[0]
    a = first.article
    same = work_out(Choice(None, a.foot, a.style, hide=None, lot=a.lot, pair_count=1)).breakdown
    assert (first.today.price, first.today.cost) == (same.price_per_pair, same.cost)
    # Dearer leather costs more, whatever the size.
    by_leather = {(row.article.foot_id, row.article.lot_id): row.today.cost for row in rows}
    for foot in sizes:
        assert by_leather[foot.pk, goat.pk] < by_leather[foot.pk, leather_lot.pk]

    owner_client.post("/for-sale/answer/", {"run": work.pk, "answer": "take"})
    assert ArticlePrice.objects.count() == 4
    assert not any(row.waits for row in article_rows())
    row = rows_by_code()[a.code]
    assert row.asked.price == first.today.price
    # Taken from a run, a price leaves what that run worked out.
    assert (row.today.kept_profit, row.is_below_floor) == (first.today.profit, False)

    # Hours get dearer: cost then and now, what is left, and the mark below the floor.
    make_rate_card(labour_rate_per_hour=Decimal("30"))
    work_now(owner)
    row = rows_by_code()[a.code]
    assert row.today.cost > row.asked.cost
    assert row.cost_change == row.today.cost - row.asked.cost
    assert row.price_change > 0
    assert row.today.kept_profit < row.asked.profit
    assert row.is_below_floor
    assert row.waits
    page = owner_client.get("/for-sale/").content.decode()
    assert "below the floor" in page
    assert "4 articles now leave less than 10 %" in page
    WorkshopProfile.objects.update(profit_floor_pct=Decimal(-99))
    assert not rows_by_code()[a.code].is_below_floor

    # One left, one taken; the others still wait.
    latest = finished_run()
    owner_client.post("/for-sale/answer/", {"run": latest.pk, "answer": f"leave-{a.pk}"})
    other = next(row for row in article_rows() if row.waits)
    owner_client.post("/for-sale/answer/", {"run": latest.pk, "answer": f"take-{other.article.pk}"})
    after = rows_by_code()
    assert (after[a.code].waits, after[a.code].asked.price) == (False, first.today.price)
    assert after[other.article.code].asked.price == other.today.price
    assert sum(row.waits for row in after.values()) == 2
    assert AuditEntry.objects.filter(record_kind="articleprice").count() == 5
    shown = owner_client.get(f"/for-sale/{a.pk}/").content.decode()
    assert "Worked out today" in shown
    older = owner_client.get(f"/for-sale/{other.article.pk}/").content.decode()
    assert "Asked before" in older


def test_the_table_is_plain_and_runs_no_formula(owner_client, owner, listed, leather_lot):
    leather_lot.name = "=HYPERLINK(1)"
    leather_lot.save()
    work = work_now(owner)
    prices_answer(listed, work.pk, take=True, by=owner)
    content = owner_client.get("/for-sale/list.csv").content.decode("utf-8-sig")
    table = list(csv.DictReader(io.StringIO(content)))
    assert [row["foot_length_mm"] for row in table] == ["75", "81"]
    assert {row["leather"] for row in table} == {"'=HYPERLINK(1)"}
    for row, article in zip(table, article_rows(), strict=True):
        assert Decimal(row["price_asked"]) == article.asked.price
        assert Decimal(row["cost_today"]) == article.today.cost
        assert row["below_floor"] == "no"


def test_a_guide_costs_its_paper_and_minutes_and_no_pair(owner_client, owner, rate_card):
    version = make_place({"name": "share", "pct": Decimal("5"), "fixed": Decimal("0.20")})
    style = _style()
    sent = {
        "style": style.pk,
        "place": version.place_id,
        "printing_cost": "1.85",
        "minutes": "12.5",
    }
    assert owner_client.post("/for-sale/guide/", sent).status_code == 302
    work_now(owner)
    (row,) = article_rows()
    # Recomputed in fractions from the card of the fixture: 18 an hour, 4 overhead an hour, tax 21 %
    # included, 20 % profit of the price without tax, fee of the price with tax, up to the half.
    hours = Fraction(25, 2) / 60
    labour, overhead = _cents(hours * 18), _cents(hours * 4)
    cost = Fraction("1.85") + labour + overhead
    assert row.today.cost == _decimal(cost)
    net = (cost + Fraction("0.20")) / (1 - Fraction("0.05") * Fraction("1.21") - Fraction("0.2"))
    price = Fraction(ceil(net * Fraction("1.21") * 2), 2)
    assert row.today.price == _decimal(price)
    fees = _cents(price * Fraction("0.05") + Fraction("0.20"))
    before_tax = _cents(price / Fraction("1.21"))
    assert row.today.profit == _decimal(before_tax - fees - cost)


def _style():
    from workshop.models import Style
    from workshop.services.styles import style_make

    return style_make(Style(name="Ankle boot", file_name="lace-up-ankle-boot"), by=None)


def _cents(value: Fraction) -> Fraction:
    return Fraction(int(value * 100 + Fraction(1, 2)), 100)


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


def test_a_price_is_answered_once_and_only_from_the_newest_run(owner_client, owner, listed):
    first = work_now(owner)
    second = work_now(owner)
    article = listed[0]

    def answered(run_id, answer):
        page = owner_client.post(
            "/for-sale/answer/", {"run": run_id, "answer": answer}, follow=True
        )
        return " ".join(str(said) for said in page.context["messages"])

    assert "worked out again since" in answered(first.pk, f"take-{article.pk}")
    assert "worked out again since" in answered("nonsense", "take")
    assert "take or to leave" in answered(second.pk, f"burn-{article.pk}")
    assert "1 price is asked" in answered(second.pk, f"take-{article.pk}")
    assert "answered already" in answered(second.pk, f"take-{article.pk}")
    assert ArticlePrice.objects.count() == 1
    # Off the list nothing is taken, and two of the same never stand on it.
    owner_client.post(f"/for-sale/{listed[1].pk}/offer/", {"offer": "0"})
    assert "off the list" in answered(second.pk, f"take-{listed[1].pk}")
    assert len(article_rows()) == 1
    assert [row.article for row in article_rows(offered=False)] == [listed[1]]
    pairs_add(article.style, [listed[1].foot], [article.lot], None, by=owner)
    page = owner_client.post(f"/for-sale/{listed[1].pk}/offer/", {"offer": "1"}, follow=True)
    assert "is on the list already" in page.content.decode()


def test_what_has_no_price_says_why_and_the_others_have_theirs(
    owner_client, owner, sizes, style_version, leather_lot, supplies, rate_card
):
    version = make_place({"pct": Decimal("5")}, name="Autumn fair")
    pairs_add(style_version, sizes[:1], [leather_lot], version.place, by=owner)
    pairs_add(style_version, sizes[:1], [leather_lot], None, by=owner)
    place_offer(version.place, is_offered=False, by=owner)
    work_now(owner)
    faulty, sound = sorted(article_rows(), key=lambda row: row.article.place_id is None)
    assert "no longer offered" in faulty.fault
    assert not faulty.waits
    assert sound.waits
    assert "no longer offered" in owner_client.get("/for-sale/").content.decode()


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"sizes": []}, "sizes"), ({"leathers": ["999999"]}, "leathers"), ({"style": "x"}, "style"),
     ({"place": "4711"}, "place")],
)  # fmt: skip
def test_a_faulty_choice_is_told_and_nothing_is_listed(
    owner_client, sizes, style_version, leather_lot, changes, field
):
    sent = {"style": style_version.pk, "sizes": [sizes[0].pk], "leathers": [leather_lot.pk]}
    answer = owner_client.post("/for-sale/new/", {**sent, **changes})
    assert answer.status_code == 200
    assert list(answer.context["form"].errors) == [field]
    assert not Article.objects.exists()


@pytest.mark.parametrize(
    "changes", [{"minutes": "-1"}, {"minutes": "NaN"}, {"printing_cost": "1e30"}]
)
def test_a_faulty_guide_is_told_beside_its_field(owner_client, style_version, changes):
    sent = {"style": style_version.pk, "printing_cost": "1", "minutes": "5", **changes}
    answer = owner_client.post("/for-sale/guide/", sent)
    assert answer.status_code == 200
    assert list(answer.context["form"].errors) == list(changes)
    assert not Article.objects.exists()


def test_an_empty_list_has_nothing_to_work_out(owner_client):
    page = owner_client.post("/for-sale/work-out/", follow=True).content.decode()
    assert "Nothing is on the list yet." in page
    assert owner_client.get("/for-sale/?place=4711&off=1").status_code == 200


@pytest.fixture
def priced(monkeypatch):
    """Count how often each article is priced, and let every piece of the work be one article."""
    counts: dict[str, int] = {}

    def count(article, asked, row=article_prices._row):
        counts[article.code] = counts.get(article.code, 0) + 1
        return row(article, asked)

    monkeypatch.setattr(article_prices, "_row", count)
    monkeypatch.setattr(work_module, "PIECE_S", 0.0)
    return counts


def turn(work):
    """Let the worker do one piece."""
    run(work.pk)
    work.refresh_from_db()
    return work


def test_pricing_goes_on_piece_by_piece_and_prices_each_article_once(
    listed, priced, owner, owner_client, leather_lot
):
    goat = make_lot(name="Goat", colour="sand")
    pairs_add(listed[0].style, [listed[0].foot], [goat], None, by=owner)
    work = turn(prices_work_out(by=owner))
    assert (work.state, work.attempts, len(work.so_far["rows"])) == ("waiting", 0, 1)
    assert OrmQ.objects.exists()  # the rest stands in the queue again
    # Stopped between two pieces: the page says how far it came, and goes on from there.
    owner_client.post(reverse("background-stop", args=[work.pk]))
    page = owner_client.get("/for-sale/").content.decode()
    assert "1 of 3 are priced already" in page
    owner_client.post(reverse("background-again", args=[work.pk]), {"back": "/for-sale/"})
    again = latest_run()
    assert again.pk != work.pk
    for _piece in range(2):
        assert again.state != "done"
        turn(again)
    assert again.state == "done", again.fault
    assert (set(priced.values()), len(again.result["rows"])) == ({1}, 3)


def test_prices_kept_by_other_rates_are_worked_out_again(listed, priced, owner):
    work = turn(prices_work_out(by=owner))
    make_rate_card(labour_rate_per_hour=Decimal(30))
    while turn(work).state == "waiting":
        pass
    assert (work.state, sorted(priced.values())) == ("done", [1, 2])
    assert {row["rate_card"] for row in work.result["rows"].values()} == {2}
