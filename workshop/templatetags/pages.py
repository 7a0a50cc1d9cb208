"""What every page's frame asks."""

from django import template
from django.urls import reverse

register = template.Library()

# Pages that stand under another address than the list they belong to.
ALSO_UNDER = {
    "leather": ("/hides/", "/cuttings/"),
    "dolls": ("/feet/", "/sizes/"),
    "jobs": (
        "/quotes/",
        "/work/",
        "/bills/",
        "/payments/",
        "/parcels/",
        "/repairs/",
        "/kept/",
        "/day/",
    ),
}


@register.filter
def is_section(path: str | None, name: str) -> bool:
    """Return whether a path belongs to the part of the app a menu entry leads to."""
    first = reverse(name)
    path = path or ""
    if first == "/":
        return path == first
    return path.startswith((first, *ALSO_UNDER.get(name, ())))
