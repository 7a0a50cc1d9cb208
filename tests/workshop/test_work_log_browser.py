"""A timer on a phone: pressed without a connection, kept over a reload, sent when it is back."""

import pytest
from playwright.sync_api import expect

from workshop.models import WorkLog

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def phone(browser, client, owner, live_server):
    """A page on a phone, logged in; only what a lost connection itself logs is no fault."""
    client.force_login(owner)
    value = client.cookies["sessionid"].value
    context = browser.new_context(viewport={"width": 390, "height": 844})
    context.add_cookies([{"name": "sessionid", "value": value, "url": live_server.url}])
    page, faults = context.new_page(), []
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield page
    context.close()
    assert not faults, faults


@pytest.mark.usefixtures("rate_card")
def test_presses_without_a_connection_arrive_when_it_is_back(phone, live_server, commission):
    page = phone
    page.goto(f"{live_server.url}/jobs/{commission.pk}/work/")
    # The site is out of reach; the page stays, as on a phone in a cellar.
    page.route("**/work/start/", lambda route: route.abort("internetdisconnected"))
    page.route("**/work/stop/", lambda route: route.abort("internetdisconnected"))
    page.get_by_role("button", name="Start Stitching").click()
    kept = page.locator("#kept")
    expect(kept).to_contain_text("Stitching since")
    expect(kept).to_contain_text("No connection")
    assert not WorkLog.objects.exists()
    page.reload()
    expect(kept).to_contain_text("Stitching since")
    kept.get_by_role("button", name="Stop").click()
    expect(kept).to_contain_text("Stitching stopped at")
    assert not WorkLog.objects.exists()
    page.unroute("**/work/start/")
    page.unroute("**/work/stop/")
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator(".stretches li")).to_contain_text("Stitching")
    expect(kept).to_be_hidden()
    (entry,) = WorkLog.objects.all()
    assert entry.stopped_at > entry.started_at
    page.get_by_role("button", name="Start Lasting").click()
    expect(page.locator(".timer", has_text="Lasting")).to_be_visible()
    expect(page.locator("[data-ran-min]")).to_contain_text("00:00:0")
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width <= 390
