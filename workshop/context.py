"""What every page knows."""

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from workshop.doors import ANYONE, MAKERS, MONEY, OWNER
from workshop.own_ways import recently_used


def workshop(request: HttpRequest) -> dict[str, object]:
    """Return the asker's role and what follows from it."""
    role = getattr(request, "role", ANYONE)
    user = getattr(request, "user", None)
    return {
        # Read only by a page that shows it, and once.
        "recent": SimpleLazyObject(lambda: recently_used(user, role)),
        "role": role,
        "is_owner": role == OWNER,
        "may_change": role in MAKERS,
        "may_see_money": role in MONEY,
        "may_see_contact": role in MONEY,
    }
