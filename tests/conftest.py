"""Shared fixtures: logins of each role, a browser, and a mark for tests of the database."""

import gc
import os
import shutil

import hypothesis
import pytest

from tests.shared import share_in

pytest_plugins = ["tests.workshop.fixtures_stock", "tests.workshop.fixtures_quotes"]

CHROMIUM_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


# A test says itself where it needs more examples, or fewer; no example is held to a time, because
# two test processes share the machine. HYPOTHESIS_PROFILE=many looks further.
hypothesis.settings.register_profile("run", max_examples=40, deadline=None)
hypothesis.settings.register_profile("many", max_examples=400, deadline=None)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "run"))

LONGEST = ("tests/test_start.py", "tests/browser/")
PATIENCE_MS = 30_000  # far more than any answer takes; only one that never comes reaches it
LEFT_BEHIND = ("htmx:sendAbort", "htmx:afterRequest")


def pytest_collection_modifyitems(items):
    """Mark every test that touches the database; put the longest first."""
    for item in items:
        fixtures = set(getattr(item, "fixturenames", ()))
        if item.get_closest_marker("django_db") or fixtures & {"db", "transactional_db"}:
            item.add_marker(pytest.mark.database)
    # Two processes take tests from each other at the end; what takes longest has begun by then.
    items.sort(key=lambda item: not item.nodeid.startswith(LONGEST))


def pytest_collection_finish():
    """Keep what was loaded out of every later search for rubbish: it stays until the end."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session", autouse=True)
def _share_between_processes(tmp_path_factory):
    """Let all processes of a run share what they work out; see `tests.shared`."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = tmp_path_factory.getbasetemp().parent / "shared"
        folder.mkdir(exist_ok=True)
        share_in(folder)


def make_login(role: str):
    """Make a login of one role and return the user."""
    from django.contrib.auth import get_user_model

    from workshop.models import Member

    user = get_user_model().objects.create_user(username=f"{role}-login", password="a long phrase")
    Member.objects.create(user=user, role=role)
    return user


@pytest.fixture
def owner(db):
    return make_login("owner")


@pytest.fixture
def helper(db):
    return make_login("helper")


@pytest.fixture
def bookkeeper(db):
    return make_login("bookkeeper")


@pytest.fixture
def owner_client(client, owner):
    client.force_login(owner)
    return client


@pytest.fixture(scope="session")
def browser():
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE_MS)
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        pytest.fail("Chromium is missing; bash tests/run.sh installs it")
    with sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=program, args=CHROMIUM_ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture
def page(browser):
    """A page 1280 px wide; any console error or uncaught fault fails the test.

    A request that the reader left behind by going to another page is logged by htmx as if it were
    an error; it is none.
    """
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on(
        "console",
        lambda said: (
            faults.append(said.text)
            if said.type == "error" and not said.text.startswith(LEFT_BEHIND)
            else None
        ),
    )
    yield page
    context.close()
    assert not faults, faults
