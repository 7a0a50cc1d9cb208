"""Measuring in a real browser: by keyboard, on a phone, and with scripts off."""

import re

import pytest
from playwright.sync_api import expect

from workshop.models import FootVersion
from workshop.services.records import record_save

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

KEPT = re.compile(r"/feet/\d+/$")
OUTLINE = "curve,x,y\n" + "".join(
    f"sole_outline,{x},{y}\n" for x, y in ((0, 0), (75, 0), (75, 30), (0, 30))
)


@pytest.fixture
def house_doll(transactional_db):
    from workshop.models import Doll

    doll = Doll(name="House 75")
    record_save(doll, by=None)
    return doll


@pytest.fixture
def log_in(live_server, owner):
    def enter(page):
        page.goto(f"{live_server.url}/login/")
        page.fill("[name=username]", owner.username)
        page.fill("[name=password]", "a long phrase")
        page.keyboard.press("Enter")
        page.wait_for_url(f"{live_server.url}/")

    return enter


def test_a_foot_is_measured_by_keyboard_alone_down_the_list(page, live_server, log_in, house_doll):
    log_in(page)
    page.goto(f"{live_server.url}/dolls/{house_doll.pk}/feet/new/")
    page.focus("[name=foot_length]")
    # Left empty: ankle girth and height, toe height; nothing else lies between the boxes.
    for typed in (
        "75",
        "31,8",
        "74.2",
        "20.8",
        "72.8",
        "20.7",
        "99.8",
        "",
        "",
        "",
        "92",
        "75",
        "0",
    ):
        page.keyboard.type(typed)
        page.keyboard.press("Tab")
    page.wait_for_selector("#note-ankle_girth .inferred")
    # What was typed last is still on its way to the check.
    expect(page.locator("#checks")).to_contain_text("Ankle girth", use_inner_text=True)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url(KEPT)
    foot = FootVersion.objects.get()
    assert (str(foot.ball_width), str(foot.heel_raise)) == ("31.800", "0.000")
    assert foot.ankle_girth is None


def test_an_impossible_pair_is_marked_while_typing(page, live_server, log_in, house_doll):
    log_in(page)
    page.goto(f"{live_server.url}/dolls/{house_doll.pk}/feet/new/")
    for name, typed in (("foot_length", "75"), ("ball_width", "31.8"), ("ball_girth", "40")):
        page.fill(f"[name={name}]", typed)
    page.keyboard.press("Tab")
    page.wait_for_selector("#note-ball_girth .measure-fault")
    page.fill("[name=ball_girth]", "74.2")
    page.keyboard.press("Tab")
    page.wait_for_selector("#note-ball_girth .measure-fault", state="detached")


@pytest.mark.parametrize("scripts", [True, False])
def test_a_tracing_is_looked_at_then_kept(
    browser, live_server, log_in, house_doll, tmp_path, scripts
):
    file = tmp_path / "outline.csv"
    file.write_text(OUTLINE)
    context = browser.new_context(java_script_enabled=scripts)
    page = context.new_page()
    log_in(page)
    page.goto(f"{live_server.url}/dolls/{house_doll.pk}/feet/new/")
    page.fill("[name=foot_length]", "75")
    page.set_input_files("[name=tracing_file]", file)
    page.click("text=Look at the tracing")
    page.wait_for_selector("#tracing-seen svg")
    assert not FootVersion.objects.exists()
    expect(page.locator("[name=foot_length]")).to_have_value("75")
    page.click(".measure-keep button")
    page.wait_for_url(KEPT)
    assert FootVersion.objects.get().sole_outline[1] == [75, 0]
    context.close()


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_no_library_page_is_wider_than_the_screen(page, live_server, log_in, house_doll, width):
    page.set_viewport_size({"width": width, "height": 800})
    log_in(page)
    doll = f"/dolls/{house_doll.pk}/"
    for address in ("/dolls/", "/dolls/new/", doll, f"{doll}feet/new/", "/customers/",
                    "/customers/new/", "/library/import/"):  # fmt: skip
        page.goto(live_server.url + address)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, address
