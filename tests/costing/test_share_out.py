"""An amount parted by weights: to the minor unit, and never a unit lost."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.errors import StockCostError
from costing.stock_cost import share_out

AMOUNTS = st.decimals(0, 100_000, places=4)
WEIGHTS = st.lists(st.floats(0, 1e6), min_size=1, max_size=12).filter(any)


def test_the_units_left_over_go_to_the_largest_remainders():
    # Source: worked by hand, method of largest remainder. 100 cents by 47, 16, 16, 12, 9 (of 100)
    # is whole; 10 cents by the same is 4.7, 1.6, 1.6, 1.2, 0.9: floors 4 1 1 1 0, three left over
    # go to 0.9, 0.7 and the first 0.6.
    shares = share_out(Decimal("0.10"), [47, 16, 16, 12, 9], "EUR")
    assert shares == tuple(Decimal(text) for text in ("0.05", "0.02", "0.01", "0.01", "0.01"))


def test_a_currency_without_a_minor_unit_is_parted_in_whole_units():
    assert share_out(Decimal(100), [1, 1, 1], "JPY") == (Decimal(34), Decimal(33), Decimal(33))


def test_what_lies_below_the_minor_unit_stays_with_the_largest_weight():
    assert share_out(Decimal("24.5417"), [1, 3], "EUR") == (Decimal("6.14"), Decimal("18.4017"))


@given(AMOUNTS, WEIGHTS)
def test_parts_add_up_exactly_and_lie_within_a_unit_of_their_share(amount, weights):
    parts = share_out(amount, weights, "EUR")
    assert sum(parts) == amount
    whole = sum(map(Fraction, weights))
    for part, weight in zip(parts, weights, strict=True):
        exact = Fraction(amount) * Fraction(weight) / whole
        assert abs(Fraction(part) - exact) < Fraction(2, 100)
        assert part >= 0


@pytest.mark.parametrize("weights", [[], [0, 0], [1, -1], [float("inf")], [float("nan")]])
def test_weights_that_part_nothing_are_refused(weights):
    with pytest.raises(StockCostError):
        share_out(Decimal(1), weights, "EUR")
