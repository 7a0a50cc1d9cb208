"""Overhead: what the workshop costs beside material and labour, spread over the work."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from costing.errors import JobError
from costing.numbers import checked_number

MINUTES_PER_HOUR = 60
PERCENT = 100


@dataclass(frozen=True, slots=True)
class OverheadRates:
    """Overhead charged by the hour of hands-on work and by direct cost.

    Parameters
    ----------
    per_active_hour : Decimal
        Money for each hour of active work.
    percent_of_direct : Decimal
        Percentage of material and labour together.
    """

    per_active_hour: Decimal
    percent_of_direct: Decimal

    def __post_init__(self) -> None:
        checked_number(self.per_active_hour, "per_active_hour")
        checked_number(self.percent_of_direct, "pct_of_direct")


def overhead_amount(rates: OverheadRates, active_min: Fraction, direct: Fraction) -> Fraction:
    """Return the exact overhead for so many active minutes and so much direct cost.

    Examples
    --------
    >>> overhead_amount(OverheadRates(Decimal("3.50"), Decimal(0)), Fraction(120), Fraction(80))
    Fraction(7, 1)
    """
    by_hour = active_min / MINUTES_PER_HOUR * Fraction(rates.per_active_hour)
    return by_hour + direct * Fraction(rates.percent_of_direct) / PERCENT


def absorption_rate(overhead: Decimal, base: Decimal) -> Fraction:
    """Return the overhead charged for each unit of a base, such as each hour of work.

    Parameters
    ----------
    overhead : Decimal
        What a period (most often a year) costs beside material and labour.
    base : Decimal
        Hours, or labour money, expected in the same period; above zero.

    Raises
    ------
    JobError
        A number is negative or too large, or the base is zero.

    Notes
    -----
    Source: Principles of Accounting, volume 2, Managerial Accounting (OpenStax), 4.4.

    Examples
    --------
    >>> absorption_rate(Decimal(250000), Decimal(100000))
    Fraction(5, 2)
    """
    checked_number(overhead, "overhead")
    if checked_number(base, "base") == 0:
        raise JobError(
            "must be above 0; say how many hours are worked in the period",
            field="base",
            code="base_zero",
        )
    return Fraction(overhead) / Fraction(base)
