"""Leather and rates in a real browser: the drawing while typing, scripts off, a phone."""

import pytest

from tests.workshop.fixtures_stock import make_hide, make_lot, make_rate_card, make_supply
from workshop.models import Hide, RateCard, Style
from workshop.services.styles import style_make

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def cookie(client, owner, live_server):
    client.force_login(owner)
    value = client.cookies["sessionid"].value
    return {"name": "sessionid", "value": value, "url": live_server.url}


def test_the_hide_is_drawn_while_its_figures_are_typed(page, cookie, live_server):
    lot = make_lot()
    page.context.add_cookies([cookie])
    page.goto(f"{live_server.url}/leather/{lot.pk}/hides/new/")
    page.get_by_label("Width, along x (mm)").fill("600")
    page.get_by_label("Height, along y (mm)").fill("400")
    page.locator("#preview svg").wait_for()
    assert "26.40 EUR" in page.locator("#preview").inner_text()
    page.get_by_label("Height, along y (mm)").fill("4000")
    page.locator("#preview li").first.wait_for()
    assert not Hide.objects.exists()


def test_a_hide_and_a_rate_card_are_made_with_scripts_off(browser, cookie, live_server):
    lot = make_lot()
    context = browser.new_context(java_script_enabled=False)
    context.add_cookies([cookie])
    page = context.new_page()
    page.goto(f"{live_server.url}/leather/{lot.pk}/hides/new/")
    page.get_by_label("Or corner points (mm)").fill("0, 0\n600, 0\n600, 400\n0, 400")
    page.get_by_role("button", name="Draw it").click()
    assert page.locator("#preview svg").count() == 1
    page.get_by_role("button", name="Save the hide").click()
    assert page.locator("main svg").count() == 1
    page.goto(f"{live_server.url}/rates/new/")
    page.get_by_label("Labour rate per hour").fill("18")
    page.get_by_label("Why").fill("first card")
    page.get_by_role("button", name="Put the new card in use").click()
    assert page.get_by_text("Rate card 1 is in use").count() == 1
    context.close()
    assert Hide.objects.count() == RateCard.objects.count() == 1


@pytest.mark.parametrize("width", [390, 1280])
def test_no_page_is_wider_than_the_screen_and_the_console_is_quiet(
    page, cookie, live_server, width
):
    lot = make_lot(colour_may_rub=True)
    hide = make_hide(lot)
    supply = make_supply("clay", on_hand="100")
    card = make_rate_card()
    style = style_make(Style(name="Boot", file_name="lace-up-ankle-boot"), by=None).style
    page.set_viewport_size({"width": width, "height": 900})
    page.context.add_cookies([cookie])
    for address in (
        "leather/",
        "leather/new/",
        f"leather/{lot.pk}/",
        f"leather/{lot.pk}/hides/new/",
        f"hides/{hide.pk}/",
        f"hides/{hide.pk}/change/",
        "supplies/",
        "supplies/new/",
        f"supplies/{supply.pk}/",
        "styles/",
        f"styles/{style.pk}/",
        f"styles/{style.pk}/versions/new/",
        "rates/",
        "rates/new/",
        f"rates/{card.pk}/",
    ):
        assert page.goto(f"{live_server.url}/{address}").status == 200
        wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 0, f"{address} is {wide} px too wide"
