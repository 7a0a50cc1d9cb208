"""The whole library as plain values, keyed by codes, for a file."""

from collections.abc import Iterator
from typing import Any

from django.db import transaction

from workshop.lengths import length_text
from workshop.library_file import FIELDS, NUMBERS, POINTS
from workshop.models import Customer, Doll, FootVersion

Record = tuple[str, dict[str, Any]]


def library_records() -> list[Record]:
    """Return every customer, doll and foot as of one moment, oldest first.

    Holds contact data: for the owner alone.
    """
    with transaction.atomic():
        return [*_customers(), *_dolls(), *_feet()]


def _customers() -> Iterator[Record]:
    for customer in Customer.objects.order_by("number").iterator():
        yield "customer", _plain(customer, "customer")


def _dolls() -> Iterator[Record]:
    for doll in Doll.objects.select_related("customer").order_by("number").iterator():
        values = _plain(doll, "doll")
        values["customer"] = doll.customer.code if doll.customer else ""
        yield "doll", values


def _feet() -> Iterator[Record]:
    feet = FootVersion.objects.select_related("doll")
    for foot in feet.order_by("doll__number", "foot_side", "version").iterator():
        named = {"code": foot.doll.code, "mesh": foot.mesh.get("sha256", "")}
        yield "foot", {**_plain(foot, "foot"), **named}


def _plain(record: Any, kind: str) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for name in FIELDS[kind]:
        value = getattr(record, name, "")
        if name in NUMBERS:
            value = length_text(value)
        elif name == "made_at":
            value = value.isoformat()
        elif name != "level_girths" and name not in POINTS and name != "version":
            value = "" if value is None else str(value)
        values[name] = value
    return values
