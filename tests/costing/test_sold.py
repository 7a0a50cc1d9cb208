"""A sale at the price paid: tax taken out, fees rounded each, as a quoted price is settled."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.errors import CostError
from costing.job import Fees, Tax
from costing.job_file import job_from_document
from costing.settle import settle
from costing.sold import sale_at
from tests.samples_jobs import plain_job

amounts = st.decimals(min_value=0, max_value=5000, places=2)
percents = st.decimals(min_value=0, max_value=60, places=2)
fees = st.builds(
    Fees,
    percents,
    st.decimals(min_value=0, max_value=5, places=2),
    st.sampled_from(["price_with_tax", "price_without_tax"]),
    st.integers(1, 3),
)


def test_the_fee_identity_leaves_what_was_wanted():
    # Fee identity P = (N + f) / (1 - r): N 100, r 2.9 %, f 0.30 -> 103.2956, so 103.30 is asked;
    # with tax v 20 % in the price, P = (N + f) / (1/(1 + v) - r) -> 124.6996.
    stall = Fees(Decimal("2.9"), Decimal("0.30"), "price_with_tax")
    for price, tax in (("103.30", "0"), ("124.70", "20")):
        sale = sale_at(Decimal(price), currency="EUR", tax_percent=Decimal(tax), fees=[stall])
        assert sale.left == Decimal("100.00")


@given(amounts, percents, st.lists(fees, min_size=1, max_size=3))
def test_a_sale_is_settled_as_a_quoted_price_is(price, tax, kept):
    sale = sale_at(price, currency="EUR", tax_percent=tax, fees=kept)
    job = job_from_document(plain_job(quantity=1))
    job = replace(job, tax=Tax(tax, included=True), fees=kept[0], more_fees=tuple(kept[1:]))
    settled = settle(job, Fraction(0), Fraction(price))
    assert (sale.tax, sale.fees) == (settled["tax"], settled["fees"])
    assert sale.left == settled["profit"]


def test_money_without_a_minor_unit_is_rounded_to_whole_ones():
    stall = Fees(Decimal(10), Decimal(0), "price_without_tax")
    sale = sale_at(Decimal(1005), currency="JPY", tax_percent=Decimal(10), fees=[stall])
    # 1005 x 10 / 110 = 91.36; 10 % of 914 = 91.4.
    assert (sale.tax, sale.fees, sale.left) == (91, 91, 823)


@pytest.mark.parametrize(
    ("price", "tax"), [("-1", "0"), ("NaN", "0"), ("1", "-1"), ("1", "Infinity")]
)
def test_a_number_that_is_none_is_refused(price, tax):
    with pytest.raises(CostError):
        sale_at(Decimal(price), currency="EUR", tax_percent=Decimal(tax), fees=[])
