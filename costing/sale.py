"""Places of sale, destinations and postage: the owner's tables, and what an order takes of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from costing.errors import JobError
from costing.job import Postage
from costing.labour import checked_text
from costing.money import to_minor_unit
from costing.numbers import checked_number
from costing.overhead import PERCENT

ANYWHERE = ""  # a row for every country that has none of its own


@dataclass(frozen=True, slots=True)
class TaxOfDestination:
    """The tax on what goes to a country, as the owner sets it; look up the local law."""

    country: str
    percent: Decimal

    def __post_init__(self) -> None:
        checked_text(self.country, "country")
        checked_number(self.percent, "percent")


def tax_percent_to(country: str, rows: Sequence[TaxOfDestination], own_percent: Decimal) -> Decimal:
    """Return the tax for a country: its own row's, else the workshop's own.

    >>> tax_percent_to("Norland", [TaxOfDestination("Norland", Decimal(0))], Decimal(21))
    Decimal('0')
    """
    return next((row.percent for row in rows if row.country == country), own_percent)


@dataclass(frozen=True, slots=True)
class PostageRow:
    """Postage to a country up to a weight: what is charged and what it costs."""

    country: str
    up_to_g: Decimal
    charged: Decimal
    paid: Decimal

    def __post_init__(self) -> None:
        checked_text(self.country, "country")
        checked_number(self.up_to_g, "up_to_g", above_zero=True)
        checked_number(self.charged, "charged")
        checked_number(self.paid, "paid")


@dataclass(frozen=True, slots=True)
class Insurance:
    """Insurance of a parcel: per cent of the insured value and a fixed sum, paid and passed on."""

    percent: Decimal = Decimal(0)
    fixed: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        checked_number(self.percent, "percent")
        checked_number(self.fixed, "fixed")


def postage_to(
    country: str,
    weight_g: Decimal,
    rows: Sequence[PostageRow],
    *,
    currency: str,
    packing: Decimal = Decimal(0),
    insured_value: Decimal = Decimal(0),
    insurance: Insurance | None = None,
) -> Postage:
    """Return postage and packing of a parcel, charged and paid, by the first weight that holds it.

    A country without rows of its own takes those for anywhere. Insurance, where a value is
    insured, is added to both, rounded half up to the minor unit.

    Raises
    ------
    JobError
        No row holds the weight, or a number is out of its range; ``field`` names it.

    Examples
    --------
    >>> rows = [
    ...     PostageRow("Norland", Decimal(500), Decimal("6.50"), Decimal("5.90")),
    ...     PostageRow("Norland", Decimal(1000), Decimal("9.00"), Decimal("8.20")),
    ... ]
    >>> postage_to("Norland", Decimal(640), rows, currency="EUR").charged
    Decimal('9.00')
    """
    checked_number(weight_g, "weight_g", above_zero=True)
    checked_number(insured_value, "insured_value")
    own = [row for row in rows if row.country == country]
    usable = own or [row for row in rows if row.country == ANYWHERE]
    fitting = sorted(
        (row for row in usable if row.up_to_g >= weight_g), key=lambda row: row.up_to_g
    )
    if not fitting:
        raise JobError(
            f"there is no postage to {country[:40] or 'anywhere'} for {weight_g:f} g; add a row"
            " for it to the postage",
            field="weight_g" if usable else "country",
            code="postage_missing",
            country=country[:40],
        )
    insured = Decimal(0)
    if insured_value and insurance is not None:
        exact = Fraction(insured_value) * Fraction(insurance.percent) / PERCENT
        insured = to_minor_unit(exact + Fraction(insurance.fixed), currency)
    row = fitting[0]
    return Postage(charged=row.charged + insured, paid=row.paid + insured, packing=packing)
