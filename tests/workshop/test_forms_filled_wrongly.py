"""Every form of every page filled wrongly: told beside the field, nothing stored, nothing lost.

What is wrong follows from a field as the page declares it (kind, required, greatest length, least
number), as the HTML standard reads these attributes; other odd values may be fine, and are then
taken. Here all visible fields of a form are made wrong at once, in a few goes, and one of them
alone; `WRONG_VALUES=all` makes each field wrong alone in every way, which takes ten minutes.
"""

import os
import re
from collections import Counter
from dataclasses import dataclass
from urllib.parse import urljoin, urlsplit

import pytest
from django.db import connection, transaction
from django.test import Client
from django.urls import resolve

from tests.workshop.form_reader import Field, Form, Page
from tests.workshop.test_bad_files import row_counts

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

EVERY_ONE = os.environ.get("WRONG_VALUES") == "all"
TOGETHER = 2  # goes in which every field is made wrong at once, each time otherwise
CHOICES = ("select", "radio")
LEAST = 600
LONG = "m" * 100_000
NO_DATE = "0000-13-45"
DAYS = {"date", "datetime-local", "time", "month"}
TYPED = {"text", "search", "email", "tel", "url", "number", "textarea"} | DAYS
NUMBERS = {"decimal", "numeric"}
# The first two end the login the test needs; the third takes a backup, which waits for the test.
LEFT_OUT = {"logout", "log-out-everywhere", "demo-remove"}
# The login says the same of every name, whatever is wrong with it; a unit goes with a file alone.
SAYS_NOTHING = {("login", "username"), ("foot-new", "tracing_unit")} | {
    (name, "outline_unit") for name in ("hide-new", "hide-change")
}
COUNTED = "workshop_knock"  # tries in vain, on purpose


@dataclass(frozen=True)
class Wrong:
    """A wrong value, and whether the field's own attributes rule it out."""

    what: str
    value: str
    is_ruled_out: bool


@dataclass(frozen=True)
class Way:
    """A form as one of its buttons sends it."""

    form: Form
    method: str
    address: str
    button: dict[str, list[str]]

    @property
    def name(self) -> str:
        return resolve(urlsplit(self.address).path).url_name or ""

    @property
    def key(self) -> tuple[object, ...]:
        """Return what is the same for forms that differ in their records alone."""
        names = {numberless(field.name) for field in self.form.fields if field.kind != "hidden"}
        return self.name, self.method, tuple(self.button), tuple(sorted(names))


def numberless(name):
    return re.sub(r"\d+", "0", name)


def ways_of(html, address):
    for form in Page(html).forms:
        for button in form.buttons or [{}]:
            if "formnovalidate" in button:
                continue  # it asks for nothing of what is typed
            method = button.get("formmethod") or form.attributes.get("method") or "get"
            action = button.get("formaction") or form.attributes.get("action") or address
            pressed = {button["name"]: [button.get("value", "")]} if button.get("name") else {}
            yield Way(form, method.lower(), urljoin(address, action), pressed)


def wrong_values(field: Field) -> list[Wrong]:
    """Return what a field may be sent that it cannot mean, and what is odd for it."""
    attributes, is_needed = field.attributes, "required" in field.attributes
    empty = [Wrong("empty", "", True)] if is_needed else []
    if field.kind in CHOICES:
        return [*empty, Wrong("not offered", "no-such-choice", True), Wrong("NUL", "\0", True)]
    if field.kind not in TYPED | {"password"}:
        return []
    is_number = field.kind == "number" or attributes.get("inputmode") in NUMBERS
    most = len(LONG)
    is_plain = not is_number and field.kind not in DAYS
    return [
        *empty,
        Wrong("NaN", "NaN", not is_plain),
        Wrong("NUL", "a\0b", field.kind != "password"),
        Wrong("1e30", "1e30", not is_plain),
        Wrong("long", LONG, not is_plain or int(attributes.get("maxlength") or most) < most),
        Wrong("-1", "-1", not is_plain and float(attributes.get("min") or -1) >= 0),
        Wrong("letter", "m", not is_plain),
        Wrong("no date", NO_DATE, not is_plain),
    ]


def messages_beside(page: Page, field: Field) -> str:
    """Return the words a faulty field is described by, or that stand under its name."""
    keys = field.attributes.get("aria-describedby", "").split()
    told = [key for key in keys if "helptext" not in key]
    group = re.sub(r"_\d+$", "", field.attributes.get("id", ""))  # a radio button's fieldset
    return " ".join(page.texts.get(key, "") for key in [*told, f"{group}_error"]).strip()


