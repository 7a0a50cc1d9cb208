"""The head of every page: a menu that works without scripts and by keyboard, and the search."""

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SIZES = ((390, 844), (768, 1024), (1280, 900), (1920, 1080))
FEWEST, HIGHEST_PX = 14, 130


@pytest.fixture
def plain(browser, client, owner, live_server):
    """A page without scripts, logged in as the owner."""
    client.force_login(owner)
    context = browser.new_context(java_script_enabled=False)
    value = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": value, "url": live_server.url}])
    page = context.new_page()
    page.goto(live_server.url)
    yield page
    context.close()


def test_the_head_stays_low_and_its_menu_opens_by_keyboard(plain):
    links = plain.get_by_role("navigation", name="Main").get_by_role("link")
    head = plain.locator(".masthead")
    for width, height in SIZES:
        plain.set_viewport_size({"width": width, "height": height})
        assert head.bounding_box()["height"] < HIGHEST_PX
        menu = plain.locator("summary", has_text="Menu")
        if width < 992:
            assert links.count() == 0
            menu.press("Enter")
        else:
            assert not menu.is_visible()
            assert len({link.bounding_box()["y"] for link in links.all()}) == 1  # one row
        assert links.count() >= FEWEST
        assert plain.get_by_role("button", name="Log out").count() == 1
        boxes = [link.bounding_box() for link in links.all()]
        assert all(box["x"] >= 0 and box["x"] + box["width"] <= width for box in boxes)
        if width < 992:
            menu.press("Enter")
            assert links.count() == 0


def test_a_menu_entry_is_reached_by_tab_and_leads_on(plain):
    plain.set_viewport_size({"width": 390, "height": 844})
    for _skip_title_menu in range(3):
        plain.keyboard.press("Tab")
    plain.keyboard.press("Space")
    for _bench_jobs_dolls in range(3):
        plain.keyboard.press("Tab")
    with plain.expect_navigation():
        plain.keyboard.press("Enter")
    assert plain.url.endswith("/dolls/")


def test_a_code_typed_in_the_head_opens_its_page(plain, commission, live_server):
    plain.goto(f"{live_server.url}/styles/")
    box = plain.get_by_role("searchbox", name="Find a name, code or number")
    box.fill(commission.code.lower())
    with plain.expect_navigation():
        box.press("Enter")
    assert plain.url.endswith(f"/jobs/{commission.pk}/")
