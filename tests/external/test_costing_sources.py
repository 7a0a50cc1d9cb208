"""Figures of costing against published sources."""

from decimal import Decimal
from fractions import Fraction

import pytest

from costing.actuals import cumulative_average, learning_rate
from costing.consumption import (
    chainstitch_thread_ratio,
    criss_cross_length_mm,
    lacing_length_mm,
    lockstitch_thread_ratio,
    thread_length_mm,
)
from costing.job_file import job_from_document
from costing.money import CURRENCY_DIGITS, currency_digits, to_minor_unit
from costing.overhead import OverheadRates, absorption_rate, overhead_amount
from costing.price import (
    price_job,
    profit_at_price,
    profit_of_price_from_on_cost,
    profit_on_cost_from_of_price,
)
from costing.stock_cost import Issue, Receipt, fifo_cost, moving_average_cost, specific_cost
from tests.samples_jobs import plain_job

pytestmark = pytest.mark.external

MM_PER_INCH = 25.4


def bare_job(cost, **changes):
    """Return a job of one material at a cost, with no other charge unless asked for."""
    document = plain_job(
        quantity=1,
        materials=[
            {"name": "all", "quantity": "1", "unit": "x", "unit_cost": cost, "waste_pct": "0"}
        ],
        steps=[],
        overhead={"per_active_hour": "0", "pct_of_direct": "0"},
        fees={"pct": "0", "fixed": "0", "on": "price_with_tax"},
        tax={"pct": "0", "included": True},
        profit={"kind": "markup", "pct": "0"},
        round_up_to="0.01",
    )
    return job_from_document(document | changes)


# --- thread ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("thickness_in", "stitches_per_in", "ratio"),
    [
        # Source: textilecalculations.com, "Calculate amount of sewing thread consumption":
        # 301 lockstitch 2 + 2 T S for each unit of seam; T 0.01 in, S 10: 2.2.
        (0.01, 10.0, 2.2),
        # The published ratio 1:2.5 (a stitch-type guide, scribd document 49933681) is T S = 0.25.
        (0.025, 10.0, 2.5),
    ],
)
def test_lockstitch_ratio_matches_the_published_formula(thickness_in, stitches_per_in, ratio):
    found = lockstitch_thread_ratio(thickness_in * MM_PER_INCH, MM_PER_INCH / stitches_per_in)
    assert found == pytest.approx(ratio)


def test_chainstitch_ratio_matches_the_published_formula():
    # Source: textilecalculations.com, "Calculate amount of sewing thread consumption": 101 chain
    # stitch 3 + 2 T S; T 0.005 in, S 9: 3.09.
    found = chainstitch_thread_ratio(0.005 * MM_PER_INCH, MM_PER_INCH / 9.0)
    assert found == pytest.approx(3.09)


def test_published_seam_takes_its_thread():
    # Source: a stitch-type guide (scribd document 49933681): 301 at 1:2.5, 220 cm take 550 cm.
    assert thread_length_mm(2200.0, 2.5) == pytest.approx(5500.0)


def test_published_waste_is_added_to_the_thread():
    # Source: apparelscience.com, thread consumption: (130 + 410) cm x 1.15 = 621 cm.
    assert thread_length_mm(1300.0, 1.0, ends_mm=4100.0, added_share=0.15) == pytest.approx(6210.0)


# --- lace -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    # Source: open criss-cross, g + 2 (n - 1) sqrt(g^2 + d^2) (form from memory; the shortest
    # alternating lacing, as "The Shoelace Problem", Mathematical Intelligencer, Fall 1995, proves;
    # its place was checked by trying every lacing of 2 to 5 rows). g 20, d 8 mm.
    ("rows", "length_mm"),
    [(3, 106.163), (4, 149.244), (5, 192.325)],
)
def test_criss_cross_lace_has_the_closed_form_length(rows, length_mm):
    found = criss_cross_length_mm(20.0, [8.0] * (rows - 1))
    assert found == pytest.approx(length_mm, abs=5e-4)


def test_criss_cross_lace_agrees_with_the_published_shortest_lengths():
    # Source: "What is the best way to lace your shoes?", Nature 420, 476 (2002): closed criss-cross
    # 2 + 2 (n - 1) sqrt(1 + h^2) at gap 1; ours is open, so the second straight run is left out.
    # h 0.4: n 4 gives 8.4622, n 5 gives 10.6163.
    assert criss_cross_length_mm(1.0, [0.4] * 3) + 1.0 == pytest.approx(8.4622, abs=5e-5)
    assert criss_cross_length_mm(1.0, [0.4] * 4) + 1.0 == pytest.approx(10.6163, abs=5e-5)


