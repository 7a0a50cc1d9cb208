from decimal import Decimal
from fractions import Fraction

import pytest

from costing.errors import JobError
from costing.labour import WorkDrivers, WorkStep, WorkStepRule, step_cost, step_minutes, steps_for

DRIVERS = WorkDrivers(
    pieces=14, eyelets=24, stitched_mm=Decimal("905.5"), lasted_mm=Decimal("420"), shoes=2
)


@pytest.mark.parametrize(
    ("per", "minutes", "becomes"),
    [
        ("order", "30", ("order", "30")),
        ("pair", "12.5", ("pair", "12.5")),
        ("shoe", "8", ("pair", "16")),
        ("piece", "1.5", ("pair", "21")),
        ("eyelet", "0.4", ("pair", "9.6")),
        ("mm_stitched", "0.02", ("pair", "18.11")),
        ("mm_lasted", "0.05", ("pair", "21")),
    ],
)
def test_rule_becomes_minutes_of_its_driver(per, minutes, becomes):
    (step,) = steps_for([WorkStepRule("step", Decimal(minutes), per)], DRIVERS)
    assert (step.per, step.minutes) == (becomes[0], Decimal(becomes[1]))


def test_steps_keep_the_order_of_the_rules_and_what_is_passive():
    rules = [
        WorkStepRule("cutting", Decimal(1), "piece"),
        WorkStepRule("drying", Decimal(180), "pair", passive=True),
    ]
    steps = steps_for(rules, DRIVERS)
    assert [(step.name, step.passive) for step in steps] == [("cutting", False), ("drying", True)]


def test_step_with_nothing_to_do_is_left_out():
    no_eyelets = WorkDrivers(14, 0, Decimal(0), Decimal("420"))
    rules = [
        WorkStepRule("eyelets", Decimal(1), "eyelet"),
        WorkStepRule("sewing", Decimal(1), "mm_stitched"),
        WorkStepRule("lasting", Decimal("0.1"), "mm_lasted"),
    ]
    assert [step.name for step in steps_for(rules, no_eyelets)] == ["lasting"]


def test_minutes_of_a_pair_are_multiplied_and_those_of_an_order_are_not():
    assert step_minutes(WorkStep("a", Decimal("2.5"), "pair"), 4) == 10
    assert step_minutes(WorkStep("a", Decimal("2.5"), "order"), 4) == Fraction(5, 2)


def test_passive_step_costs_nothing():
    assert step_cost(WorkStep("a", Decimal(60), "pair", passive=True), 1, Decimal(20)) == 0
    assert step_cost(WorkStep("a", Decimal(20), "pair"), 1, Decimal(20)) == Fraction(20, 3)


@pytest.mark.parametrize(
    ("values", "field"),
    [
        (("", Decimal(1), "pair"), "name"),
        (("a", Decimal(-1), "pair"), "minutes"),
        (("a", 1.5, "pair"), "minutes"),
        (("a", Decimal(1), "day"), "per"),
    ],
)
def test_faulty_rule_is_refused_by_name(values, field):
    with pytest.raises(JobError) as caught:
        WorkStepRule(*values)
    assert caught.value.field == field
