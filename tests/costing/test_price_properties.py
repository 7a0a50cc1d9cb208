from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from costing.errors import JobError
from costing.job_file import job_from_document
from costing.money import minor_unit
from costing.price import floor_price, price_job, profit_at_price
from tests.samples_jobs import job_documents, plain_job

DEARER = [
    ("labour_rate_per_hour",),
    ("overhead", "per_active_hour"),
    ("overhead", "pct_of_direct"),
    ("fees", "pct"),
    ("fees", "fixed"),
    ("profit", "pct"),
    ("materials", 0, "quantity"),
    ("materials", 0, "unit_cost"),
    ("materials", 0, "waste_pct"),
    ("steps", 0, "minutes"),
]


@given(job_documents())
def test_shown_lines_add_up_to_the_cost_and_shown_parts_to_the_price(document):
    breakdown = price_job(job_from_document(document))
    assert sum(line.amount for line in breakdown.lines) == breakdown.cost
    parts = (breakdown.cost, breakdown.tax, breakdown.fees, breakdown.profit)
    assert sum(parts) == breakdown.price
    assert breakdown.price_without_tax + breakdown.tax == breakdown.price
    said = breakdown.price if document["tax"]["included"] else breakdown.price_without_tax
    assert breakdown.price_per_pair * breakdown.pair_count == said


@given(job_documents())
def test_every_amount_says_how_it_came_about_and_ends_in_itself(document):
    breakdown = price_job(job_from_document(document))
    for part in (*breakdown.lines, *breakdown.totals):
        assert part.how.endswith(f" = {part.amount:f}")
        assert "%(" not in part.how


@given(job_documents())
def test_price_is_a_multiple_and_earns_the_profit_asked(document):
    job = job_from_document(document)
    breakdown = price_job(job)
    assert breakdown.price_per_pair % job.round_up_to == 0
    share = Fraction(job.profit.percent) / 100
    kept = Fraction(breakdown.cost) * (1 + share)
    if job.profit.kind == "margin":
        kept = Fraction(breakdown.cost) + share * Fraction(breakdown.price_without_tax)
    earned = Fraction(breakdown.price - breakdown.tax - breakdown.fees)
    # Tax and fees are each rounded by half a minor unit at most; more is never lost.
    assert earned >= kept - 2 * minor_unit(job.currency)


@given(job_documents(), st.sampled_from(DEARER), st.integers(1, 10**4))
def test_dearer_input_never_lowers_a_price(document, path, thousandths):
    assume(path[0] not in ("materials", "steps") or document[path[0]])
    before = price_job(job_from_document(document))
    place = document
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = str(Decimal(place[path[-1]]) + Decimal(thousandths) / 1000)
    after = price_job(job_from_document(document))
    assert after.price >= before.price


@given(job_documents())
def test_price_typed_again_earns_the_same_profit(document):
    job = job_from_document(document)
    breakdown = price_job(job)
    typed = profit_at_price(job, breakdown.price_per_pair)
    for name in ("lines", "cost", "price", "tax", "fees", "profit", "profit_percent_of_price"):
        assert getattr(typed, name) == getattr(breakdown, name)


@given(job_documents())
def test_floor_price_makes_no_loss_and_no_profit_worth_naming(document):
    job = job_from_document(document)
    floor = floor_price(job)
    at_floor = profit_at_price(job, floor)
    assert at_floor.profit >= 0
    one_less = floor - Decimal(1).scaleb(floor.as_tuple().exponent)
    if one_less >= 0:
        # A minor unit a pair lower leaves at most what the rounding of tax and fees can give.
        assert Fraction(profit_at_price(job, one_less).profit) <= 2 * minor_unit(job.currency)
    assert price_job(job).price_per_pair >= floor - Decimal(1).scaleb(floor.as_tuple().exponent)


def test_floor_price_makes_good_what_rounding_takes():
    # 1.21 / (1 - 0.1 x 1.2) x 1.2 = 1.65; there tax 0.275 and fee 0.165 both round up and 0.01 is
    # lost. At 1.66: 1.66 - 0.28 - 0.17 - 1.21 = 0.00.
    document = plain_job(
        quantity=1,
        materials=[],
        steps=[{"name": "all", "minutes": "60", "per": "order"}],
        labour_rate_per_hour="1.21",
        overhead={"per_active_hour": "0", "pct_of_direct": "0"},
        fees={"pct": "10", "fixed": "0", "on": "price_with_tax"},
    )
    job = job_from_document(document)
    assert profit_at_price(job, Decimal("1.65")).profit == Decimal("-0.01")
    assert floor_price(job) == Decimal("1.66")


def test_floor_price_is_found_where_fees_keep_nearly_everything():
    fees = {"pct": "83.33", "fixed": "0", "on": "price_with_tax"}
    job = job_from_document(plain_job(fees=fees, profit={"kind": "markup", "pct": "0"}))
    assert profit_at_price(job, floor_price(job)).profit >= 0


def test_price_below_the_floor_loses_money():
    job = job_from_document(plain_job())
    assert profit_at_price(job, floor_price(job) - 1).profit < 0


@pytest.mark.parametrize("price", ["-1", "NaN", "1000000001", "10.005", "sNaN", "Infinity"])
def test_price_typed_wrongly_is_refused_by_name(price):
    job = job_from_document(plain_job())
    with pytest.raises(JobError) as caught:
        profit_at_price(job, Decimal(price))
    assert caught.value.field == "price_per_pair"


def test_largest_numbers_are_priced_to_the_last_digit():
    most = "1000000000"
    materials = [{"name": "m", "quantity": most, "unit": "x", "unit_cost": most, "waste_pct": "0"}]
    document = plain_job(materials=materials, quantity=10**9, steps=[])
    breakdown = price_job(job_from_document(document))
    assert breakdown.lines[0].amount == Decimal(10**27)
    parts = (breakdown.cost, breakdown.tax, breakdown.fees, breakdown.profit)
    assert sum(map(Fraction, parts)) == Fraction(breakdown.price)
