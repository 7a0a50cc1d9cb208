from dataclasses import replace
from decimal import Decimal

import pytest

from costing.errors import CostError
from costing.job import Rounding
from costing.job_file import job_from_document
from costing.price import price_job, profit_at_price
from costing.what_if import dearer_materials, higher_fee, more_hours, other_rounding, what_if
from tests.samples_jobs import plain_job

JOB = job_from_document(plain_job())
CHANGES = [
    dearer_materials(Decimal(10), {0}),
    more_hours(Decimal(25)),
    higher_fee(Decimal(2)),
    other_rounding(Decimal(1), Rounding("nearest", Decimal("0.90"))),
]


def test_each_row_is_the_job_changed_and_priced_again():
    now = price_job(JOB)
    for change, row in zip(CHANGES, what_if(JOB, CHANGES), strict=True):
        changed = change.apply(JOB)
        assert changed != JOB
        assert row.price_per_pair == price_job(changed).price_per_pair
        assert row.difference == row.price_per_pair - now.price_per_pair
        assert row.profit_kept == profit_at_price(changed, now.price_per_pair).profit
        assert row.profit_difference == row.profit_kept - now.profit


def test_only_the_lines_named_and_only_hands_on_steps_change():
    leather = CHANGES[0].apply(JOB)
    assert leather.materials[0].unit_cost == Decimal("1.265")
    assert leather.materials[1] == JOB.materials[1]
    hours = CHANGES[1].apply(JOB)
    assert [step.minutes for step in hours.steps] == [Decimal("37.5"), Decimal("118.75"), 180]


def test_dearer_leather_and_longer_work_take_profit_at_the_same_price():
    leather, hours, fee, _rounding = what_if(JOB, CHANGES)
    assert max(leather.profit_difference, hours.profit_difference, fee.profit_difference) < 0


def test_change_that_leaves_nothing_has_no_price():
    (row,) = what_if(JOB, [higher_fee(Decimal(90))])
    assert (row.price_per_pair, row.difference) == (None, None)
    assert row.profit_kept < 0


def test_fee_does_not_fall_below_nothing():
    assert higher_fee(Decimal(-50)).apply(JOB).fees == replace(JOB.fees, percent=Decimal(0))


@pytest.mark.parametrize(
    "change", [more_hours(Decimal(-101)), dearer_materials(Decimal(-101), {0})]
)
def test_less_than_nothing_is_refused(change):
    with pytest.raises(CostError, match="100 %"):
        what_if(JOB, [change])
