"""Lines of the log: what happened, and nothing about whom."""

import json
import logging

import pytest
from django.conf import settings as django_settings
from django.test import Client, override_settings

from workshop.request_log import WithoutPaths
from workshop.services.quoting import link_token

pytestmark = pytest.mark.django_db
KEYS = ["at", "request", "method", "page", "status", "ms", "role"]


@pytest.fixture
def lines(caplog, monkeypatch):
    logger = logging.getLogger("workshop.requests")
    monkeypatch.setattr(logger, "propagate", True)
    caplog.set_level(logging.INFO, "workshop.requests")

    def read():
        return [json.loads(r.getMessage()) for r in caplog.records if r.name == logger.name]

    with override_settings(REQUEST_LOG=True):
        yield read


def test_one_line_a_request_says_what_and_not_whom(lines, quote, owner):
    client = Client(raise_request_exception=False)
    token = link_token(quote)
    client.get(f"/q/{token}/?from=Merle")
    client.get("/q/" + "x" * 43 + "/")
    client.get("/nowhere/Merle/")
    client.post("/login/", {"username": "owner-login", "password": "wrong"})
    client.generic("MERLE", "/")
    client.force_login(owner)
    answer = client.get("/customers/?q=Oakhollow")
    told = lines()
    assert [list(line) for line in told] == [KEYS] * 6
    assert [(line["page"], line["status"], line["role"]) for line in told] == [
        ("open-quote", 200, "anyone"),
        ("open-quote", 404, "anyone"),
        ("none", 404, "anyone"),
        ("login", 200, "anyone"),
        ("home", 405, "anyone"),
        ("customers", 200, "owner"),
    ]
    assert told[-1]["request"] == answer.headers["X-Request-Id"]
    assert len({line["request"] for line in told}) == 6
    whole = json.dumps(told)
    for word in (token, "Merle", "MERLE", "Oakhollow", "owner-login", "wrong", "127.0.0.1", "/q/"):
        assert word not in whole


def test_it_is_off_unless_switched_on(caplog, client):
    caplog.set_level(logging.INFO, "workshop.requests")
    assert "X-Request-Id" not in client.get("/login/").headers
    assert not caplog.records


def test_djangos_own_lines_name_the_page_and_not_the_link(caplog, quote):
    """What the console gets of a link that fails: the filter is on its only handler."""
    console = django_settings.LOGGING["handlers"]["console"]
    assert console["filters"] == ["without paths"]
    assert django_settings.LOGGING["loggers"]["django"]["handlers"] == []
    token = "y" * 43
    Client().get(f"/q/{token}/")
    records = [record for record in caplog.records if hasattr(record, "request")]
    assert records
    for record in records:
        assert WithoutPaths().filter(record)
        assert token not in record.getMessage()
        assert "open-quote" in record.getMessage()
    plain = logging.LogRecord("x", logging.WARNING, "", 1, "%s", ("kept",), None)
    assert WithoutPaths().filter(plain)
    assert plain.getMessage() == "kept"
