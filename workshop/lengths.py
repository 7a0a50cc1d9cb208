"""Lengths as people type and read them: 42.5 stays 42.5, and a comma is a point."""

import re
from decimal import Decimal
from fractions import Fraction

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


# --- inches, on wish -----------------------------------------------------------------------

MM, INCH = "mm", "in"
UNITS = (MM, INCH)
MM_PER_INCH = Fraction("25.4")  # exactly: international yard and pound agreement, 1959
KEPT_PLACES = 3  # lengths are kept to a thousandth of a mm, finer than a 64th of an inch
FINEST_PART = 64  # of an inch on a rule
ONE_SIGN = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
UNIT_WORDS = re.compile(r"(.*?)\s*(mm|in|inch|inches|\"|″|”|'')", re.IGNORECASE | re.DOTALL)
INCHES = re.compile(
    r"(?P<whole>\d{1,6})?(?:(?:^|[ -])(?P<part>\d{1,3})/(?P<parts>\d{1,3}))?", re.ASCII
)


def typed_mm(text: str, unit: str = MM) -> Decimal:
    """Return the length somebody typed, in mm; a unit written behind it counts for more.

    Inches may be a decimal fraction or a whole number and parts, and come to the nearest thousandth
    of a mm.

    Raises
    ------
    ValueError
        No length that can be read.

    Examples
    --------
    >>> [str(typed_mm(text, INCH)) for text in ("3 1/4", "3.25", "3,25 in", "3¼″", "82.55 mm")]
    ['82.55', '82.55', '82.55', '82.55', '82.55']
    >>> typed_mm("42,5"), typed_mm("1 in")
    (Decimal('42.5'), Decimal('25.4'))
    """
    written = UNIT_WORDS.fullmatch(text.strip())
    if written is not None:
        text, unit = written[1], MM if written[2].lower() == MM else INCH
    if unit == MM:
        return typed_length(text)
    return _kept(_inches(text) * MM_PER_INCH)


def _inches(text: str) -> Fraction:
    if len(text) > 40:
        raise ValueError(text)
    for sign, parts in ONE_SIGN.items():
        text = text.replace(sign, f" {parts}")
    text = text.strip()
    found = INCHES.fullmatch(" ".join(text.split()))
    if found is None or found["part"] is None:
        return Fraction(typed_length(text))
    part, parts = int(found["part"]), int(found["parts"])
    if parts == 0 or (found["whole"] and part >= parts):
        raise ValueError(text)
    return int(found["whole"] or 0) + Fraction(part, parts)


def _kept(exact_mm: Fraction) -> Decimal:
    """Return mm as they are kept, without noughts at the end."""
    thousandths = round(exact_mm * 10**KEPT_PLACES)
    return Decimal(length_text(Decimal(thousandths).scaleb(-KEPT_PLACES)))


def length_in(value_mm: Decimal | float | None, unit: str) -> str:
    """Return a stored length as it is typed in a unit: typed again, it is the same length.

    >>> length_in(Decimal("82.55"), INCH), length_in(Decimal("77.788"), INCH)
    ('3 1/4', '3 1/16')
    >>> length_in(Decimal("78.74"), INCH), length_in(Decimal("100"), INCH)
    ('3.1', '3.937')
    """
    text = length_text(value_mm)
    if unit == MM or not text:
        return text
    stored = Decimal(text)
    inches = Fraction(stored) / MM_PER_INCH
    if stored >= 0:
        parts = round(inches * FINEST_PART)
        if _kept(Fraction(parts, FINEST_PART) * MM_PER_INCH) == stored:
            whole, part = divmod(Fraction(parts, FINEST_PART), 1)
            return f"{whole or ''} {part or ''}".strip() or "0"
    for places in range(1, 7):
        near = round(inches, places)
        if _kept(near * MM_PER_INCH) == stored:
            return length_text(Decimal(near.numerator) / Decimal(near.denominator))
    return length_text(Decimal(inches.numerator) / Decimal(inches.denominator))


def label_in(label: str, unit: str) -> str:
    """Return a label that ends in (mm) with the unit its box is typed in.

    >>> label_in("Foot length (mm)", INCH)
    'Foot length (in)'
    """
    return label if unit == MM else f"{label.removesuffix(' (mm)')} ({unit})"


LENGTHS_SAID = re.compile(r"(\d+(?:\.\d+)?)(?:( [^\W\d]+ )(\d+(?:\.\d+)?))? mm\b")


def sentence_in(sentence: str, unit: str) -> str:
    """Return a sentence with the lengths it tells in mm told in a unit, to a hundredth of an inch.

    >>> sentence_in("The foot length is 9 mm; feet from 25 to 160 mm can be drawn.", INCH)
    'The foot length is 0.35 in; feet from 0.98 to 6.3 in can be drawn.'
    """
    if unit == MM:
        return sentence

    def said(found: re.Match[str]) -> str:
        first, between, second = found.groups()
        ends = [first] if second is None else [first, second]
        return (between or "").join(_about(end) for end in ends) + f" {unit}"

    return LENGTHS_SAID.sub(said, sentence)


def _about(value_mm: str) -> str:
    return length_text(round(Decimal(value_mm) / Decimal("25.4"), 2))
