"""Filters for figures and words on the pages of jobs."""

from django import template
from django.utils.translation import gettext as _

from patterns.foot import MEASURES
from patterns.pieces.piece import Message
from workshop.core_words import said

register = template.Library()
LABELS = {measure.key: measure.label for measure in MEASURES}
LEVEL = "level_girth "


@register.filter
def mm(length_mm: float | None) -> str:
    """Return a length to a tenth of a millimetre."""
    return "" if length_mm is None else f"{length_mm:.1f}"


@register.filter
def signed_mm(length_mm: float | None) -> str:
    """Return a difference to a tenth of a millimetre, with its sign; 0 for none."""
    if length_mm is None or abs(length_mm) < 0.05:
        return "0"
    return f"{length_mm:+.1f}".replace("-", "−")


@register.filter
def percent(share: float | None) -> str:
    """Return a share as whole per cent."""
    return "" if share is None else f"{100 * share:.0f}"


@register.filter
def measure_label(key: str) -> str:
    """Return what a measure is called on pages."""
    if key.startswith(LEVEL):
        return _("Level girth %(n)s") % {"n": key.removeprefix(LEVEL)}
    return _(LABELS[key]) if key in LABELS else key


@register.filter
def core_said(message: Message) -> str:
    """Return what a draft has to say in the reader's language."""
    return said(message.code, message.text)
