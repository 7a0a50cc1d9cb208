"""Finished pairs in the month and in the worth of the stock; every figure is invented."""

import csv
import datetime
import io
from decimal import Decimal

import pytest

from tests.workshop.fixtures_stock import make_rate_card
from tests.workshop.test_places import make_place
from workshop.selectors.months import month_named, month_report, stock_on
from workshop.services.pairs import pair_return, pair_sell, pairs_made

pytestmark = pytest.mark.django_db

MADE_ON = datetime.date(2024, 4, 20)
SOLD_ON, BACK_ON, AGAIN_ON = (datetime.date(2024, month, 10) for month in (5, 6, 7))


@pytest.fixture
def pairs(db):
    """Two pairs of 41.50 each; the first sold for 90.00 at a fair, back in June, sold in July."""
    make_rate_card(tax_pct=Decimal(20))
    fair = make_place({"pct": Decimal(10), "fixed": Decimal("2.00")}).place
    values = {"cost": Decimal("41.50"), "asked": Decimal(96), "made_on": MADE_ON}
    made = pairs_made(name="Ankle boot, 75 mm", count=2, by=None, **values)
    pair_sell(made[0], price=Decimal(90), day=SOLD_ON, place=fair, by=None)
    pair_return(made[0], day=BACK_ON, is_fee_back=False, note="too tight", by=None)
    pair_sell(made[0], price=Decimal(60), day=AGAIN_ON, by=None)
    return made


def sums(day):
    (row,) = month_report(month_named(f"{day:%Y-%m}")).totals
    return (row.jobs, row.pairs, row.sold, row.income, row.fees, row.shelf_cost, row.profit)


def test_what_was_sold_off_the_shelf_earns_in_the_month_of_its_sale(pairs):
    # 90.00 with 20 % tax in it: 15.00 tax; the fair keeps 9.00 + 2.00; the pair cost 41.50.
    amounts = ("75.00", "11.00", "41.50", "22.50")
    assert sums(SOLD_ON) == (0, 0, 1, *map(Decimal, amounts))
    # Back from its buyer: income and cost the other way, the fee stays with the fair.
    assert sums(BACK_ON) == (0, 0, -1, *map(Decimal, ("-75.00", "0", "-41.50", "-33.50")))
    assert sums(AGAIN_ON) == (0, 0, 1, *map(Decimal, ("50.00", "0", "41.50", "8.50")))
    # Over the months it is what the pair's own page says it earned.
    assert sum(sums(day)[-1] for day in (SOLD_ON, BACK_ON, AGAIN_ON)) == pairs[0].earned


def test_a_fee_that_was_given_back_is_taken_off_again(pairs):
    fair = pairs[0].steps.filter(kind="sold")[0].place
    pair_sell(pairs[1], price=Decimal(90), day=SOLD_ON, place=fair, by=None)
    pair_return(pairs[1], day=BACK_ON, is_fee_back=True, note="", by=None)
    assert sums(SOLD_ON)[4] == 22
    assert sums(BACK_ON)[4] == -11


@pytest.mark.parametrize(
    ("day", "there"),
    [
        (datetime.date(2024, 4, 19), 0),
        (MADE_ON, 2),
        (SOLD_ON, 1),
        (datetime.date(2024, 6, 9), 1),
        (BACK_ON, 2),
        (AGAIN_ON, 1),
    ],
)
def test_pairs_that_are_not_sold_are_stock_at_what_they_cost(pairs, owner_client, day, there):
    stock = stock_on(day)
    assert stock.pairs_value == stock.value == there * Decimal("41.50")
    answer = owner_client.get("/month/stock.csv", {"day": day.isoformat()})
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert [row["value"] for row in rows] == ["41.50"] * there


def test_the_bookkeeper_has_each_sale_as_a_row(pairs, owner_client):
    answer = owner_client.get("/month/pairs.csv", {"month": "2024-05"})
    (row,) = csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig")))
    assert (row["day"], row["pair"], row["what"]) == ("2024-05-10", pairs[0].code, "sold")
    figures = ("price", "tax", "price_without_tax", "fee", "cost", "profit")
    assert [row[name] for name in figures] == [
        "90.00", "15.00", "75.00", "11.00", "41.50", "22.50",
    ]  # fmt: skip
    page = owner_client.get("/month/", {"month": "2024-05"}).content.decode()
    assert "Sold off the shelf" in page
    assert "no style named" in page
