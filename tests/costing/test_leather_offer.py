"""Leather by the seller's price: exact conversion, the smallest amount sold, what is tied up."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.errors import CostError
from costing.leather import LeatherOffer

AMOUNTS = st.decimals("0.01", 500, places=2)


def test_a_square_foot_is_929_0304_square_centimetres():
    # Source: the international foot is 0.3048 m, so a square foot is 929.0304 cm², 9.290304 dm².
    offer = LeatherOffer("calf", Decimal("9.290304"), "sq ft")
    assert offer.exact_per_dm2 == 1
    # 14.50 a square foot: 14.5 / 9.290304 = 1.5607670147... a dm²; worked by hand.
    assert LeatherOffer("calf", Decimal("14.50"), "sq ft").terms.cost_per_dm2 == Decimal("1.560767")


def test_a_whole_hide_ties_up_what_is_not_used():
    # 39.00 for 30 dm²: 1.30 a dm². 4 dm² cost 5.20, 33.80 stay on the shelf.
    offer = LeatherOffer("kid", Decimal("39.00"), "hide", hide_dm2=Decimal(30))
    bought = offer.purchase(Decimal(4))
    assert (bought.hides, bought.bought_dm2, bought.cost) == (1, 30, 39)
    assert (bought.used_cost, bought.tied_up, bought.left_dm2) == (
        Decimal("5.2"),
        Decimal("33.8"),
        26,
    )
    assert offer.purchase(Decimal("30.01")).hides == 2


def test_the_smallest_amount_sold_is_bought_where_less_is_needed():
    offer = LeatherOffer("goat", Decimal("1.35"), "dm2", smallest_dm2=Decimal(10))
    assert offer.purchase(Decimal(4)).cost == Decimal("13.5")
    assert offer.purchase(Decimal(4)).tied_up == Decimal("8.1")
    assert offer.purchase(Decimal(12)).tied_up == 0
    assert offer.whole_hides(Decimal(4)) is None


@given(AMOUNTS, AMOUNTS, AMOUNTS, AMOUNTS)
def test_enough_is_bought_and_what_is_paid_is_used_or_tied_up(price, need, smallest, hide):
    for unit in ("dm2", "sq ft", "hide"):
        bought = LeatherOffer("x", price, unit, smallest, hide).purchase(need)
        assert bought.bought_dm2 >= need
        assert bought.tied_up >= 0
        assert bought.used_cost + bought.tied_up == bought.cost
        if unit == "hide":
            assert Fraction(bought.bought_dm2) == bought.hides * Fraction(hide)


@pytest.mark.parametrize(
    ("given_values", "field"),
    [
        ({"price": Decimal("-1")}, "price"),
        ({"price": Decimal("NaN")}, "price"),
        ({"smallest_dm2": Decimal(0)}, "smallest_dm2"),
        ({"hide_dm2": Decimal("-4")}, "hide_dm2"),
        ({"unit": "hide"}, "hide_dm2"),
    ],
)
def test_a_faulty_offer_is_refused_by_its_field(given_values, field):
    values = {"name": "kid", "price": Decimal(1), "unit": "dm2", **given_values}
    with pytest.raises(CostError) as caught:
        LeatherOffer(**values)
    assert caught.value.field == field
