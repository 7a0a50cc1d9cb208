"""Lengths, areas and weights as a guide's reader measures them: metric, or inches and ounces."""

from decimal import Decimal
from typing import Literal

from django.utils.translation import gettext as _

from patterns.units import MM_PER_INCH

Units = Literal["mm", "in"]
MM2_PER_IN2 = MM_PER_INCH**2
M_PER_YARD = Decimal("0.9144")  # exact since 1959
G_PER_OUNCE = Decimal("28.349523125")  # avoirdupois, exact since 1959
DM2_PER_FT2 = Decimal("9.290304")  # exact


def length_words(length_mm: float, units: Units) -> str:
    """Return a length: to half a millimetre, or to a hundredth of an inch, as finely."""
    if units == "in":
        return _("{inches} in").format(inches=f"{length_mm / MM_PER_INCH:.2f}")
    return _("{mm} mm").format(mm=f"{round(2.0 * length_mm) / 2.0:g}")


def thickness_words(length_mm: float, units: Units) -> str:
    """Return a thickness: to a tenth of a millimetre, or a thousandth of an inch."""
    if units == "in":
        return _("{inches} in").format(inches=f"{length_mm / MM_PER_INCH:.3f}")
    return _("{mm} mm").format(mm=f"{length_mm:.1f}")


def quantity_words(quantity: Decimal, unit: str, units: Units) -> str:
    """Return a quantity of a bill of materials; rounded up, so that nobody has too little."""
    if unit == "dm2":
        if units == "in":
            return _("{ft2} sq ft").format(ft2=_up(quantity / DM2_PER_FT2, 2))
        return _("{dm2} dm²").format(dm2=_up(quantity, 1))
    if unit == "m":
        if units == "in":
            return _("{yards} yd").format(yards=_up(quantity / M_PER_YARD, 1))
        return _("{m} m").format(m=_up(quantity, 1))
    if unit == "g":
        if units == "in":
            return _("{ounces} oz").format(ounces=_up(quantity / G_PER_OUNCE, 1))
        return _("{g} g").format(g=_up(quantity, 0))
    return f"{quantity.normalize():f} {unit}"


def _up(value: Decimal, places: int) -> str:
    step = Decimal(1).scaleb(-places)
    return f"{value.quantize(step, rounding='ROUND_UP'):f}"
