"""Filters for minutes as people read them."""

from decimal import Decimal
from fractions import Fraction

from django import template
from django.utils.translation import gettext as _

from costing.money import round_half_up, to_minor_unit
from workshop.selectors.work_log import StepShown
from workshop.templatetags.stock_words import figure

register = template.Library()
MINUTES_PER_HOUR = 60


@register.filter
def spent(minutes: Decimal | Fraction | None) -> str:
    r"""Return minutes as hours and minutes, such as ``1 h 05 min``; less than one as ``< 1 min``.

    >>> spent(Decimal("64.6")), spent(Decimal("0.2")), spent(Decimal(0))
    ('1\xa0h\xa005\xa0min', '<\xa01\xa0min', '0\xa0min')
    """
    if minutes is None:
        return ""
    if 0 < minutes < Decimal("0.5"):
        return "<\u00a01\u00a0min"
    whole = int(minutes + Decimal("0.5") if isinstance(minutes, Decimal) else round(minutes))
    hours, rest = divmod(whole, MINUTES_PER_HOUR)
    return f"{hours}\u00a0h\u00a0{rest:02d}\u00a0min" if hours else f"{rest}\u00a0min"


@register.filter
def so_far(step: StepShown) -> str:
    """Return what a step took so far beside what it was planned at."""
    if step.planned_min is None:
        return _("%(taken)s so far") % {"taken": spent(step.taken_min)}
    words = {"taken": spent(step.taken_min), "planned": spent(step.planned_min)}
    if not step.is_timed:
        return _("planned %(planned)s") % words
    return _("%(taken)s of %(planned)s planned") % words


@register.filter
def hours(minutes: Decimal) -> str:
    """Return minutes as hours to two places.

    >>> hours(Decimal(90))
    '1.50'
    """
    return str(round_half_up(Fraction(minutes) / MINUTES_PER_HOUR, 2))


@register.filter
def minutes_short(minutes: Decimal | None) -> str:
    """Return minutes to two places without idle zeros."""
    return "" if minutes is None else figure(round_half_up(minutes, 2))


@register.filter
def signed(value: Decimal) -> str:
    """Return a difference with its sign, a real minus; 0 for none.

    >>> signed(Decimal("-0.50")), signed(Decimal("1.20")), signed(Decimal("0.00"))
    ('−0.50', '+1.20', '0')
    """
    if not value:
        return "0"
    return f"{value:+f}".replace("-", "−")


@register.filter
def exact_amount(value: Fraction, currency: str) -> str:
    """Return an exact amount as it is paid."""
    return f"{to_minor_unit(value, currency):,f}".replace(",", " ")


@register.filter
def exact_units(value: Fraction) -> Decimal:
    """Return an exact quantity as the ledger keeps it."""
    return round_half_up(value, 3)
