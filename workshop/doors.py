"""Who may go where: one table of address x method x role, held by a middleware.

An address that is not in the table is closed to everybody, and a test walks the whole table, so a
new page cannot be forgotten here.
"""

from collections.abc import Callable, Mapping
from urllib.parse import unquote_to_bytes

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import BadRequest, RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import ResolverMatch

from workshop.knocking import LINK_IN_VAIN, LINK_USED, asker, knocked, wait_s

OWNER, HELPER, BOOKKEEPER = "owner", "helper", "bookkeeper"
LINK = "link"  # whoever holds a link's token; the view checks the token
ANYONE = "anyone"  # no login at all

EVERYONE_IN = frozenset({OWNER, HELPER, BOOKKEEPER})
MAKERS = frozenset({OWNER, HELPER})
MONEY = frozenset({OWNER, BOOKKEEPER})
OWNERS = frozenset({OWNER})
LINKS = frozenset({LINK})
ALL = frozenset({ANYONE})

Roles = frozenset[str]
KEY_MOST = 2**63 - 1


def look(roles: Roles) -> Mapping[str, Roles]:
    """Return the methods of a page that is only looked at."""
    return {"GET": roles, "HEAD": roles}


def form(readers: Roles, writers: Roles) -> Mapping[str, Roles]:
    """Return the methods of a page with a form."""
    return {"GET": readers, "HEAD": readers, "POST": writers}


def act(roles: Roles) -> Mapping[str, Roles]:
    """Return the methods of an address that only does something."""
    return {"POST": roles}


