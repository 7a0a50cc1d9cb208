"""Every address, with every method, for every role: open exactly where the table says."""

import pytest
from django.urls import URLPattern, get_resolver, reverse

from workshop.doors import ALL, ANYONE, DOORS, LINKS, OWNERS

METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
ROLES = ("owner", "helper", "bookkeeper", ANYONE)
# To whom a door opens is the table's matter on any database; the owner opens every one on each.
TABLE_ALONE = pytest.mark.paper
# A value for each kind of converter; the records do not exist, so an open door answers 404.
SAMPLES = {"int": 987654, "str": "no-such-thing", "slug": "none", "path": "none"}


def patterns():
    return [p for p in get_resolver().url_patterns if isinstance(p, URLPattern)]


def address_of(pattern: URLPattern) -> str:
    kinds = {
        name: type(converter).__name__.removesuffix("Converter").lower().replace("string", "str")
        for name, converter in pattern.pattern.converters.items()
    }
    return reverse(pattern.name, kwargs={name: SAMPLES[kind] for name, kind in kinds.items()})


def test_every_address_stands_in_the_table_and_the_table_has_no_other():
    assert {pattern.name for pattern in patterns()} == set(DOORS)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "role", [ROLES[0], *(pytest.param(r, marks=TABLE_ALONE) for r in ROLES[1:])]
)
@pytest.mark.parametrize("pattern", patterns(), ids=lambda pattern: pattern.name)
def test_a_door_opens_exactly_to_the_roles_of_the_table(pattern, role, client, request):
    if role != ANYONE:
        client.force_login(request.getfixturevalue(role))
    address = address_of(pattern)
    for method in METHODS:
        allowed = DOORS[pattern.name].get(method, frozenset())
        answer = client.generic(method, address)
        refused = answer.status_code in (403, 405) or (
            answer.status_code == 302 and answer.headers["Location"].startswith("/login/?next=")
        )
        if role in allowed or allowed in (ALL, LINKS):
            assert not refused, f"{method} {address} is closed to {role}"
            assert answer.status_code < 500
        else:
            assert refused, f"{method} {address} is open to {role}: {answer.status_code}"


@pytest.mark.django_db
@pytest.mark.parametrize("role", ["helper", "bookkeeper", ANYONE])
def test_the_back_door_opens_to_the_owner_alone(role, client, request):
    if role != ANYONE:
        client.force_login(request.getfixturevalue(role))
    for address in ("/back-door/", "/back-door/workshop/customer/"):
        answer = client.get(address)
        assert answer.status_code in (302, 403)
        assert "customer" not in answer.headers.get("Location", "").split("?")[0]


def test_the_owner_alone_writes_money():
    for name in ("quote-save", "quote-answer", "quote-withdraw", "workshop-settings"):
        assert DOORS[name]["POST"] == OWNERS


@pytest.mark.django_db
def test_a_closed_login_opens_nothing(client, helper):
    client.force_login(helper)
    helper.is_active = False
    helper.save()
    assert client.get("/jobs/").status_code == 302


@pytest.mark.django_db
def test_pages_allow_no_inline_script_or_style(owner_client):
    answer = owner_client.get("/")
    policy = answer.headers["Content-Security-Policy"]
    assert "script-src 'self'" in policy
    assert "style-src 'self'" in policy
    assert "unsafe-inline" not in policy
    assert "unsafe-eval" not in policy
    body = answer.content.decode()
    assert " style=" not in body
    assert "<script>" not in body
    assert answer.headers["Referrer-Policy"] == "same-origin"
