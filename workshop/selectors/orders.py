"""Jobs and quotes as the pages show them."""

import re

from django.db.models import Prefetch, Q, QuerySet

from workshop.doors import MONEY
from workshop.models import (
    Commission,
    FootVersion,
    Hide,
    LeatherLot,
    Quote,
    Repair,
    StyleVersion,
)
from workshop.read_once import read_once
from workshop.selectors.places import (
    ANYWHERE_ELSE,
    countries_of,
    destinations_in_use,
    place_in_use,
)

# What a code's letter numbers; a quote's code holds the number of its job.
CODED = {"O": "number", "Q": "number", "D": "doll__number", "C": "customer__number"}
QUOTED_CHOICE = (
    "snapshot__style",
    "snapshot__hide__code",
    "snapshot__spacing_mm",
    "snapshot__sale__typed",
)
CODE = re.compile(r"^[A-Za-z]-?0*(\d{1,9})(-\d+)?$")

MOST_HIDES = 200  # in one list to choose from; older ones are found under Leather


def number_in(text: str) -> int | None:
    """Return the running number a typed code such as O-0012 stands for, or None."""
    found = CODE.match(text.strip())
    return int(found.group(1)) if found else None


def jobs_found(text: str, state: str, role: str) -> QuerySet[Commission]:
    """Return the jobs whose code, doll or customer holds the text, newest first.

    Quotes come along only for those who may see money.
    """
    jobs = Commission.objects.select_related("customer", "doll").order_by("-number")
    if role in MONEY:
        jobs = jobs.prefetch_related(
            Prefetch("quotes", Quote.objects.defer(*Quote.LARGE).order_by("-version"))
        )
    if state in Commission.State.values:
        jobs = jobs.filter(state=state)
    text = text.strip()
    if text:
        wanted = Q(doll__name__icontains=text) | Q(customer__name__icontains=text)
        wanted |= Q(doll=None, note__icontains=text)
        number, coded = number_in(text), CODED.get(text[:1].upper())
        if number is not None and coded is not None:
            wanted |= Q(**{coded: number})
        jobs = jobs.filter(wanted)
    return jobs


def feet_of(doll_id: int) -> QuerySet[FootVersion]:
    """Return a doll's foot versions, newest first."""
    return FootVersion.objects.filter(doll_id=doll_id).select_related("doll").order_by("-id")


def last_choice(job_id: int) -> dict[str, str]:
    """Return what the newest quote of a job was made for, as the choice's form sends it.

    A job ordered again that has none begins with what the earlier one was. A style, foot or hide
    that may not be chosen any more is left to the form's own default.
    """
    earlier = earlier_quote(job_id)
    if earlier is None:
        return {}
    foot_id, pair_count, hide_id, style, hide_code, spacing_mm, sold = (
        Quote.objects.filter(pk=earlier)
        .values_list("foot_id", "pair_count", "hide_id", *QUOTED_CHOICE)
        .get()
    )
    chosen = {"pairs": str(pair_count)}
    if FootVersion.objects.filter(pk=foot_id, doll__commissions=job_id).exists():
        chosen["foot"] = str(foot_id)
    if hide_id in [hide.pk for hide in hides_on_shelf(job_id)]:
        chosen["hide"] = str(hide_id)
    elif hide_id is None and (number := number_in(str(hide_code))) is not None:
        lot = LeatherLot.objects.filter(number=number, bought_on=None).first()
        if lot is not None:
            chosen["hide"] = lot_choice(lot)
    if spacing_mm is not None:
        chosen["gap"] = f"{spacing_mm:g}"
    for version in styles_offered():
        if (version.style.name, version.style.file_name) == (style["name"], style["file"]):
            chosen["style"] = str(version.pk)
    chosen |= _sale_choice(sold or {})
    return chosen | {name: str(value) for name, value in style.get("options", {}).items()}


def quotes_listed(commission: Commission) -> list[tuple[Quote, bool]]:
    """Return a job's quotes, newest first, each with whether a later one took its place."""
    states, listed, has_later = Quote.State, [], False
    for quote in commission.quotes.defer(*Quote.LARGE).order_by("-version"):
        listed.append((quote, has_later and quote.state == states.OPEN))
        has_later = has_later or quote.state in (states.OPEN, states.ACCEPTED)
    return listed


