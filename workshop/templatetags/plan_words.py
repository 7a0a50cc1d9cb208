"""Filters for the words of cut lists."""

from django import template

from workshop.documents import cut_list_sheet
from workshop.models import CutLine
from workshop.selectors import plans

register = template.Library()


@register.filter
def line_name(line: CutLine) -> str:
    """Return what a piece to cut is called."""
    return plans.line_name(line)


@register.filter
def line_note(line: CutLine) -> str:
    """Return what is to be known of it: why it was scrapped, or that it is cut again."""
    return cut_list_sheet.line_note(line)
