"""Currencies, their minor units, and the one rounding function.

Amounts are worked out as exact fractions and become `Decimal` only where they are shown.
"""

from decimal import Decimal
from fractions import Fraction

from costing.errors import CurrencyError

# Source: ISO 4217, list of active codes, with the digits of each minor unit. Codes for metals,
# bond units, tests and "no currency" have no minor unit and so no price can be given in them.
_CODES_BY_DIGITS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    2: (
        "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD "
        "CAD CDF CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP "
        "GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK "
        "LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO "
        "NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS "
        "SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST "
        "XCD XCG YER ZAR ZMW ZWG"
    ),
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
# Left the list in 2025 and 2026; kept so that papers already written in them can be opened.
_LATELY_WITHDRAWN = {"ANG": 2, "BGN": 2}

CURRENCY_DIGITS: dict[str, int] = {
    code: digits for digits, codes in _CODES_BY_DIGITS.items() for code in codes.split()
} | _LATELY_WITHDRAWN


def currency_digits(currency: str) -> int:
    """Return how many digits follow the point in amounts of a currency.

    Raises
    ------
    CurrencyError
        The code is not an ISO 4217 code in use.

    Examples
    --------
    >>> currency_digits("EUR"), currency_digits("JPY"), currency_digits("KWD")
    (2, 0, 3)
    """
    digits = CURRENCY_DIGITS.get(currency)
    if digits is None:
        raise CurrencyError(
            f"{currency[:20]!r} is not a currency code in use; write three capital letters of "
            "ISO 4217, such as EUR, USD or JPY",
            field="currency",
            code="currency_unknown",
            currency=currency[:20],
        )
    return digits


def minor_unit(currency: str) -> Fraction:
    """Return the smallest amount of a currency, such as 1/100 for EUR."""
    return Fraction(1, 10 ** currency_digits(currency))


def round_half_up(amount: Fraction | Decimal, digits: int) -> Decimal:
    """Return an amount with so many digits after the point, halves away from zero.

    The result is exact for any size of amount: no decimal context takes part.

    Examples
    --------
    >>> round_half_up(Fraction(2675, 1000), 2), round_half_up(Decimal("-2.665"), 2)
    (Decimal('2.68'), Decimal('-2.67'))
    """
    # In whole numbers: half a unit is added, and what is left over after the division is cut off.
    numerator, denominator = amount.as_integer_ratio()
    units = (2 * abs(numerator) * 10**digits + denominator) // (2 * denominator)
    sign = "-" if numerator < 0 and units else ""
    return Decimal(f"{sign}{units}E-{digits}")


def to_minor_unit(amount: Fraction | Decimal, currency: str) -> Decimal:
    """Return an amount as it is shown: rounded half up to the currency's minor unit.

    Parameters
    ----------
    amount : Fraction or Decimal
        The exact amount, of either sign.
    currency : str
        ISO 4217 code.

    Raises
    ------
    CurrencyError
        The code is not an ISO 4217 code in use.

    Notes
    -----
    A half goes up, as tax rules have it for 0.5 of the least coin (HMRC manual VATREC12030); below
    zero it goes away from zero, so that a loss is rounded as a gain of the same size is.

    Examples
    --------
    >>> to_minor_unit(Fraction(152, 3), "EUR"), to_minor_unit(Decimal("1234.5"), "JPY")
    (Decimal('50.67'), Decimal('1235'))
    """
    return round_half_up(amount, currency_digits(currency))
