"""How figures are written on papers."""

from decimal import Decimal

from django import template
from django.utils.translation import gettext as _

from workshop.documents.heading import amount_words

register = template.Library()


@register.filter
def amount(value: Decimal) -> str:
    """Return an amount of money as papers show it."""
    return amount_words(value)


@register.filter
def plain(value: float) -> str:
    """Return a length for a drawing, with a point in every language."""
    return f"{value:.3f}"


@register.filter
def hours(minutes: Decimal) -> str:
    """Return minutes as hours and minutes."""
    whole = round(minutes)
    return _("{hours} h {minutes:02d} min").format(hours=whole // 60, minutes=whole % 60)