DOORS: dict[str, Mapping[str, Roles]] = {
    # the way in
    "login": form(ALL, ALL),
    "own-login": form(EVERYONE_IN, EVERYONE_IN),
    "still-in": look(EVERYONE_IN),
    "own-lengths": act(EVERYONE_IN),
    "second-step": form(ALL, ALL),
    "second-factor": form(OWNERS, OWNERS),
    "log-out-everywhere": act(EVERYONE_IN),
    "logout": act(EVERYONE_IN),
    "first-login": form(ALL, ALL),
    "home": look(EVERYONE_IN),
    "search": look(EVERYONE_IN),
    "begin": form(OWNERS, OWNERS),
    "demo-remove": form(OWNERS, OWNERS),
    "favicon": look(ALL),
    "health": look(ALL),
    # people and settings
    "people": look(OWNERS),
    "person-invite": act(OWNERS),
    "invitation-end": act(OWNERS),
    "person-change": act(OWNERS),
    "workshop-settings": form(OWNERS, OWNERS),
    "printers": form(MAKERS, MAKERS),
    "printer-in-use": act(MAKERS),
    "calibration-page": look(EVERYONE_IN),
    "audit": look(OWNERS),
    "caution": look(EVERYONE_IN),
    # customers, dolls, feet, and files of them
    "customers": look(MONEY),
    "customers-file": look(MONEY),
    "customer": look(MONEY),
    "customer-new": form(OWNERS, OWNERS),
    "customer-change": form(OWNERS, OWNERS),
    "privacy": form(OWNERS, OWNERS),
    "customer-export": look(OWNERS),
    "customer-erase": form(OWNERS, OWNERS),
    "dolls": look(EVERYONE_IN),
    "dolls-file": look(EVERYONE_IN),
    "doll": look(EVERYONE_IN),
    "measuring-card": look(EVERYONE_IN),
    "doll-nearest": form(EVERYONE_IN, MAKERS),
    "doll-new": form(MAKERS, MAKERS),
    "doll-change": form(MAKERS, MAKERS),
    "foot": look(EVERYONE_IN),
    "foot-new": form(MAKERS, MAKERS),
    "foot-check": act(MAKERS),
    "tracing-preview": act(MAKERS),
    "foot-mesh": form(MAKERS, MAKERS),
    "measuring-link": form(EVERYONE_IN, MAKERS),
    "measuring-link-new": act(MAKERS),
    "measuring-link-end": act(MAKERS),
    "foot-mesh-file": look(EVERYONE_IN),
    "foot-try-on": form(EVERYONE_IN, MAKERS),
    "foot-last": look(EVERYONE_IN),
    "sizes": look(EVERYONE_IN),
    "size-grade": form(MAKERS, MAKERS),
    "size-run": form(MAKERS, MAKERS),
    "size-run-shown": look(EVERYONE_IN),
    "library-export": look(OWNERS),
    "library-import": form(OWNERS, OWNERS),
    # jobs and quotes
    "jobs": look(EVERYONE_IN),
    "jobs-file": look(EVERYONE_IN),
    "job-again": act(OWNERS),
    "job-then": look(MONEY),
    "quotes-beside": look(MONEY),
    "job-new": form(OWNERS, OWNERS),
    "job": look(EVERYONE_IN),
    "job-drawing": look(EVERYONE_IN),
    "job-views": look(EVERYONE_IN),
    "job-solid": look(EVERYONE_IN),
    "job-solid-data": look(EVERYONE_IN),
    "job-change": form(OWNERS, OWNERS),
    "job-move": act(OWNERS),
    "layout-begin": act(MAKERS),
    "job-leather": look(EVERYONE_IN),
    "stock-count": act(MAKERS),
    "hide-keep": act(MAKERS),
    "layout-cut": form(MAKERS, MAKERS),
    "plan": form(EVERYONE_IN, MAKERS),
    "job-layout-tiles": look(EVERYONE_IN),
    "cut-list": form(EVERYONE_IN, MAKERS),
    "cut-list-sheet": look(EVERYONE_IN),
    "cut-list-place": form(EVERYONE_IN, MAKERS),
    "cut-list-end": form(MAKERS, MAKERS),
    "cut-list-tick": act(MAKERS),
    "cut-line-tick": act(MAKERS),
    "cut-line-back": act(MAKERS),
    "cut-line-scrap": form(MAKERS, MAKERS),
    "cut-line-hide": form(MAKERS, MAKERS),
    "effects-begin": act(MAKERS),
    # the days the work is put into, and the card that goes into the parcel
    "day": look(EVERYONE_IN),
    "day-order": act(MAKERS),
    "day-settings": form(OWNERS, OWNERS),
    "care-card": look(EVERYONE_IN),
    "stock-care-card": look(EVERYONE_IN),
    "job-guide": look(EVERYONE_IN),
    "quote-save": act(OWNERS),
    "job-reserved": look(EVERYONE_IN),
    "job-reserve": act(MAKERS),
    "job-release": act(OWNERS),
    "job-deposit": act(OWNERS),
    # an order's photographs, money, parcels; repairs and goods in keeping
    "job-photos": form(EVERYONE_IN, MAKERS),
    "job-photo-off": act(MAKERS),
    "job-payments": form(MONEY, OWNERS),
    "payment-back": form(OWNERS, OWNERS),
    "bill-new": form(OWNERS, OWNERS),
    "bills": look(MONEY),
    "bill": look(MONEY),
    "bill-paper": look(MONEY),
    "credit-new": form(OWNERS, OWNERS),
    "job-parcels": form(EVERYONE_IN, MAKERS),
    "parcel": form(MAKERS, MAKERS),
    "repair-new": form(OWNERS, OWNERS),
    "repair": look(EVERYONE_IN),
    "repair-change": form(OWNERS, OWNERS),
    "repair-price": form(OWNERS, OWNERS),
    "repair-answer": act(OWNERS),
    "job-kept": form(EVERYONE_IN, MAKERS),
    "kept-back": form(MAKERS, MAKERS),
    "repairs": look(EVERYONE_IN),
    # what the work really took
    "work-log": look(EVERYONE_IN),
    "work-start": act(MAKERS),
    "work-stop": act(MAKERS),
    "work-add": act(MAKERS),
    "work-material": act(MAKERS),
    "work-change": form(MAKERS, MAKERS),
    "counted-back": look(MONEY),
    "rates-learned": form(OWNERS, OWNERS),
    "month": look(MONEY),
    "month-file": look(MONEY),
    "stock-file": look(MONEY),
    "correction-new": form(MAKERS, MAKERS),
    "correction-withdraw": act(MAKERS),
    "job-cutting-sheet": look(EVERYONE_IN),
    "job-mock-up": look(EVERYONE_IN),
    "job-try-on": look(EVERYONE_IN),
    "job-try-on-answer": look(EVERYONE_IN),
    "job-layout-sheet": look(EVERYONE_IN),
    "job-file": look(EVERYONE_IN),
    "job-card-templates": look(EVERYONE_IN),
    "job-label": look(EVERYONE_IN),
    "job-bundle": form(EVERYONE_IN, MAKERS),
    "job-bundle-file": look(EVERYONE_IN),
    "sheets": form(MAKERS, MAKERS),
    "sheets-shown": look(MAKERS),
    "sheets-file": look(MAKERS),
    "job-breakdown": look(MONEY),
    "background": look(EVERYONE_IN),
    "background-stop": act(MAKERS),
    "background-again": act(MAKERS),
    "quote": look(MONEY),
    "quote-answer": act(OWNERS),
    "quote-withdraw": act(OWNERS),
    "quote-link": act(OWNERS),
    "quote-paper": look(MONEY),
    "quote-cutting-sheet": look(MONEY),
    "quote-breakdown": look(MONEY),
    # leather, supplies, styles and rates
    "leather": look(EVERYONE_IN),
    "leather-file": look(EVERYONE_IN),
    "lot-new": form(OWNERS, OWNERS),
    "lot": look(EVERYONE_IN),
    "lot-change": form(OWNERS, OWNERS),
    "rub-test-new": form(MAKERS, MAKERS),
    "hide-new": form(OWNERS, OWNERS),
    "hide-preview": act(OWNERS),
    "hide": look(EVERYONE_IN),
    "hide-change": form(OWNERS, OWNERS),
    "photograph": look(EVERYONE_IN),
    "hide-label": look(EVERYONE_IN),
    "cutting": form(EVERYONE_IN, MAKERS),
    "cutting-undo": act(MAKERS),
    "cutting-labels": look(EVERYONE_IN),
    "supplies": look(EVERYONE_IN),
    "supplies-file": look(EVERYONE_IN),
    "supply-file": look(EVERYONE_IN),
    "supply-new": form(OWNERS, OWNERS),
    "supply": look(EVERYONE_IN),
    "supply-change": form(OWNERS, OWNERS),
    "stock-move": form(MAKERS, MAKERS),
    "stock-take": form(MAKERS, MAKERS),
    "to-buy": look(EVERYONE_IN),
    "pairs": look(EVERYONE_IN),
    "pairs-new": form(OWNERS, OWNERS),
    "pairs-file": look(EVERYONE_IN),
    "pair": look(EVERYONE_IN),
    "pair-move": act(MAKERS),
    "pair-deal": act(OWNERS),
    "job-to-shelf": act(OWNERS),
    # jobs without a customer
    "stock-run-new": form(OWNERS, OWNERS),
    "stock-run": look(EVERYONE_IN),
    "stock-lines": act(OWNERS),
    "stock-line": act(OWNERS),
    "stock-hides": act(MAKERS),
    "stock-layout": act(MAKERS),
    "stock-begin": act(OWNERS),
    "stock-finish": act(OWNERS),
    "stock-withdraw": act(OWNERS),
    "to-buy-file": look(MONEY),
    "styles": look(EVERYONE_IN),
    "style-new": form(OWNERS, OWNERS),
    "style": look(EVERYONE_IN),
    "style-change": form(OWNERS, OWNERS),
    "style-version-new": form(OWNERS, OWNERS),
    "rates": look(MONEY),
    "rate-new": form(OWNERS, OWNERS),
    "rate": look(MONEY),
    "places": look(MONEY),
    "place": look(MONEY),
    "place-new": form(OWNERS, OWNERS),
    "place-change": form(OWNERS, OWNERS),
    "place-offer": act(OWNERS),
    "destinations": look(MONEY),
    "destinations-new": form(OWNERS, OWNERS),
    "for-sale": look(MONEY),
    "for-sale-new": form(OWNERS, OWNERS),
    "for-sale-guide": form(OWNERS, OWNERS),
    "for-sale-work-out": act(OWNERS),
    "for-sale-answer": act(OWNERS),
    "for-sale-file": look(MONEY),
    "article": look(MONEY),
    "article-offer": act(OWNERS),
    "article-guide": look(MONEY),
    # a customer with a link
    "open-quote": look(LINKS),
    "open-quote-accept": act(LINKS),
    "open-quote-ask": act(LINKS),
    "open-measuring": form(LINKS, LINKS),
}

