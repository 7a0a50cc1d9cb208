"""Checking typed numbers, and writing exact ones so that a person can read them."""

from decimal import Decimal, localcontext
from fractions import Fraction

from costing.errors import JobError
from costing.money import round_half_up

LARGEST_NUMBER = Decimal(1_000_000_000)
MOST_FIGURES = 28  # more figures than any measured or agreed number has
_SHOWN_DIGITS = 4
_SHOWN_DIGITS_SMALL = 8
_SMALL = Fraction(1, 100)


def checked_number(
    value: Decimal,
    field: str,
    *,
    most: Decimal = LARGEST_NUMBER,
    below: Decimal | None = None,
    above_zero: bool = False,
) -> Decimal:
    """Return the number if it is finite and within its range.

    Raises
    ------
    JobError
        Not a Decimal, not finite, negative, too large, or written with more than 28 figures.
    """
    if not isinstance(value, Decimal):
        raise JobError(
            "must be a decimal number", field=field, code="number_kind", kind=type(value).__name__
        )
    if not value.is_finite():
        raise JobError("must be a finite number", field=field, code="number_not_finite")
    if value < 0 or (above_zero and value == 0):
        least = "above 0" if above_zero else "0 or more"
        raise JobError(
            f"must be {least}, not {_shortened(value)}", field=field, code="number_too_small"
        )
    if below is not None and value >= below:
        raise JobError(
            f"must be below {below:f}, not {_shortened(value)}",
            field=field,
            code="number_not_below",
            below=below,
        )
    if value > most:
        raise JobError(
            f"must be at most {most:f}, not {_shortened(value)}",
            field=field,
            code="number_too_large",
            most=most,
        )
    _check_length(value, field)
    return value


def checked_share(value: Decimal, field: str) -> Decimal:
    """Return a share if it lies from 0 up to, but not at, 1."""
    return checked_number(value, field, below=Decimal(1))


def _check_length(value: Decimal, field: str) -> None:
    figures = value.as_tuple()
    exponent = figures.exponent
    if (
        not isinstance(exponent, int)
        or len(figures.digits) > MOST_FIGURES
        or (exponent < -MOST_FIGURES or exponent > MOST_FIGURES)
    ):
        raise JobError(
            f"has too many figures; write at most {MOST_FIGURES}",
            field=field,
            code="number_too_long",
            most=MOST_FIGURES,
        )


def _shortened(value: Decimal) -> str:
    return str(value)[:20]


def exact_product(first: Decimal, second: Decimal) -> Decimal:
    """Return the product of two numbers with every figure kept, whatever the decimal context."""
    with localcontext(prec=2 * MOST_FIGURES):
        return first * second


def typed(value: Decimal) -> str:
    """Return a number as it was typed, without an exponent.

    >>> typed(Decimal("16.00")), typed(Decimal("1E+3"))
    ('16.00', '1000')
    """
    return f"{value:f}"


def trimmed(value: Decimal) -> str:
    """Return a number with every figure that counts, without idle zeros or an exponent.

    >>> trimmed(Decimal("0.9200")), trimmed(Decimal("30.00")), trimmed(Decimal("100"))
    ('0.92', '30', '100')
    """
    text = typed(value)
    return text.rstrip("0").rstrip(".") if "." in text else text


def shown(value: Fraction | Decimal) -> str:
    """Return a number to four places (eight if it is small), without idle zeros.

    >>> shown(Fraction(8)), shown(Fraction(30, 7)), shown(Fraction(1, 3000))
    ('8', '4.2857', '0.00033333')
    """
    exact = Fraction(value)
    digits = _SHOWN_DIGITS if abs(exact) >= _SMALL else _SHOWN_DIGITS_SMALL
    text = f"{round_half_up(exact, digits):f}"
    return text.rstrip("0").rstrip(".")