def plain(text):
    return text.replace("\r\n", "\n").strip()


def lost(way: Way, page: Page, sent) -> list[str]:
    """Return the fields whose typed text is no longer on the page."""
    shown: dict[str, set[str]] = {}
    for form in page.forms:
        for name, values in form.sent().items():
            shown.setdefault(name, set()).update(plain(value) for value in values)
    return [
        field.name
        for field in way.form.fields
        if field.kind in TYPED
        and not {plain(value) for value in sent[field.name]} & shown.get(field.name, set())
    ]


def looked_at(answer, way: Way, wrongs: dict[str, Wrong], sent, stored) -> list[str]:
    """Return what is wrong with an answer."""
    if answer.status_code >= 500:
        return [f"answered {answer.status_code}"]
    kinds = {field.name: field.kind for field in way.form.fields}
    told = {name: wrong for name, wrong in wrongs.items() if (way.name, name) not in SAYS_NOTHING}
    stored = {table for table in stored if table != COUNTED}
    if way.method == "get":
        return [f"stored {stored}"] if stored else []
    if answer.status_code in (302, 303):
        # A choice that was not offered is nobody's typing: it is enough that nothing came of it.
        is_lost = [kinds[name] not in CHOICES or stored for name in told]
        taken = any(
            told[name].is_ruled_out for name, lost in zip(told, is_lost, strict=True) if lost
        )
        return [f"was taken, or lost on the way to {answer['Location']}"] if taken else []
    page = Page(answer.content.decode())
    faults = [f"stored {stored}"] if stored else []
    for name, wrong in told.items():
        marked = [
            field
            for form in page.forms
            for field in form.fields
            if field.name == name and field.attributes.get("aria-invalid") == "true"
        ]
        if wrong.is_ruled_out and not marked:
            faults.append(f"{name} {wrong.what} is not marked as faulty")
        if marked and not any(messages_beside(page, field) for field in marked):
            faults.append(f"{name} {wrong.what} has no message beside it")
    return faults + [f"lost what was typed in {name}" for name in lost(way, page, sent)]


def tries_of(way: Way, turn: int) -> list[dict[str, Wrong]]:
    """Return what is made wrong at once: every field alone, or each of them in a few goes."""
    fields = {numberless(field.name): field for field in reversed(way.form.fields)}
    values = {field.name: found for field in fields.values() if (found := wrong_values(field))}
    if EVERY_ONE:
        return [{name: wrong} for name, found in values.items() for wrong in found]
    if not values:
        return []
    goes = 1 if way.method == "get" else TOGETHER
    tries = [
        {
            name: found[(turn + go + place) % len(found)]
            for place, (name, found) in enumerate(values.items())
        }
        for go in range(goes)
    ]
    names = list(values)
    alone = names[turn % len(names)]
    return [*tries, {alone: values[alone][turn % len(values[alone])]}]


@pytest.mark.timeout(3600 if EVERY_ONE else 120)
def test_every_field_filled_wrongly_is_told_beside_it_and_nothing_is_stored_or_lost(
    every_page, owner, monkeypatch
):
    monkeypatch.setattr("workshop.doors.wait_s", lambda limit, who: 0)
    inside, outside = Client(raise_request_exception=False), Client(raise_request_exception=False)
    inside.force_login(owner)
    known, sent_of, faults = set(), Counter(), []

    def send(client, way, wrongs, before):
        sent = {**way.form.sent(), **way.button}
        sent |= {name: [wrong.value] for name, wrong in wrongs.items()}
        sent_of.update(wrong.what for wrong in wrongs.values())
        with transaction.atomic():
            answer = getattr(client, way.method)(way.address, sent)
            stored = {} if connection.needs_rollback else changed(before, row_counts())
            transaction.set_rollback(True)
        for said in looked_at(answer, way, wrongs, sent, stored):
            faults.append(f"{way.name} {way.button or ''} {list(wrongs)[:3]}: {said}")

    for opened in every_page:
        client = outside if opened.is_open else inside
        html = client.get(opened.address, headers={"accept": "text/html"}).content.decode()
        for way in ways_of(html, opened.address):
            if way.name in LEFT_OUT or way.key in known:
                continue
            known.add(way.key)
            before = row_counts()
            for wrongs in tries_of(way, len(known)):
                send(client, way, wrongs, before)
    print(f"{len(known)} forms, {sent_of.total()} wrong values: {dict(sent_of)}")
    assert not faults, "\n".join(faults)
    assert sent_of.total() >= LEAST


def changed(before, after):
    return {table for table in after if after[table] != before[table]}
