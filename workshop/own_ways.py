"""What one person has to themselves: the unit lengths are typed in, and what was looked at last."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from django.db import DatabaseError, transaction
from django.db.models import CharField, F, QuerySet, TextField, Value
from django.db.models.functions import Cast, Coalesce, Concat
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from workshop.doors import MONEY
from workshop.lengths import MM
from workshop.models import Commission, Customer, Doll, Hide, Member

RECENT_MOST = 8
# Pages whose record is remembered: the letter of its code, and the name of its number in them.
REMEMBERED = {
    "customer": ("C", "customer_id"),
    "doll": ("D", "doll_id"),
    "job": ("O", "job_id"),
    "hide": ("H", "hide_id"),
}
PAGES = {letter: page for page, (letter, _key) in REMEMBERED.items()}
NAME_MOST = 60


def length_unit_of(user: Any) -> str:
    """Return the unit a person types lengths in; mm for who has chosen none."""
    member = getattr(user, "member", None)
    return member.length_unit if member is not None else MM


@dataclass(frozen=True, slots=True)
class Recent:
    """One record that was looked at: its code, what it is called, and its page."""

    code: str
    name: str
    address: str


def recently_used(user: Any, role: str) -> list[Recent]:
    """Return what a person looked at last, newest first; one query, however many kinds.

    What is gone is left out, and so are customers where the role sees none.
    """
    member = getattr(user, "member", None)
    kept = [tuple(row) for row in member.looked_at] if member is not None else []
    keys = {letter: [key for of, key in kept if of == letter] for letter in PAGES}
    if role not in MONEY:
        keys["C"] = []
    parts = [_named(letter, found) for letter, found in keys.items() if found]
    if not parts:
        return []
    rows = parts[0].union(*parts[1:], all=True) if len(parts) > 1 else parts[0]
    named = {(letter, key): (number, name) for letter, key, number, name in rows}
    return [
        Recent(
            f"{letter}-{named[letter, key][0]:04d}",
            named[letter, key][1].split("\n")[0][:NAME_MOST],
            reverse(PAGES[letter], args=[key]),
        )
        for letter, key in kept
        if (letter, key) in named
    ]


def _named(letter: str, keys: list[int]) -> QuerySet[Any]:
    records: QuerySet[Any]
    if letter == "C":
        records, name = Customer.objects, F("name")
    elif letter == "D":
        records, name = Doll.objects, F("name")
    elif letter == "O":
        for_stock = Concat(Value(_("for stock") + " "), F("note"), output_field=TextField())
        records, name = Commission.objects, Coalesce(Cast("doll__name", TextField()), for_stock)
    else:
        colour = Concat(F("lot__name"), Value(", "), F("lot__colour"))
        records, name = Hide.objects, colour
    shown = records.filter(pk__in=keys).order_by()
    return shown.values_list(Value(letter, CharField()), "pk", "number", Cast(name, TextField()))


class RecentMiddleware:
    """Remember which customer, doll, job or hide a person has opened."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, and remember a page that was shown in whole."""
        response = self.get_response(request)
        match = request.resolver_match
        if request.method != "GET" or response.status_code != 200 or request.htmx or match is None:
            return response
        if match.url_name in REMEMBERED and getattr(request.user, "member", None) is not None:
            letter, key = REMEMBERED[match.url_name]
            _remember(request.user.member, [letter, match.kwargs[key]])
        return response


def _remember(member: Member, looked: list[Any]) -> None:
    others = [row for row in member.looked_at if row != looked]
    newest = [looked, *others][:RECENT_MOST]
    if newest == member.looked_at:
        return
    # A page is shown even where nothing can be written just now, as on a full disk.
    with suppress(DatabaseError), transaction.atomic():
        Member.objects.filter(pk=member.pk).update(looked_at=newest)
