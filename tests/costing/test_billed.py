"""The lines of a bill: equal to what was agreed to the cent, and taken back to the cent."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.billed import agreed_lines, bill_totals, changed_line, taken_back
from costing.errors import JobError
from costing.job import Postage, Rush, Tax
from costing.job_file import job_from_document
from costing.money import to_minor_unit
from costing.price import price_job
from tests.samples_jobs import plain_job


def job_with(percent, *, included, on_postage, rush, postage):
    job = job_from_document(plain_job())
    return replace(
        job,
        tax=Tax(Decimal(percent), included, on_postage=on_postage),
        rush=Rush(fixed=rush),
        postage=Postage(charged=postage),
    )


cents = st.integers(0, 99_999).map(lambda n: Decimal(n) / 100)


@given(
    st.sampled_from(["0", "5.5", "7", "19", "20", "21"]), st.booleans(), st.booleans(), cents, cents
)
def test_the_lines_add_up_to_the_price_that_was_agreed_and_to_its_tax(
    percent, included, on_postage, rush, postage
):
    job = job_with(percent, included=included, on_postage=on_postage, rush=rush, postage=postage)
    agreed = price_job(job)
    lines = agreed_lines(job, agreed)
    totals = bill_totals(lines, job.currency)
    assert (totals.amount, totals.tax) == (agreed.price, agreed.tax)
    assert totals.net == agreed.price_without_tax
    assert sum(row.tax for row in totals.tax_lines) == agreed.tax
    for line in lines:
        exact = line.net * line.tax_percent / 100
        assert abs(line.tax - exact) <= Decimal("0.015")


@given(st.lists(st.integers(1, 5000), min_size=1, max_size=6), st.sampled_from(["7", "19", "21"]))
def test_parts_that_take_a_line_back_whole_take_back_its_very_tax(parts, percent):
    job = job_with(percent, included=True, on_postage=True, rush=Decimal(0), postage=Decimal(0))
    line = changed_line(job, Decimal(sum(parts)) / 100)
    left, taxes = line, []
    for part in parts:
        back = taken_back(line, left, Decimal(part) / 100, "EUR")
        taxes.append(back.tax)
        left = replace(left, amount=left.amount - back.amount, tax=left.tax - back.tax)
    assert sum(taxes) == line.tax
    assert (left.amount, left.tax) == (0, 0)
    assert min(taxes) >= 0


def test_a_bill_by_hand():
    # By hand: of 121.00 with 21 % tax in it 21.00 is tax; 12.10 less is 2.10 less of tax.
    job = job_with("21", included=True, on_postage=True, rush=Decimal(0), postage=Decimal(0))
    whole, less = changed_line(job, Decimal("121.00")), changed_line(job, Decimal("-12.10"))
    totals = bill_totals([whole, less], "EUR")
    assert (whole.tax, less.tax) == (Decimal("21.00"), Decimal("-2.10"))
    assert (totals.net, totals.tax, totals.amount) == (
        Decimal("90.00"),
        Decimal("18.90"),
        Decimal("108.90"),
    )
    back = taken_back(less, less, Decimal("-12.10"), "EUR")
    assert back == less


@pytest.mark.parametrize("amount", ["121.01", "-0.01", "0.005", "NaN"])
def test_more_than_is_left_or_finer_than_a_cent_is_refused(amount):
    job = job_with("21", included=True, on_postage=True, rush=Decimal(0), postage=Decimal(0))
    line = changed_line(job, Decimal("121.00"))
    with pytest.raises(JobError) as refused:
        taken_back(line, line, Decimal(amount), "EUR")
    assert refused.value.field == "amount"


def test_a_currency_without_cents_is_billed_in_whole_units():
    job = replace(
        job_with("10", included=True, on_postage=True, rush=Decimal(0), postage=Decimal(0)),
        currency="JPY",
        round_up_to=Decimal(10),
    )
    line = changed_line(job, Decimal(1000))
    assert line.tax == to_minor_unit(Decimal(1000) / 11, "JPY") == 91
