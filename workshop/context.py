"""What every page knows."""

from django.http import HttpRequest

from workshop.doors import ANYONE, MAKERS, MONEY, OWNER


def workshop(request: HttpRequest) -> dict[str, object]:
    """Return the asker's role and what follows from it."""
    role = getattr(request, "role", ANYONE)
    return {
        "role": role,
        "is_owner": role == OWNER,
        "may_change": role in MAKERS,
        "may_see_money": role in MONEY,
        "may_see_contact": role in MONEY,
    }
