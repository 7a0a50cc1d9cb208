"""Six pairs in three sizes for a stall, from two remnants and one hide, in a real browser."""

import pytest

from tests.browser.worker import working
from tests.workshop.test_stock_runs import hides, sizes  # noqa: F401
from workshop.models import FinishedPair, Hide
from workshop.services import stock_runs

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def signed_in(page, client, owner, live_server):
    client.force_login(owner)
    value = client.cookies["sessionid"].value
    cookie = {"name": "sessionid", "value": value, "url": live_server.url}
    page.context.add_cookies([cookie])
    return page


def no_wider_than_screen(page):
    for width in (390, 1280):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_pairs_for_a_stall_from_the_first_form_to_the_shelf(
    signed_in,
    live_server,
    sizes,  # noqa: F811
    hides,  # noqa: F811
    style_version,
    supplies,
    rate_card,
    monkeypatch,
):
    monkeypatch.setattr(stock_runs, "SECONDS_TO_LAY_OUT", 4)
    page = signed_in
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.goto(f"{live_server.url}/jobs/")
    page.get_by_role("link", name="Pairs for stock").click()
    page.get_by_label("What for").fill("Spring stall")
    for length in (60, 66, 72):
        page.get_by_label(f"House {length} ({length} mm)").fill("2")
    page.get_by_role("button", name="Take the job in").click()
    page.get_by_role("heading", name="Spring stall").wait_for()
    for hide in hides:
        page.get_by_label(f"{hide.code} Calf, chestnut").check()
    page.get_by_role("button", name="Cut from these").click()
    with working():
        page.get_by_role("button", name="Lay all pieces out").click()
        # The page looks again by itself while the worker searches.
        page.get_by_role("heading", name="What each pair costs").wait_for(timeout=60_000)
    no_wider_than_screen(page)
    rows = page.locator("#pairs tbody tr")
    assert rows.count() >= 6
    page.get_by_role("button", name="Begin the work").click()
    page.get_by_text("The hides are kept for it, and its cut list is made.").wait_for()
    assert set(Hide.objects.values_list("state", flat=True)) == {"reserved"}
    no_wider_than_screen(page)
    page.get_by_role("link", name="Cut list").click()
    for hide in hides:
        assert page.get_by_role("heading", name=f"From {hide.code}").count() == 1
    assert page.get_by_text("A: Ankle boot, House 60, 2 pairs").count() == 1
    no_wider_than_screen(page)
    page.go_back()
    page.get_by_role("button", name="Put them on the shelf").click()
    page.get_by_text("6 pairs are on the shelf.").wait_for()
    no_wider_than_screen(page)
    page.goto(f"{live_server.url}/pairs/")
    assert page.get_by_text("Ankle boot, House 72, Calf, chestnut").count() == 2
    assert FinishedPair.objects.count() == 6
    assert said == []