def is_mended(commission: Commission) -> bool:
    """Return whether what was made is mended or altered, so that no new pair is priced."""
    repair = getattr(commission, "repair", None)
    return repair is not None and repair.kind != Repair.Kind.REMAKE


@read_once
def earlier_quote(job_id: int) -> int | None:
    """Return the id of a job's newest quote, else of the job it was ordered again after."""
    seen: set[int] = set()
    at: int | None = job_id
    while at is not None and at not in seen:
        seen.add(at)
        found = (
            Quote.objects.filter(commission_id=at).order_by("-version").values_list("pk").first()
        )
        if found is not None:
            return int(found[0])
        at = Commission.objects.filter(pk=at).values_list("again_of_id", flat=True).first()
    return None


def choice_again(job_id: int) -> dict[str, str]:
    """Return the choice of a job's newest quote with the very version of its style, if offered."""
    chosen = last_choice(job_id)
    quote = earlier_quote(job_id)
    if quote is None or "style" not in chosen:
        return chosen
    hashed = Quote.objects.filter(pk=quote).values_list("snapshot__style__file_hash", flat=True)
    newest = StyleVersion.objects.get(pk=chosen["style"])
    same = newest.style.versions.filter(file_hash=hashed.get()).order_by("-version").first()
    return chosen if same is None else chosen | {"style": str(same.pk)}


# Of how the newest quote was sold, what comes back; amounts do not, as they are not for everybody.
SOLD_AGAIN = ("place", "sent_to", "weight", "joined", "batch", "rush", "payments")


def _sale_choice(typed: dict[str, str]) -> dict[str, str]:
    """Return how a quote was sold, as far as it may still be chosen."""
    chosen = {name: typed[name] for name in SOLD_AGAIN if name in typed}
    if "place" in chosen and place_in_use(int(chosen["place"])) is None:
        del chosen["place"]
    countries = [name or ANYWHERE_ELSE for name in countries_of(destinations_in_use())]
    if chosen.get("sent_to") not in countries:
        chosen.pop("sent_to", None)
    return chosen


@read_once
def styles_offered(*, also: str = "") -> list[StyleVersion]:
    """Return the newest version of every style on offer, and the one with the id `also`.

    An older version keeps its address: a page that was opened or kept with it still works.
    """
    newest: dict[int, StyleVersion] = {}
    versions = StyleVersion.objects.filter(style__is_offered=True).select_related("style")
    for version in versions.order_by("style__name", "-version"):
        newest.setdefault(version.style_id, version)
    offered = list(newest.values())
    if also.isascii() and also.isdigit() and len(also) < 12:
        older = StyleVersion.objects.select_related("style").filter(pk=int(also)).first()
        if older is not None and older not in offered:
            offered.append(older)
    return offered


@read_once
def hides_on_shelf(job_id: int | None = None, most: int = MOST_HIDES) -> list[Hide]:
    """Return the hides a job may be cut from, remnants first, then the newest.

    Those reserved for the job itself are among them; those it has cut come last, so that what was
    made of them can still be looked at and printed.
    """
    free = Q(state=Hide.State.ON_SHELF)
    if job_id is not None:
        free |= Q(state=Hide.State.RESERVED, reserved_for=job_id)
    found = Hide.objects.select_related("lot")
    hides = sorted(
        found.filter(free).order_by("-number")[:most],
        key=lambda hide: hide.remnant_of_id is None,
    )
    if job_id is None:
        return hides
    cut = found.filter(state=Hide.State.CUT, cuttings__commission=job_id)
    return [*hides, *cut.distinct().order_by("-number")[:most]]


def leather_offers(most: int = 200) -> list[LeatherLot]:
    """Return the lots that are not bought yet and can be quoted, newest first."""
    return list(LeatherLot.objects.filter(bought_on=None).order_by("-number")[:most])


def lot_choice(lot: LeatherLot) -> str:
    """Return what stands for a lot where a hide or a lot can be chosen."""
    return f"L{lot.pk}"


def hides_taken(most: int = 200) -> list[Hide]:
    """Return the reserved hides with the job each is reserved for."""
    hides = Hide.objects.filter(state=Hide.State.RESERVED).select_related("lot", "reserved_for")
    return list(hides.defer("outline", "defects", "areas").order_by("-number")[:most])