# Django's admin is the owner's back door; its own addresses are many and all alike.
ADMIN_NAMESPACE = "admin"


def role_of(request: HttpRequest) -> str:
    """Return the role of whoever asks: a member's role, owner for a superuser, else anyone."""
    user = request.user
    if not user.is_authenticated or not user.is_active:
        return ANYONE
    member = getattr(user, "member", None)
    if member is not None:
        return str(member.role)
    return OWNER if user.is_superuser else ANYONE


def roles_allowed(match: ResolverMatch, method: str) -> Roles:
    """Return the roles that may use a method of an address; empty for none."""
    if match.namespaces and match.namespaces[0] == ADMIN_NAMESPACE:
        return OWNERS
    return DOORS.get(match.url_name or "", {}).get(method, frozenset())


# Whoever holds the link gets in, so that links must not be to be guessed by trying.
BY_LINK = frozenset({name for name, methods in DOORS.items() if LINK in methods.get("GET", ())})
BY_LINK |= {name for name, methods in DOORS.items() if LINK in methods.get("POST", ())}
BY_LINK |= {"first-login"}


def too_often(request: HttpRequest, wait: int) -> HttpResponse:
    """Return the page that asks to wait so many seconds."""
    minutes = -(-wait // 60)
    response = render(request, "errors/429.html", {"minutes": minutes}, status=429)
    response.headers["Retry-After"] = str(wait)
    return response


def check_letters(request: HttpRequest) -> None:
    """Refuse a form whose text is no UTF-8, which no browser sends.

    Left to itself it would be kept with signs in the place of what could not be read.

    Raises
    ------
    BadRequest
    """
    if request.method != "POST" or request.content_type != "application/x-www-form-urlencoded":
        return
    try:
        unquote_to_bytes(request.body).decode("utf-8")
    except RequestDataTooBig:
        return  # whoever reads the form says so beside its field
    except UnicodeDecodeError:
        raise BadRequest("the text sent is not UTF-8") from None


class DoorMiddleware:
    """Lets a request through if the table says so."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Note the asker's role, and keep pages behind a door out of shared caches."""
        request.role = role_of(request)
        response = self.get_response(request)
        match = request.resolver_match
        if match is not None and match.url_name in BY_LINK and response.status_code == 404:
            knocked(LINK_IN_VAIN, asker(request))
        if request.role != ANYONE or request.path.startswith(("/q/", "/first-login/")):
            response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    def _wait_s(self, request: HttpRequest) -> int:
        """Return how long whoever comes by links has to wait; each sending by one counts."""
        who = asker(request)
        if request.method == "POST":
            wait = wait_s(LINK_USED, who)
            if not wait:
                knocked(LINK_USED, who)
            return wait or wait_s(LINK_IN_VAIN, who)
        return wait_s(LINK_IN_VAIN, who)

    def process_view(
        self, request: HttpRequest, view: object, args: object, kwargs: dict[str, object]
    ) -> HttpResponse | None:
        """Refuse, or ask for a login, before the view runs."""
        match = request.resolver_match
        if any(isinstance(value, int) and value > KEY_MOST for value in kwargs.values()):
            raise Http404  # no database has such a key, and SQLite breaks off at it
        allowed = roles_allowed(match, request.method)
        if match.url_name in BY_LINK and (wait := self._wait_s(request)):
            return too_often(request, wait)
        if request.role in allowed or allowed & {ANYONE, LINK}:
            check_letters(request)
            return None
        known = match.url_name in DOORS and request.method not in DOORS[match.url_name]
        if known:
            response = render(request, "errors/405.html", status=405)
            response.headers["Allow"] = ", ".join(sorted(DOORS[match.url_name]))
            return response
        if request.role == ANYONE:
            if request.headers.get("HX-Request"):
                # A part of a page that is asked for would get the login in its place; so the page
                # stays, and its script says what is the matter.
                return HttpResponse(status=401, headers={"WWW-Authenticate": "Login"})
            return redirect_to_login(request.get_full_path())
        return render(request, "errors/403.html", status=403)
