"""Lengths as people type and read them: 42.5 stays 42.5, and a comma is a point."""

import re
from decimal import Decimal

# An exponent of two digits at most: a longer one would be written out in millions of noughts.
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,2})?", re.ASCII | re.IGNORECASE)


def length_text(value: Decimal | float | None) -> str:
    """Return a stored length as it was typed, without the noughts a database adds.

    >>> length_text(Decimal("42.500"))
    '42.5'
    >>> length_text(None)
    ''
    """
    if value is None:
        return ""
    exact = value if isinstance(value, Decimal) else Decimal(str(value))
    text = format(exact, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def typed_length(text: str) -> Decimal:
    """Return the number a person typed, with a point or a comma, noughts at its end left out.

    Raises
    ------
    ValueError
        Not a plain number, or written in more than 40 characters.

    Examples
    --------
    >>> typed_length(" 42,50 ")
    Decimal('42.5')
    """
    text = text.strip().replace(",", ".")
    if len(text) > 40 or not NUMBER.fullmatch(text):
        raise ValueError(text)
    return Decimal(length_text(Decimal(text)))
