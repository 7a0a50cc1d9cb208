"""One search over customers, dolls, jobs, leather, supplies, styles and pairs."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from urllib.parse import urlencode

from django.db import connection
from django.db.models import Model, Q, QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _

from workshop.doors import MONEY
from workshop.models import (
    Commission,
    Customer,
    Doll,
    FinishedPair,
    Hide,
    LeatherLot,
    Quote,
    Style,
    Supply,
)

ROWS_MOST = 8  # of each kind; the list of that kind shows all
WORDS_MOST = 5
NUMBER_MOST = 9  # digits
CODE = re.compile(rf"([A-Za-z])?-?(\d{{1,{NUMBER_MOST}}})")
QUOTE = re.compile(rf"[Qq]-?(\d{{1,{NUMBER_MOST}}})(?:-(\d{{1,4}}))?")


@dataclass(frozen=True, slots=True)
class Found:
    """One record: its code, what it is called, how it stands, and its page."""

    code: str
    name: str
    state: str
    address: str


@dataclass(frozen=True, slots=True)
class FoundGroup:
    """What was found of one kind; where that is not all, ``more`` leads to a list that shows it."""

    title: str
    rows: list[Found]
    is_cut: bool
    more: str


@dataclass(frozen=True, slots=True)
class Kind:
    """How one kind of record is looked for: by its code's letter, or by words in its columns."""

    letter: str
    title: str
    page: str
    records: QuerySet
    columns: tuple[str, ...]
    name: Callable[..., str]
    state: Callable[..., str]
    everywhere: str = ""  # the list that takes the same words
    also: Callable[[str], Q] | None = None  # where else a word may stand


def by_code(text: str, role: str) -> str | None:
    """Return the address of the one record that a whole code such as O-0012 names, or None."""
    quoted = QUOTE.fullmatch(text)
    if quoted and role in MONEY:
        quotes = Quote.objects.filter(commission__number=int(quoted[1]))
        if quoted[2]:
            quotes = quotes.filter(version=int(quoted[2]))
        key = quotes.order_by("-version").values_list("pk", flat=True).first()
        return None if key is None else reverse("quote", args=[key])
    coded = CODE.fullmatch(text)
    if coded is None or coded[1] is None:
        return None
    for kind in _kinds(role):
        if kind.letter == coded[1].upper():
            key = kind.records.filter(number=int(coded[2])).values_list("pk", flat=True).first()
            return None if key is None else reverse(kind.page, args=[key])
    return None


def everything_found(text: str, role: str) -> list[FoundGroup]:
    """Return what holds every word of the text, or bears its number; kinds without any left out.

    It costs one query a kind, however much there is of it.
    """
    groups = []
    for kind in _kinds(role):
        wanted = _wanted(text, kind)
        records = list(kind.records.filter(wanted).order_by("-number")[: ROWS_MOST + 1])
        if records:
            rows = [_found(record, kind) for record in records[:ROWS_MOST]]
            is_cut = len(records) > ROWS_MOST
            groups.append(FoundGroup(kind.title, rows, is_cut, _list_of(kind, text)))
    return groups


def _list_of(kind: Kind, text: str) -> str:
    """Return the address of a list that finds the same; lists take several words as one phrase."""
    if not kind.everywhere or len(text.split()) > 1:
        return ""
    return f"{reverse(kind.everywhere)}?{urlencode({'q': text})}"


def _found(record: Model, kind: Kind) -> Found:
    address = reverse(kind.page, args=[record.pk])
    return Found(record.code, kind.name(record), kind.state(record), address)


def _wanted(text: str, kind: Kind) -> Q:
    wanted = Q(pk__in=()) if not kind.columns else Q()
    for word in text.split()[:WORDS_MOST] if kind.columns else ():
        anywhere = Q()
        for column in kind.columns:
            anywhere |= holds(column, word)
        if kind.also is not None:
            anywhere |= kind.also(word)
        wanted &= anywhere
    coded = CODE.fullmatch(text)
    if coded and (coded[1] is None or coded[1].upper() == kind.letter):
        wanted |= Q(number=int(coded[2]))
    return wanted


def holds(column: str, word: str) -> Q:
    """Return the condition that a column holds a word, in capitals or not.

    SQLite knows only the capitals of ASCII; what goes beyond is compared by a regular expression,
    which Django gives to Python there.
    """
    if connection.vendor == "sqlite" and not word.isascii():
        return Q(**{f"{column}__iregex": re.escape(word)})
    return Q(**{f"{column}__icontains": word})


def _kinds(role: str) -> Iterator[Kind]:
    """Give the kinds a role may see; who may not see contact data finds no customers."""
    if role in MONEY:
        yield Kind(
            "C",
            _("Customers"),
            "customer",
            Customer.objects.only("number", "name", "country"),
            ("name", "email"),
            lambda customer: customer.name,
            lambda customer: customer.country,
            "customers",
        )
    yield from _work_kinds()
    yield from _stock_kinds()


def _work_kinds() -> Iterator[Kind]:
    yield Kind(
        "D",
        _("Dolls"),
        "doll",
        Doll.objects.select_related("customer").only(
            "number", "name", "material", "customer__name"
        ),
        ("name", "customer__name"),
        lambda doll: f"{doll.name}, {doll.customer.name}" if doll.customer else doll.name,
        lambda doll: doll.get_material_display(),
        "dolls",
    )
    yield Kind(
        "O",
        _("Jobs"),
        "job",
        Commission.objects.select_related("customer", "doll"),
        ("doll__name", "customer__name"),
        lambda job: job.made_for,
        lambda job: job.get_state_display(),
        "jobs",
        # What a customer wrote may hold contact data; what a job for the shelf is for, does not.
        lambda word: Q(doll=None) & holds("note", word),
    )
    yield Kind(
        "F",
        _("Pairs"),
        "pair",
        FinishedPair.objects.only("number", "name", "state"),
        ("name",),
        lambda pair: pair.name,
        lambda pair: pair.get_state_display(),
    )


def _stock_kinds() -> Iterator[Kind]:
    yield Kind(
        "L",
        _("Leather"),
        "lot",
        LeatherLot.objects.only("number", "name", "colour", "bought_on"),
        ("name", "colour"),
        lambda lot: f"{lot.name}, {lot.colour}",
        lambda lot: _("offer") if lot.is_offer else "",
        "leather",
    )
    yield Kind(
        "H",
        _("Hides"),
        "hide",
        Hide.objects.select_related("lot").only("number", "state", "lot__name", "lot__colour"),
        (),
        lambda hide: f"{hide.lot.name}, {hide.lot.colour}",
        lambda hide: hide.get_state_display(),
    )
    yield Kind(
        "B",
        _("Supplies"),
        "supply",
        Supply.objects.only("number", "name", "kind"),
        ("name",),
        lambda supply: supply.name,
        lambda supply: supply.get_kind_display(),
        "supplies",
    )
    yield Kind(
        "S",
        _("Styles"),
        "style",
        Style.objects.only("number", "name", "is_offered"),
        ("name",),
        lambda style: style.name,
        lambda style: "" if style.is_offered else _("not offered"),
        "styles",
    )
