from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.errors import CurrencyError
from costing.money import CURRENCY_DIGITS, currency_digits, minor_unit, to_minor_unit

AMOUNTS = st.fractions(min_value=-(10**12), max_value=10**12)
CURRENCIES = st.sampled_from(sorted(CURRENCY_DIGITS))


@given(AMOUNTS, CURRENCIES)
def test_rounding_moves_an_amount_by_half_a_minor_unit_at_most(amount, currency):
    shown = to_minor_unit(amount, currency)
    assert abs(Fraction(shown) - amount) <= minor_unit(currency) / 2
    assert Fraction(shown) % minor_unit(currency) == 0


@given(AMOUNTS, CURRENCIES)
def test_rounding_treats_a_loss_as_a_gain_of_the_same_size(amount, currency):
    assert to_minor_unit(-amount, currency) == -to_minor_unit(amount, currency)


@given(AMOUNTS, CURRENCIES)
def test_shown_amount_has_the_digits_of_its_currency(amount, currency):
    digits = currency_digits(currency)
    point, _, decimals = f"{to_minor_unit(amount, currency):f}".partition(".")
    assert len(decimals) == digits
    assert point


def test_rounding_does_not_depend_on_the_decimal_context():
    with localcontext(prec=3):
        assert to_minor_unit(Fraction(123456789, 1000), "EUR") == Decimal("123456.79")


def test_nothing_is_never_shown_with_a_minus_sign():
    assert str(to_minor_unit(Fraction(-1, 1000), "EUR")) == "0.00"


@pytest.mark.parametrize("code", ["", "eur", "EURO", "XYZ", "XAU", "XXX", "€", "E\nR"])
def test_code_that_is_no_currency_in_use_is_refused(code):
    with pytest.raises(CurrencyError) as caught:
        to_minor_unit(Fraction(1), code)
    assert caught.value.field == "currency"