def test_lacings_have_the_published_order_of_length():
    # Source: "The Shoelace Problem", Mathematical Intelligencer, Fall 1995: criss-cross is shorter
    # than straight, and straight than shop, from four rows on; straight equals shop at three.
    for rows in (4, 5, 6, 8):
        pitches = [8.0] * (rows - 1)
        crossed, straight, shop = (
            lacing_length_mm(way, 20.0, pitches) for way in ("criss-cross", "straight", "shop")
        )
        assert crossed < straight < shop
    three = [lacing_length_mm(way, 20.0, [8.0] * 2) for way in ("straight", "shop")]
    assert three[0] == pytest.approx(three[1])


# --- learning -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    # Source: exam papers with answers (opentuition.com), cumulative average model: 45 x
    # 100^-0.152 = 22.3467 at 90 % (their b has three places, hence the tolerance); 50 min at 80 %,
    # x = 4: 32 (business-analysis-made-easy.com/learning-curve.html); 1,000 h at 80 %, average of
    # 4: 640 (a practice question).
    ("first", "rate", "count", "average", "tolerance"),
    [(45, 0.9, 100, 22.346654, 1e-3), (50, 0.8, 4, 32, 1e-12), (1000, 0.8, 4, 640, 1e-12)],
)
def test_learning_curve_gives_the_published_averages(first, rate, count, average, tolerance):
    assert cumulative_average(first, rate, count) == pytest.approx(average, rel=tolerance)


@pytest.mark.parametrize(
    # Source: the same exam papers: first 12.5 h and 34.3 h for 8 is a rate of 0.70; a first batch
    # of 1,500 and 9,000 for 16 is 0.7825.
    ("first", "total", "count", "rate", "tolerance"),
    [(12.5, 34.3, 8, 0.70, 1e-9), (1500, 9000, 16, 0.7825, 1e-4)],
)
def test_learning_rate_is_found_again(first, total, count, rate, tolerance):
    assert learning_rate(first, total / count, count) == pytest.approx(rate, abs=tolerance)


# --- job costing ----------------------------------------------------------------------------


def test_absorption_rate_of_the_textbook():
    # Source: Principles of Accounting, volume 2, Managerial Accounting (OpenStax), 4.4:
    # 250,000 of overhead on 100,000 of labour: 2.50.
    assert absorption_rate(Decimal(250_000), Decimal(100_000)) == Fraction("2.50")


def test_overhead_applied_in_the_textbook():
    # Source: the same, 4.6: 33.50 an hour x 6,240 h = 209,040.
    rates = OverheadRates(Decimal("33.50"), Decimal(0))
    assert overhead_amount(rates, Fraction(6240 * 60), Fraction(0)) == 209_040


def test_job_sheet_of_the_textbook_and_what_it_earns():
    # Source: the same, 4.5: materials 300 + 100 + 60 + 60 + 120 + 60 = 700; labour 15 + 15 + 36
    # = 66; overhead 66 x 2.50 = 165; total 931; sold at 2,000. Labour of 1.00 an hour makes labour
    # money and hours the same number. 1,069 earned: 53.45 % of the price, 114.82 % on cost.
    document = plain_job(
        quantity=1,
        materials=[
            {"name": "m", "quantity": "1", "unit": "x", "unit_cost": cost, "waste_pct": "0"}
            for cost in ("300", "100", "60", "60", "120", "60")
        ],
        steps=[{"name": "s", "minutes": str(60 * hours), "per": "order"} for hours in (15, 15, 36)],
        labour_rate_per_hour="1.00",
        overhead={"per_active_hour": "2.50", "pct_of_direct": "0"},
        fees={"pct": "0", "fixed": "0", "on": "price_with_tax"},
        tax={"pct": "0", "included": True},
    )
    sold = profit_at_price(job_from_document(document), Decimal("2000.00"))
    by_group = {
        group: sum(line.amount for line in sold.lines if line.group == group)
        for group in ("material", "labour", "overhead")
    }
    assert by_group == {"material": 700, "labour": 66, "overhead": 165}
    assert (sold.cost, sold.profit) == (931, 1069)
    assert sold.profit_percent_of_price == Decimal("53.45")
    assert sold.profit_percent_of_cost == Decimal("114.82")


@pytest.mark.parametrize(
    # Source: the same, chapter 9: cost plus profit on cost.
    ("cost", "on_cost", "price"),
    [("10", "30", "13.00"), ("12", "30", "15.60"), ("8", "20", "9.60"), ("9", "20", "10.80")],
)
def test_profit_on_cost_of_the_textbook(cost, on_cost, price):
    job = bare_job(cost, profit={"kind": "markup", "pct": on_cost})
    assert price_job(job).price == Decimal(price)


@pytest.mark.parametrize(
    # Source: identity g = m / (1 + m) of profit of the price and profit on cost.
    ("on_cost", "of_price"),
    [(25, Fraction(20)), (50, Fraction(100, 3)), (100, Fraction(50)), (200, Fraction(200, 3))],
)
def test_profit_of_price_and_on_cost_turn_into_each_other(on_cost, of_price):
    assert profit_of_price_from_on_cost(Fraction(on_cost, 100)) == of_price / 100
    assert profit_on_cost_from_of_price(of_price / 100) == Fraction(on_cost, 100)


