"""Doors that close for a while to whoever tries too often: logins and links without a login.

Tries in vain are counted by a window of a quarter of an hour, the last one by the share of it that
still counts, in the database, so that all web processes count together. Nothing is locked for
good: whoever waits gets in, and who is in already stays in. Addresses of networks and names are
kept only as a keyed hash, and no longer than two windows.

Sources: OWASP ASVS 5.0, 6.3.1 (guessing of passwords is hindered) and its note that lock-out must
not let others lock somebody out. The numbers are ours: common practice, no source.
"""

import hashlib
import hmac
import time
from dataclasses import dataclass

from django.conf import settings
from django.db import transaction
from django.db.models import F
from django.http import HttpRequest

from workshop.models import Knock

WINDOW_S = 15 * 60


@dataclass(frozen=True, slots=True)
class Limit:
    """How many tries of a kind one asker has within a window."""

    kind: str
    most: int


LOGIN_NAME = Limit("login by name and place", 8)
LOGIN_PLACE = Limit("login by place", 40)
LOGIN_ANYWHERE = Limit("login by name", 100)
SECOND_STEP = Limit("second step of a login", 6)
LINK_IN_VAIN = Limit("link that opens nothing", 30)
LINK_USED = Limit("sending by a link", 60)


def asker(request: HttpRequest) -> str:
    """Return the network address a request comes from, as the outermost trusted proxy saw it."""
    proxies = settings.PROXIES
    said = [part.strip() for part in request.headers.get("X-Forwarded-For", "").split(",")]
    if proxies and said[0] and len(said) >= proxies:
        return said[-proxies][:64]
    return str(request.META.get("REMOTE_ADDR", ""))


def knocked(limit: Limit, who: str) -> None:
    """Count one try."""
    window = int(time.time() // WINDOW_S)
    key = _key(limit, who)
    with transaction.atomic():
        _row, is_new = Knock.objects.get_or_create(key=key, window=window)
        Knock.objects.filter(key=key, window=window).update(count=F("count") + 1)
        if is_new:
            Knock.objects.filter(window__lt=window - 1).delete()


def let_off(limit: Limit, who: str) -> None:
    """Forget the tries of somebody who got in."""
    Knock.objects.filter(key=_key(limit, who)).delete()


def wait_s(limit: Limit, who: str) -> int:
    """Return how many seconds somebody has to wait, 0 for none."""
    now = time.time()
    window, into = divmod(now, WINDOW_S)
    counts = dict(
        Knock.objects.filter(key=_key(limit, who), window__gte=int(window) - 1).values_list(
            "window", "count"
        )
    )
    here, before = counts.get(int(window), 0), counts.get(int(window) - 1, 0)
    if here + before * (1.0 - into / WINDOW_S) < limit.most:
        return 0
    if here >= limit.most:
        # This window's tries fade over the next one until fewer than the most count.
        return int(WINDOW_S - into + WINDOW_S * (1.0 - limit.most / here)) + 1
    return int(WINDOW_S * (1.0 - (limit.most - here) / before) - into) + 1


def _key(limit: Limit, who: str) -> str:
    message = f"{limit.kind}\n{who}".encode("utf-8", "replace")
    return hmac.new(settings.SECRET_KEY.encode(), message, hashlib.sha256).hexdigest()
