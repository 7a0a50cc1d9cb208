"""Supplies of a bill cost what the next goods on the shelf cost; every figure is invented."""

from decimal import Decimal
from fractions import Fraction

import pytest

from costing.bill_line import BillLine
from costing.how import How
from costing.money import round_half_up
from tests.workshop.fixtures_stock import make_supply
from workshop.models import WorkshopProfile
from workshop.services.quoting import Choice, work_out
from workshop.services.stock import stock_buy, stock_use
from workshop.stock_priced import bill_at_stock_cost

pytestmark = pytest.mark.django_db

PACK = Fraction("9.80") / 100  # of a metre of the thread


def buy(supply, quantity, paid):
    stock_buy(supply, quantity=Decimal(quantity), paid=Decimal(paid), reason="bought", by=None)


def thread_line(supply, quantity, unit="m", waste="0"):
    factor = {"m": 1, "cm": 100}[unit]
    cost = round_half_up(PACK / factor, 6)
    how = How("bill_flat", {"quantity": quantity, "unit": unit})
    return BillLine("thread", supply.name, Decimal(quantity), unit, cost, Decimal(waste), how)


def priced(supply, line, pairs=1):
    (found,) = bill_at_stock_cost([line], {"thread": supply}, pairs)
    return found


@pytest.fixture
def thread(db):
    """10 m for 2.00 came first, of which 4 m are used; then 5 m for 3.00."""
    supply = make_supply("thread")
    buy(supply, "10", "2.00")
    stock_use(supply, quantity=Decimal(4), reason="sewing", by=None)
    buy(supply, "5", "3.00")
    return supply


@pytest.mark.parametrize(
    ("quantity", "pairs", "cost"),
    [
        ("3", 1, 3 * Fraction("0.2")),
        ("3", 2, 6 * Fraction("0.2")),
        ("8", 1, 6 * Fraction("0.2") + 2 * Fraction("0.6")),
        # 11 m are there; the other 9 at the price of a pack.
        ("10", 2, 6 * Fraction("0.2") + 5 * Fraction("0.6") + 9 * PACK),
    ],
)
def test_the_oldest_goods_are_counted_first_and_a_pack_beyond_them(thread, quantity, pairs, cost):
    line = priced(thread, thread_line(thread, quantity), pairs)
    taken = Fraction(quantity) * pairs
    assert line.unit_cost == round_half_up(cost / taken, 6)
    assert "the oldest first" in line.hows[1]
    assert ("the rest at today's price of a pack" in line.hows[1]) == (taken > 11)


def test_the_average_of_what_is_there_and_another_unit(thread):
    WorkshopProfile.current()
    WorkshopProfile.objects.update(stock_cost="average")
    # 6 m at 0.20 and 5 m for 3.00: 4.20 for 11 m.
    line = priced(thread, thread_line(thread, "100", unit="cm", waste="0.5"))
    assert line.unit_cost == round_half_up(Fraction("4.20") / 11 / 100, 6)
    assert "on the average" in line.hows[1]


def test_an_empty_shelf_and_goods_at_the_price_of_a_pack_say_nothing_more(thread):
    empty = make_supply("thread", name="Thin thread")
    line = thread_line(empty, "3")
    assert priced(empty, line) == line
    usual = make_supply("thread", name="Usual thread", on_hand="100")
    line = thread_line(usual, "3")
    assert priced(usual, line) == line


def test_a_jobs_price_counts_what_its_supplies_cost(
    commission, foot_version, style_version, hide, supplies, rate_card
):
    choice = Choice(commission, foot_version, style_version, hide, 1)
    before = work_out(choice)
    box = supplies["box"]
    stock_use(box, quantity=Decimal(20), reason="all of them", by=None)
    buy(box, "5", "15.00")  # dearer than 1.40, what a pack makes a box
    after = work_out(choice)
    assert after.breakdown.cost - before.breakdown.cost == Decimal("1.60")
