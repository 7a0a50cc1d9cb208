"""Lengths as people type and read them: 42.5 stays 42.5, and a comma is a point."""

from decimal import Decimal, InvalidOperation


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
    """Return the number a person typed, with a point or a comma.

    Raises
    ------
    ValueError
        Not a finite number, or written in more than 20 characters.

    Examples
    --------
    >>> typed_length(" 42,5 ")
    Decimal('42.5')
    """
    text = text.strip().replace(",", ".")
    if not text.isascii() or len(text) > 20:
        raise ValueError(text)
    try:
        value = Decimal(text)
    except InvalidOperation:
        raise ValueError(text) from None
    if not value.is_finite():
        raise ValueError(text)
    return value
