"""Supplies of a bill cost what the next goods on the shelf cost; every figure is invented."""

from decimal import Decimal
from fractions import Fraction

import pytest

from costing.bill_line import BillLine
from costing.how import How
from costing.money import round_half_up
from tests.workshop.fixtures_stock import make_supply
from workshop.models import WorkshopProfile
from workshop.selectors.supply_needs import bill_needs
from workshop.services.quote_snapshot import bill_line_document
from workshop.services.quoting import Choice, work_out
from workshop.services.stock import stock_buy, stock_use
from workshop.stock_priced import bill_at_stock_cost, bills_at_stock_cost

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


def test_lines_made_together_take_the_next_goods_together_and_no_more(thread):
    box = make_supply("box", on_hand="20")
    short, long = thread_line(thread, "1"), thread_line(thread, "2")
    # 2 pairs of 1 m and 3 pairs of 2 m: of the 8 m the last two cost three times as much.
    both = bills_at_stock_cost([([short], 2), ([long], 3)], {"thread": thread, "box": box})
    each = (6 * Fraction("0.2") + 2 * Fraction("0.6")) / 8
    assert [row.unit_cost for (row,) in both] == [round_half_up(each, 6)] * 2
    # A line without thread takes none: the two pairs alone stay on the cheap goods.
    alone = bills_at_stock_cost([([short], 2), ([], 3)], {"thread": thread, "box": box})
    assert alone[0][0].unit_cost == round_half_up(Fraction("0.2"), 6)


def test_two_supplies_of_one_name_are_told_apart_by_what_they_are_used_as(thread):
    cord = make_supply("thread", name="White", on_hand="0")
    buy(cord, "10", "1.00")
    lace = make_supply("lace", name="White", on_hand="0")
    buy(lace, "10", "9.00")
    how = How("bill_flat", {"quantity": "2", "unit": "m"})
    lines = [
        BillLine(key, "White", Decimal(2), "m", Decimal(5), Decimal(0), how)
        for key in ("thread", "lace")
    ]
    found = bill_at_stock_cost(lines, {"thread": cord, "lace": lace}, 1)
    assert [line.unit_cost for line in found] == [Decimal("0.1"), Decimal("0.9")]
    needs = bill_needs([bill_line_document(line) for line in found], 3)
    assert [(need.supply, need.thousandths) for need in needs.found] == [
        (lace, 6000),
        (cord, 6000),
    ]
