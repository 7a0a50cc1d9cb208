"""Records that many tests of the pages begin with; every person and doll is invented."""

import subprocess
from decimal import Decimal
from types import SimpleNamespace

import pytest

from tests.shared import shared

# Strings that only those who may see contact data may read anywhere.
CONTACT = {
    "email": "merle@example.org",
    "phone": "+00 555 0142",
    "address": "7 Thimble Row, Nether Wick",
    "country": "Farawayland",
    "note": "rings after supper",
}
MEASURES = {"foot_length": Decimal("75"), "ball_girth": Decimal("74.2")}


@pytest.fixture
def customer(db):
    from workshop.models import Customer
    from workshop.services.records import record_save

    record = Customer(name="Merle Oakhollow", **CONTACT)
    record_save(record, by=None)
    return record


@pytest.fixture
def doll(customer):
    from workshop.models import Doll
    from workshop.services.records import record_save

    record = Doll(customer=customer, name="Juniper", material="resin")
    record_save(record, by=None)
    return record


@pytest.fixture
def foot_version(doll, owner):
    from workshop.services.library import foot_measure

    return foot_measure(
        doll=doll, foot_side="left", measures=MEASURES, reason="first measuring", by=owner
    )


@pytest.fixture
def every_page(choice, owner):
    """A record of every kind; the pages that show them."""
    from tests.workshop.fixtures_pages import records_of_every_kind

    return records_of_every_kind(choice, owner)


@pytest.fixture
def files_read_once(monkeypatch):
    """Let the child read each sent file once in a run; `test_uploads` is about the child itself."""
    from workshop import uploads

    def run(command, *, input, **options):
        return shared(
            "child", (command, input), lambda: subprocess.run(command, input=input, **options)
        )

    stand_in = SimpleNamespace(run=run, TimeoutExpired=subprocess.TimeoutExpired)
    monkeypatch.setattr(uploads, "subprocess", stand_in)
