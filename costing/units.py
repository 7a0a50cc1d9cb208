"""Units of what is bought and used up, and exact factors between those of one kind."""

from decimal import Decimal
from fractions import Fraction

from costing.errors import BillError
from costing.numbers import checked_number

# Exact: the inch is 25.4 mm, so a yard is 914.4 mm and a square foot 9.290304 dm2; the avoirdupois
# pound is 453.59237 g and an ounce a sixteenth of it (international yard and pound, 1959).
_IN_BASE: dict[str, dict[str, Fraction]] = {
    "length": {
        "mm": Fraction(1),
        "cm": Fraction(10),
        "m": Fraction(1000),
        "in": Fraction("25.4"),
        "yd": Fraction("914.4"),
    },
    "area": {
        "cm2": Fraction(1),
        "dm2": Fraction(100),
        "m2": Fraction(10_000),
        "sq ft": Fraction("929.0304"),
    },
    "mass": {
        "g": Fraction(1),
        "kg": Fraction(1000),
        "oz": Fraction("453.59237") / 16,
        "lb": Fraction("453.59237"),
    },
    "volume": {"ml": Fraction(1), "cl": Fraction(10), "l": Fraction(1000), "cm3": Fraction(1)},
    "count": {"piece": Fraction(1), "pair": Fraction(2), "dozen": Fraction(12)},
}
KIND_OF_UNIT = {unit: kind for kind, units in _IN_BASE.items() for unit in units}


def unit_factor(unit: str, wanted: str) -> Fraction:
    """Return how many of the wanted unit one unit is, exactly.

    Raises
    ------
    BillError
        A unit is unknown, or the two measure different things; ``field`` is ``"unit"``.

    Examples
    --------
    >>> unit_factor("sq ft", "dm2"), unit_factor("m", "mm")
    (Fraction(145161, 15625), Fraction(1000, 1))
    """
    for name in (unit, wanted):
        if name not in KIND_OF_UNIT:
            raise BillError(
                f"{name[:20]!r} is not a unit known here; use one of " + ", ".join(KIND_OF_UNIT),
                field="unit",
                code="unit_unknown",
                unit=name[:20],
            )
    kind, other = KIND_OF_UNIT[unit], KIND_OF_UNIT[wanted]
    if kind != other:
        raise BillError(
            f"{unit} is a {kind} and cannot be turned into {wanted}, a {other}; count it in a unit"
            f" of {other}",
            field="unit",
            code="unit_does_not_convert",
            unit=unit,
            wanted=wanted,
        )
    return _IN_BASE[kind][unit] / _IN_BASE[kind][wanted]


def converted(quantity: Decimal, unit: str, wanted: str) -> Fraction:
    """Return a quantity in another unit, exactly.

    >>> converted(Decimal("1.5"), "m", "cm")
    Fraction(150, 1)
    """
    checked_number(quantity, "quantity")
    return Fraction(quantity) * unit_factor(unit, wanted)
