"""Filters for figures on the pages of leather, supplies and rates."""

from decimal import Decimal

from django import template
from django.utils.translation import npgettext

from costing.money import to_minor_unit
from patterns.units import MM2_PER_DM2
from workshop.models import Supply
from workshop.models.stock import THOUSANDTHS

register = template.Library()


@register.filter
def figure(value: Decimal | float | int | None) -> str:
    """Return a number without idle zeros, thousands parted by a narrow space."""
    if value is None:
        return ""
    text = f"{Decimal(str(value)):,f}".replace(",", "\u202f")
    return text.rstrip("0").rstrip(".") if "." in text else text


@register.filter
def dm2(area_mm2: Decimal | float | None) -> str:
    """Return an area in dm², to two places."""
    return "" if area_mm2 is None else figure(round(float(area_mm2) / MM2_PER_DM2, 2))


@register.filter
def dm2_exact(area_mm2: Decimal | None) -> str:
    """Return a stored area in dm², with all its figures."""
    return "" if area_mm2 is None else figure(Decimal(area_mm2) / 10_000)


@register.filter
def units(thousandths: int | None) -> str:
    """Return a ledger's thousandths as units."""
    return "" if thousandths is None else figure(Decimal(thousandths) / THOUSANDTHS)


@register.filter
def signed_units(thousandths: int) -> str:
    """Return a change in units with its sign; nothing for no change."""
    if not thousandths:
        return ""
    return ("+" if thousandths > 0 else "−") + units(abs(thousandths))


@register.filter
def amount(value: Decimal | None, currency: str) -> str:
    """Return an amount as it is paid: rounded to the currency's minor unit."""
    return "" if value is None else _parted(to_minor_unit(value, currency))


@register.filter
def unit_price(value: Decimal | None, currency: str) -> str:
    """Return a price of one unit with all its figures, at least as many as the currency has."""
    if value is None:
        return ""
    shown = to_minor_unit(value, currency)
    return _parted(shown) if shown == value else figure(value)


def _parted(value: Decimal) -> str:
    return f"{value:,f}".replace(",", "\u202f").replace("-", "−")


@register.filter
def signed(change: Decimal) -> str:
    """Return a change with its sign, such as ``+0.90`` or ``−0.02``."""
    return ("+" if change > 0 else "") + _parted(change)


@register.filter
def counted(quantity: Decimal, unit: str) -> str:
    """Return a quantity with its unit, such as ``25 m`` or ``1 piece``."""
    if unit == Supply.Unit.PIECE:
        words = npgettext("after a number", "piece", "pieces", 1 if quantity == 1 else 2)
    else:
        words = str(Supply.Unit(unit).label)
    return f"{figure(quantity)}\u00a0{words}"


@register.filter
def counted_units(thousandths: int, unit: str) -> str:
    """Return a ledger's thousandths as a quantity with its unit."""
    return counted(Decimal(thousandths) / THOUSANDTHS, unit)
