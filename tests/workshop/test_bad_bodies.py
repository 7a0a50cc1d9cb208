"""Bodies and addresses that are none, sent to every address: never a fault of ours."""

import pytest
from django.test import Client

from tests.workshop.test_bad_files import row_counts
from tests.workshop.test_doors import address_of, patterns
from workshop.doors import DOORS
from workshop.models import WorkshopProfile

pytestmark = [pytest.mark.django_db, pytest.mark.every_database]
LEAST = 200
URLENCODED = "application/x-www-form-urlencoded"
ODD = ["%00", "%FF", "99999999999999999999999", "[", "-1", "%ED%A0%80"]
KEYS = ("q", "before", "page", "station", "style", "foot", "hide", "pairs", "month")

BODIES = {
    "no boundary": ("multipart/form-data", b"--x\r\n"),
    "cut off": (
        "multipart/form-data; boundary=x",
        b'--x\r\nContent-Disposition: form-data; name="a"; filename="b"\r\n\r\nhalf',
    ),
    "empty boundary": ("multipart/form-data; boundary=", b"----"),
    "odd length": ("multipart/form-data; boundary=x", b"--x--\r\n" * 500),
    "base64 that is none": (
        "multipart/form-data; boundary=x",
        b'--x\r\nContent-Disposition: form-data; name="a"\r\n'
        b"Content-Transfer-Encoding: base64\r\n\r\n!!!!!\r\n--x--\r\n",
    ),
    "many fields": (URLENCODED, b"&".join(b"a%d=1" % n for n in range(3000))),
    "not utf-8": (URLENCODED, b"name=%FF%FE&note=%ED%A0%80&quantity=%C0%80"),
    "unknown code": (f"{URLENCODED}; charset=no-such-code", b"no_field=a"),
    "utf-16": (f"{URLENCODED}; charset=utf-16", b"name=a"),
    "json": ("application/json", b'{"name": "a", "amount": 1e999}'),
    "xml": ("text/xml", b"<!DOCTYPE a [<!ENTITY b SYSTEM 'file:///etc/passwd'>]><a>&b;</a>"),
    "no type": ("", b"\x00\x01\x02"),
    "only signs": (URLENCODED, b"&&&===&=%&%zz=%"),
}


@pytest.fixture
def never_waiting(monkeypatch):
    """Let a test knock as often as it likes."""
    monkeypatch.setattr("workshop.doors.wait_s", lambda limit, who: 0)


def test_every_address_takes_whatever_it_is_sent(owner, never_waiting):
    client = Client(raise_request_exception=False)
    client.force_login(owner)
    WorkshopProfile.current()
    before = row_counts()
    sent, faults = 0, []

    def send(kind, address, body=b"", content_type=URLENCODED, method="GET"):
        nonlocal sent
        sent += 1
        answer = client.generic(method, address, body, content_type=content_type)
        if answer.status_code >= 500:
            faults.append((answer.status_code, method, address, kind))

    for number, pattern in enumerate(patterns()):
        address, methods = address_of(pattern), DOORS[pattern.name]
        if pattern.name in ("logout", "log-out-everywhere"):
            continue
        if "POST" in methods:
            for kind in (list(BODIES)[number % len(BODIES)], "json"):
                content_type, body = BODIES[kind]
                send(kind, address, body, content_type, "POST")
        if "GET" in methods:
            odd = ODD[number % len(ODD)]
            send(odd, f"{address}?{'&'.join(f'{key}={odd}' for key in KEYS)}")
            if "987654" in address:
                send("a number no key can be", address.replace("987654", "9" * 30))
            if "no-such-thing" in address:
                send("a name of no letters", address.replace("no-such-thing", "%00%FF"))
    assert not faults, faults
    assert sent >= LEAST
    stored = {table for table, count in row_counts().items() if count != before[table]}
    # Presses without a field do what they say; a try in vain by a link is counted.
    print(f"{sent} sent, counted in {sorted(stored)}")
    assert stored <= {"workshop_knock", "django_session"}, stored


def test_text_that_is_no_utf_8_is_refused_and_nothing_of_it_kept(owner_client):
    """RFC 3629: FF is in no text of UTF-8; the WHATWG's URL standard has forms sent as UTF-8."""
    before = row_counts()
    _type, body = BODIES["not utf-8"]
    answer = owner_client.generic("POST", "/customers/new/", body, content_type=URLENCODED)
    assert answer.status_code == 400
    assert row_counts() == before
    typed = "name=%C3%96zg%C3%BCr&email=&country="
    answer = owner_client.generic("POST", "/customers/new/", typed, content_type=URLENCODED)
    assert answer.status_code == 302
