"""Two quotes, or a quote and what it would be today, side by side: what differs, line by line.

Both sides are snapshots as quotes keep them, so nothing is worked out again here.
"""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from patterns.foot_measures import MEASURES
from patterns.style import Style
from workshop.selectors.library import labels
from workshop.selectors.styles import drawn_words, unit_words

Snapshot = Mapping[str, Any]
NEAR = 0.005  # drawn lengths nearer than this are the same to a maker


@dataclass(frozen=True, slots=True)
class Difference:
    """Something that is not the same on both sides, in words."""

    what: str
    then: str
    now: str


@dataclass(frozen=True, slots=True)
class LineBeside:
    """One line of the price on both sides; None where a side has no such line."""

    name: str
    then: Decimal | None
    now: Decimal | None
    now_name: str = ""
    is_sum: bool = False

    @property
    def change(self) -> Decimal:
        """Return by how much the line differs."""
        return (self.now or Decimal(0)) - (self.then or Decimal(0))


def differences(then: Snapshot, now: Snapshot, style: Style | None) -> list[Difference]:
    """Return what a price was made from that differs, the foot first, the rates last."""
    rows = [
        *_foot(then["foot"], now["foot"]),
        *_style(then["style"], now["style"], style),
        *_leather(then["hide"], now["hide"]),
        *_sold(then, now),
        *_promised(then.get("promise"), now.get("promise")),
    ]
    return [row for row in rows if row.then != row.now]


def lines_beside(then: Snapshot, now: Snapshot) -> list[LineBeside]:
    """Return the lines of both prices matched, then their sums."""
    ours, theirs = _lines(then), _lines(now)
    rows = []
    for key, (name, amount) in ours.items():
        other_name, other = theirs.get(key, ("", None))
        rows.append(LineBeside(name, amount, other, now_name=other_name))
    rows += [
        LineBeside(name, None, amount, now_name=name)
        for key, (name, amount) in theirs.items()
        if key not in ours
    ]
    return [*rows, *_sums(then["breakdown"], now["breakdown"])]


def _lines(snapshot: Snapshot) -> dict[str, tuple[str, Decimal]]:
    """Return name and amount by what a line is for: its leather may have another name today."""
    keys = iter(row["key"] for row in snapshot["bill"])
    found: dict[str, tuple[str, Decimal]] = {}
    for row in snapshot["breakdown"]["lines"]:
        # The material lines stand in the order of the bill.
        key = f"material {next(keys)}" if row["group"] == "material" else row["name"]
        while key in found:
            key += "+"
        found[key] = (row["name"], Decimal(row["amount"]))
    return found


def _sums(then: Snapshot, now: Snapshot) -> Iterator[LineBeside]:
    names = {
        "cost": _("cost"),
        "fees": _("fees"),
        "profit": _("profit"),
        "tax": _("tax"),
        "price": _("price"),
    }
    for key, name in names.items():
        yield LineBeside(name, Decimal(then[key]), Decimal(now[key]), now_name=name, is_sum=True)


def _foot(then: Snapshot, now: Snapshot) -> Iterator[Difference]:
    words = labels()
    for measure in MEASURES:
        pair = [side["measures"].get(measure.key) for side in (then, now)]
        said = [_("not measured") if size is None else f"{size:g} mm" for size in pair]
        yield Difference(words[measure.key], *said)
    meshes = [str(side.get("mesh", "")) for side in (then, now)]
    if meshes[0] != meshes[1]:
        yield Difference(_("Mesh of the foot"), *(mesh[:12] or _("none") for mesh in meshes))


def _style(then: Snapshot, now: Snapshot, style: Style | None) -> Iterator[Difference]:
    named = [
        _("%(name)s, version %(n)d") % {"name": side["name"], "n": side["version"]}
        for side in (then, now)
    ]
    yield Difference(_("Style"), *named)
    parameters = {p.key: p for p in style.parameters} if style is not None else {}
    for key, value in now["values"].items():
        before = then["values"].get(key)
        if before is None or _same(before, value):
            continue
        parameter = parameters.get(key)
        if parameter is None:
            yield Difference(key, str(before), str(value))
        else:
            unit = unit_words(parameter)
            said = (f"{drawn_words(parameter, v)} {unit}".strip() for v in (before, value))
            yield Difference(_(parameter.label), *said)


def _same(before: Any, after: Any) -> bool:
    if isinstance(before, float | int) and isinstance(after, float | int):
        return abs(before - after) < NEAR
    return bool(before == after)


def _leather(then: Snapshot, now: Snapshot) -> Iterator[Difference]:
    said = [f"{side['leather']}, {side['colour']} ({side['code']})" for side in (then, now)]
    yield Difference(_("Leather"), *said)


def _sold(then: Snapshot, now: Snapshot) -> Iterator[Difference]:
    yield Difference(_("Pairs"), *(str(side["breakdown"]["quantity"]) for side in (then, now)))
    yield Difference(_("Rate card"), *(str(side["rate_card"]) for side in (then, now)))
    places, parcels = [], []
    for side in (then, now):
        sale = side.get("sale") or {}
        place, sent = sale.get("place"), sale.get("destination")
        places.append(f"{place['name']} {place['version']}" if place else _("by the rate card"))
        parcels.append(sent["country"] if sent else _("none named"))
    yield Difference(_("Place of sale"), *places)
    yield Difference(_("Sent to"), *parcels)
    yield Difference(_("Drawn by"), *(str(side["engine"]) for side in (then, now)))


def _promised(then: Snapshot | None, now: Snapshot | None) -> Iterator[Difference]:
    """Yield the days each side promises: the day itself, and how long it is from the answer."""
    if then is None and now is None:
        return
    nothing = _("nothing promised")
    yield Difference(_("Ready by"), *(_ready_words(side) or nothing for side in (then, now)))
    arrives = [(side or {}).get("arrives_on") for side in (then, now)]
    if any(arrives):
        yield Difference(_("With the customer by"), *(day or nothing for day in arrives))


def _ready_words(promise: Snapshot | None) -> str:
    if not promise:
        return ""
    ready, here = (datetime.date.fromisoformat(promise[key]) for key in ("ready_on", "here_by"))
    days = (ready - here).days
    said = ngettext(
        "%(ready)s: %(n)d day after measures and answer are here, by %(here)s",
        "%(ready)s: %(n)d days after measures and answer are here, by %(here)s",
        days,
    )
    return said % {"ready": ready.isoformat(), "n": days, "here": here.isoformat()}
