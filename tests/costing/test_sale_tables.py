"""Postage, destinations, packs, units, ways of joining and what the next goods cost."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.actuals import compare_lines, learn_minutes
from costing.consumption import LACINGS, lacing_length_mm
from costing.errors import CostError
from costing.labour import WorkDrivers, WorkStep, WorkStepRule, step_minutes, steps_for
from costing.packs import packs_for
from costing.sale import Insurance, PostageRow, TaxOfDestination, postage_to, tax_percent_to
from costing.stock_cost import Issue, Receipt, cost_of_next, fifo_cost, moving_average_cost
from costing.units import KIND_OF_UNIT, converted, unit_factor

ROWS = [
    PostageRow("Norland", Decimal(1000), Decimal("9.00"), Decimal("8.20")),
    PostageRow("Norland", Decimal(500), Decimal("6.50"), Decimal("5.90")),
    PostageRow("", Decimal(2000), Decimal("19.00"), Decimal("17.50")),
]


@pytest.mark.parametrize(
    ("country", "weight", "charged"),
    [
        ("Norland", "500", "6.50"),
        ("Norland", "500.1", "9.00"),
        ("Farland", "1500", "19.00"),
    ],
)
def test_parcel_takes_the_first_weight_that_holds_it(country, weight, charged):
    found = postage_to(country, Decimal(weight), ROWS, currency="EUR", packing=Decimal("1.10"))
    assert (found.charged, found.packing) == (Decimal(charged), Decimal("1.10"))


def test_insurance_is_paid_and_passed_on():
    found = postage_to(
        "Norland",
        Decimal(200),
        ROWS,
        currency="EUR",
        insured_value=Decimal("149.50"),
        insurance=Insurance(Decimal("1.5"), Decimal("0.50")),
    )
    # 149.50 x 1.5 % + 0.50 = 2.7425, so 2.74
    assert (found.charged, found.paid) == (Decimal("9.24"), Decimal("8.64"))


@pytest.mark.parametrize(
    ("country", "weight", "field"),
    [("Norland", "1001", "weight_g"), ("Norland", "0", "weight_g"), ("Norland", "NaN", "weight_g")],
)
def test_parcel_that_no_row_holds_is_refused_by_name(country, weight, field):
    with pytest.raises(CostError) as caught:
        postage_to(country, Decimal(weight), ROWS, currency="EUR")
    assert caught.value.field == field


def test_country_without_any_row_is_named():
    with pytest.raises(CostError) as caught:
        postage_to("Farland", Decimal(10), ROWS[:2], currency="EUR")
    assert caught.value.field == "country"


def test_tax_goes_by_the_destination_the_owner_set_and_else_by_the_own_rate():
    rows = [TaxOfDestination("Norland", Decimal(0)), TaxOfDestination("Farland", Decimal(25))]
    asked = ["Norland", "Farland", "Midland", ""]
    assert [tax_percent_to(country, rows, Decimal(21)) for country in asked] == [0, 25, 21, 21]


@given(
    st.decimals(0, 5000, places=3),
    st.decimals("0.001", 900, places=3),
    st.decimals(0, 400, places=3),
)
def test_packs_cover_the_need_and_one_fewer_would_not(need, holds, on_shelf):
    found = packs_for(need, pack_quantity=holds, pack_price=Decimal("3.20"), on_shelf=on_shelf)
    assert Fraction(on_shelf) + found.bought >= Fraction(need)
    if found.packs:
        assert Fraction(on_shelf) + found.bought - Fraction(holds) < Fraction(need)
    assert found.left == max(0, Fraction(on_shelf) + found.bought - Fraction(need))
    assert found.used_cost == Fraction(need) * Fraction("3.20") / Fraction(holds)


@pytest.mark.parametrize(
    ("unit", "wanted", "code"),
    [
        ("furlong", "m", "unit_unknown"),
        ("m", "", "unit_unknown"),
        ("m", "g", "unit_does_not_convert"),
        ("piece", "dm2", "unit_does_not_convert"),
    ],
)
def test_unit_that_is_unknown_or_does_not_convert_is_refused(unit, wanted, code):
    with pytest.raises(CostError) as caught:
        converted(Decimal(1), unit, wanted)
    assert (caught.value.field, caught.value.code) == ("unit", code)


@given(st.sampled_from(sorted(KIND_OF_UNIT)), st.sampled_from(sorted(KIND_OF_UNIT)))
def test_units_of_one_kind_convert_there_and_back_exactly(one, two):
    if KIND_OF_UNIT[one] == KIND_OF_UNIT[two]:
        assert unit_factor(one, two) * unit_factor(two, one) == 1


def test_only_the_steps_of_the_way_chosen_are_taken():
    rules = [
        WorkStepRule("cutting", Decimal(1), "piece"),
        WorkStepRule("sewing by hand", Decimal("0.06"), "mm_stitched", way="hand stitch"),
        WorkStepRule("sewing by machine", Decimal("0.02"), "mm_stitched", way="machine"),
        WorkStepRule("threading", Decimal(15), "batch", way="machine"),
        WorkStepRule("glueing", Decimal("0.01"), "mm_stitched", way="glue"),
    ]
    drivers = WorkDrivers(14, 24, Decimal(900), Decimal(420))
    taken = {
        way: [(step.name, step.per, step.minutes) for step in steps_for(rules, drivers, way=way)]
        for way in ("hand stitch", "machine", "glue")
    }
    assert taken == {
        "hand stitch": [("cutting", "pair", 14), ("sewing by hand", "pair", 54)],
        "machine": [
            ("cutting", "pair", 14),
            ("sewing by machine", "pair", 18),
            ("threading", "batch", 15),
        ],
        "glue": [("cutting", "pair", 14), ("glueing", "pair", 9)],
    }
    with pytest.raises(CostError) as caught:
        steps_for(rules, drivers, way="nails")
    assert caught.value.field == "way"


@given(st.lists(st.integers(1, 9), min_size=1, max_size=6), st.decimals(0, 300, places=2))
def test_orders_of_one_batch_share_all_of_its_setting_up(orders, minutes):
    step = WorkStep("setting up", minutes, "batch")
    shared = [step_minutes(step, pairs, sum(orders)) for pairs in orders]
    assert sum(shared) == Fraction(minutes)


def test_each_timing_moves_the_estimate_less_than_the_one_before():
    taken, moved, last = [], [], Fraction(30)
    for _ in range(6):
        taken.append(Decimal(60))
        found = learn_minutes(Decimal(30), taken)
        moved.append(found.proposed_min - last)
        last = found.proposed_min
    assert moved == sorted(moved, reverse=True)
    assert 30 < last < 60
    assert (found.estimate_min, found.spread_min) == (30, 0)


def test_estimate_and_timings_weigh_by_their_count():
    # (2 x 30 + 24 + 33 + 45) / 5 = 32.4; spread of 24, 33, 45: sqrt(111) = 10.54
    found = learn_minutes(Decimal(30), [Decimal(24), Decimal(33), Decimal(45)])
    assert found.proposed_min == Fraction("32.4")
    assert found.spread_min == Decimal("10.54")
    assert (found.least_min, found.most_min, found.timings) == (24, 45, 3)
    assert found.next_weight == Fraction(1, 6)


@pytest.mark.parametrize("taken", [[], [Decimal(-1)], [Decimal("NaN")], [Decimal("1e30")]])
def test_timings_that_are_none_or_impossible_are_refused(taken):
    with pytest.raises(CostError) as caught:
        learn_minutes(Decimal(30), taken)
    assert caught.value.field.startswith("taken_min")


def test_differences_of_lines_add_up():
    rows = compare_lines(
        [
            ("a", Decimal("10.5"), Decimal(12)),
            ("b", Decimal(0), Decimal(3)),
            ("c", Decimal(4), Decimal(1)),
        ]
    )
    assert sum(row.difference for row in rows) == Decimal("1.5")
    assert [row.percent for row in rows] == [Decimal("14.3"), None, Decimal("-75.0")]


HISTORY = [
    Receipt("a", Decimal(10), Decimal(2)),
    Issue(Decimal(4)),
    Receipt("b", Decimal(5), Decimal(3)),
]


@pytest.mark.parametrize(("way", "whole"), [("fifo", fifo_cost), ("average", moving_average_cost)])
@pytest.mark.parametrize("quantity", ["0", "3", "8.5", "11"])
def test_next_goods_cost_what_taking_them_would(way, whole, quantity):
    found = cost_of_next(HISTORY, Decimal(quantity), way=way, beyond_unit_cost=Decimal(9))
    taken = [Issue(Decimal(quantity))] if Decimal(quantity) else []
    assert found == whole([*HISTORY, *taken]).issued_cost - whole(HISTORY).issued_cost


def test_goods_that_are_not_there_cost_what_buying_them_does():
    for way in ("fifo", "average"):
        found = cost_of_next(HISTORY, Decimal(13), way=way, beyond_unit_cost=Decimal(9))
        assert found == 6 * 2 + 5 * 3 + 2 * 9
    with pytest.raises(CostError):
        cost_of_next(HISTORY, Decimal(1), way="lifo", beyond_unit_cost=Decimal(9))


@given(st.lists(st.floats(1.0, 30.0), min_size=1, max_size=8), st.floats(1.0, 60.0))
def test_criss_cross_is_never_the_longer_lacing(pitches, opening):
    crossed, straight, shop = (lacing_length_mm(way, opening, pitches) for way in LACINGS)
    assert crossed <= straight + 1e-9
    assert crossed <= shop + 1e-9


@pytest.mark.parametrize("way", LACINGS)
@pytest.mark.parametrize("opening", [0.0, -3.0, float("nan")])
def test_opening_at_or_below_nothing_is_refused_for_every_lacing(way, opening):
    with pytest.raises(CostError) as caught:
        lacing_length_mm(way, opening, [8.0, 8.0])
    assert caught.value.field == "lace_gap_mm"


def test_unknown_lacing_is_refused_by_name():
    with pytest.raises(CostError) as caught:
        lacing_length_mm("zigzag", 20.0, [8.0])
    assert caught.value.field == "lacing"