# --- stock cost -----------------------------------------------------------------------------

# Source: Principles of Accounting, volume 1, Financial Accounting (OpenStax), 10.2-10.3:
# lots 150 at 21, 225 at 27, 210 at 33; 120 sold from the first, 180 after the second.
FIRST = Receipt("first", Decimal(150), Decimal(21))
SECOND = Receipt("second", Decimal(225), Decimal(27))
THIRD = Receipt("third", Decimal(210), Decimal(33))
SALES = 120 * 36 + 180 * 39


def textbook_moves(first_sale=None, second_sale=None):
    return [FIRST, Issue(Decimal(120), first_sale), SECOND, Issue(Decimal(180), second_sale), THIRD]


def test_first_in_first_out_of_the_textbook():
    cost = fifo_cost(textbook_moves())
    assert (cost.issued_cost, cost.stock_value, cost.on_hand) == (7_200, 8_955, 285)
    assert SALES - cost.issued_cost == 4_140


def test_own_cost_of_each_lot_of_the_textbook():
    moves = textbook_moves({"first": Decimal(120)}, {"first": Decimal(20), "second": Decimal(160)})
    cost = specific_cost(moves)
    assert (cost.issued_cost, cost.stock_value) == (7_260, 8_895)
    assert SALES - cost.issued_cost == 4_080


def test_moving_average_of_the_textbook():
    # 26.2941 then 31.2353 a unit; the book shows whole money, 7,253 and 8,902.
    cost = moving_average_cost(textbook_moves())
    shown = [to_minor_unit(value, "USD") for value in (cost.issued_cost, cost.stock_value)]
    assert shown == [Decimal("7252.94"), Decimal("8902.06")]
    assert round(cost.stock_value / cost.on_hand, 4) == Fraction("31.2353")
    before_third = moving_average_cost(textbook_moves()[:-2])
    assert round(before_third.stock_value / before_third.on_hand, 4) == Fraction("26.2941")


# --- fees, tax, rounding --------------------------------------------------------------------


def test_fee_is_grossed_up():
    # Source: identity P = (N + f) / (1 - r): N 100, r 2.9 %, f 0.30 gives 103.2956.
    fees = {"pct": "2.9", "fixed": "0.30", "on": "price_with_tax"}
    breakdown = price_job(bare_job("100", fees=fees))
    assert breakdown.price == Decimal("103.30")
    assert breakdown.price - breakdown.fees >= 100
    # Put on top, 103.20, it would leave 99.91 (99.9072).
    assert profit_at_price(bare_job("100", fees=fees), Decimal("103.20")).profit == Decimal("-0.09")


def test_fee_on_the_price_with_tax_is_grossed_up():
    # Source: identity P = (N + f) / (1 / (1 + v) - r): N 100, r 2.9 %, f 0.30, v 20 %: 124.6996.
    fees = {"pct": "2.9", "fixed": "0.30", "on": "price_with_tax"}
    breakdown = price_job(bare_job("100", fees=fees, tax={"pct": "20", "included": True}))
    assert breakdown.price == Decimal("124.70")


@pytest.mark.parametrize(
    # Source: tax on half a penny and more goes up, below it goes down (HMRC internal manual
    # VATREC12030); the same half up in decimal arithmetic, away from zero below zero.
    ("amount", "shown"),
    [
        ("2.665", "2.67"),
        ("2.675", "2.68"),
        ("0.005", "0.01"),
        ("0.015", "0.02"),
        ("0.025", "0.03"),
        ("-2.665", "-2.67"),
        ("0.0049", "0.00"),
    ],
)
def test_half_of_the_least_coin_goes_up(amount, shown):
    assert to_minor_unit(Decimal(amount), "GBP") == Decimal(shown)


def test_tax_is_rounded_once_on_the_total():
    # Source: 3 x 0.33 at 20 %: 0.21 by the line, 0.20 on the total; the method is the state's own
    # (Court of Justice, C-484/06, 2008). Ours is the total.
    tax = {"pct": "20", "included": False}
    assert profit_at_price(bare_job("0", tax=tax), Decimal("0.99")).tax == Decimal("0.20")
    assert profit_at_price(bare_job("0", tax=tax), Decimal("0.33")).tax * 3 == Decimal("0.21")


# --- currencies -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    # Source: ISO 4217 minor units, from code lists made of ISO's own; IDR is from memory.
    ("codes", "digits"),
    [
        ("JPY KRW CLP ISK", 0),
        ("EUR USD GBP CHF CAD AUD CZK PLN SEK IDR", 2),
        ("BHD KWD JOD OMR TND IQD", 3),
        ("CLF", 4),
    ],
)
def test_currency_has_the_digits_of_iso_4217(codes, digits):
    assert [currency_digits(code) for code in codes.split()] == [digits] * len(codes.split())


def test_every_currency_code_is_three_capital_letters():
    assert all(len(code) == 3 and code.isascii() and code.isupper() for code in CURRENCY_DIGITS)
