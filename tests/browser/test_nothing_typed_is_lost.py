"""What was typed stays on the page when a form is refused and when the connection drops."""

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import expect

from tests.browser.hands import LOGGED_IN
from tests.browser.maker import Maker
from tests.browser.test_other_hands import opened
from tests.workshop.conftest import customer, doll  # noqa: F401
from workshop.models import Customer, MeasuringLink, Quote
from workshop.services.measuring_links import measuring_link_make, measuring_token

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TYPED = {"name": "Ottilie Farrow", "email": "ottilie@example.org", "note": "rings\nafter supper"}
FILLED = """[...document.querySelectorAll("main form [name]")]
  .filter((field) => !["hidden", "file", "submit"].includes(field.type))
  .map((field) => [field.name, ["checkbox", "radio"].includes(field.type)
    ? String(field.checked) : field.value.replaceAll("\\r\\n", "\\n")])"""


@pytest.fixture
def maker(browser, client, owner, live_server):
    """The owner's browser; a request that is lost on the way is logged there and is no fault."""
    client.force_login(owner)
    login = {"name": LOGGED_IN, "value": client.cookies[LOGGED_IN].value, "url": live_server.url}
    with opened(browser, live_server.url, Maker, [login]) as maker:
        yield maker


def without_connection(page):
    page.context.set_offline(True)
    return page.locator(".not-sent")


def press_and_stay(page, name):
    page.locator("main").get_by_role("button", name=name, exact=True).first.click()


def test_a_form_pressed_without_a_connection_stays_and_is_sent_once_later(maker):
    page = maker.page
    maker.begin("/customers/new/")
    maker.write(**TYPED)
    told = without_connection(page)
    press_and_stay(page, "Save")
    expect(told).to_contain_text("Not saved: the workshop cannot be reached.")
    expect(told.locator("[data-when^=looking]:visible, [data-when$=out]:visible")).to_have_count(0)
    assert {name: page.locator(f"main [name={name}]").input_value() for name in TYPED} == TYPED
    # Told to those who do not see it; the focus stays on the button that was pressed.
    assert told.get_attribute("role") == "alert"
    assert page.evaluate("document.activeElement.innerText") == "Save"
    press_and_stay(page, "Save")
    expect(told).to_have_count(1)
    assert not Customer.objects.exists()
    page.context.set_offline(False)
    with page.expect_navigation():
        page.locator("main").get_by_role("button", name="Save", exact=True).dblclick()
    (kept,) = Customer.objects.all()
    assert (kept.name, kept.email) == (TYPED["name"], TYPED["email"])
    assert kept.note.splitlines() == TYPED["note"].splitlines()


def test_a_change_of_the_job_is_tried_again_when_the_connection_is_back(maker, choice):
    page = maker.page
    maker.begin(f"/jobs/{choice.commission.pk}/")
    before = maker.read(".bench-price")
    told = without_connection(page)
    page.locator("#id_pairs").fill("2")
    expect(told).to_contain_text("Not worked out: the workshop cannot be reached.")
    assert page.locator("#id_pairs").input_value() == "2"
    assert maker.read(".bench-price") == before
    press_and_stay(page, "Save as a quote")
    expect(told).to_contain_text("Not saved")
    assert not Quote.objects.exists()
    page.locator("#station-price").click()
    expect(told).to_contain_text("Not worked out")
    page.context.set_offline(False)
    told.get_by_role("button", name="Try again").click()
    page.locator("#station-price[aria-current]").wait_for()
    expect(told).to_have_count(0)
    assert page.locator("#id_pairs").input_value() == "2"
    assert "2 pairs" in maker.read(".bench-price")
    maker.press("Save as a quote")
    assert Quote.objects.get().pair_count == 2


def log_in_in_another_window(maker, told):
    with maker.page.context.expect_page() as opened_page:
        told.get_by_role("link", name="Log in in another window").click()
    other = opened_page.value
    other.locator("[name=username]").fill("owner-login")
    other.locator("[name=password]").fill("a long phrase")
    with other.expect_navigation():
        other.get_by_role("button", name="Log in").click()
    assert other.locator("[name=password]").count() == 0
    other.close()


def test_whoever_was_logged_out_meanwhile_logs_in_beside_and_sends_what_was_typed(maker):
    page = maker.page
    maker.begin("/customers/new/")
    maker.write(**TYPED)
    Session.objects.all().delete()
    press_and_stay(page, "Save")
    told = page.locator(".not-sent")
    expect(told).to_contain_text("Not saved: you are logged out by now.")
    expect(told.locator("[data-when$=away]:visible")).to_have_count(0)
    log_in_in_another_window(maker, told)
    with page.expect_navigation():
        told.get_by_role("button", name="Try again").click()
    assert Customer.objects.get().email == TYPED["email"]


def test_a_part_of_a_page_is_no_place_for_the_login(maker, choice):
    page = maker.page
    maker.begin(f"/jobs/{choice.commission.pk}/")
    Session.objects.all().delete()
    page.locator("#id_pairs").fill("2")
    told = page.locator(".not-sent")
    expect(told).to_contain_text("Not worked out: you are logged out by now.")
    assert page.locator("[name=password]").count() == 0
    log_in_in_another_window(maker, told)
    told.get_by_role("button", name="Try again").click()
    expect(page.locator(".bench-price")).to_contain_text("2 pairs")


@pytest.mark.usefixtures("rate_card")
def test_a_customer_on_a_train_sends_the_measures_once(browser, live_server, doll, owner):  # noqa: F811
    link = measuring_link_make(doll, by=owner)
    with opened(browser, live_server.url, Maker) as hand:
        page = hand.page
        hand.begin(f"/m/{measuring_token(link)}/")
        page.get_by_role("radio").first.check()
        hand.write(foot_length="76", note="The toes are spread.")
        told = without_connection(page)
        press_and_stay(page, "Send the measures")
        expect(told).to_contain_text("Not saved")
        assert page.locator("[name=note]").input_value() == "The toes are spread."
        page.context.set_offline(False)
        told.get_by_role("button", name="Try again").click()
        expect(page.locator("main")).to_contain_text("arrived")
    assert MeasuringLink.objects.get().answer["note"] == "The toes are spread."


# Each page with what it refuses; everything else on it is as it was typed.
REFUSED = (
    ("/customers/new/", "Save", {"name": "", "email": "not an address", "note": "kept"}),
    ("/dolls/new/", "Save", {"name": "", "customer": "nobody at all"}),
    ("/jobs/new/", "Take the job in", {"customer": "", "doll": "Wren", "budget": "-5"}),
    ("/leather/new/", "Save", {"name": "Goat", "thickness_mm": "-1", "price": "1.35"}),
    ("/supplies/new/", "Save", {"name": "Thread", "pack_quantity": "-1", "pack_price": "6.80"}),
    ("/rates/new/", "Put the new card in use", {"labour_rate_per_hour": "-1", "reason": "kept"}),
    ("/styles/new/", "Save", {"name": "", "file_name": "slip-on"}),
    ("/settings/", "Save", {"name": "Kept", "currency": "XXQ"}),
)


def test_a_refused_form_keeps_every_value_and_leads_to_the_fault(maker):
    page, faults = maker.page, []
    for address, button, values in REFUSED:
        maker.begin(address)
        for name, value in values.items():
            field = page.locator(f"main [name='{name}']").first
            if field.evaluate("field => field.tagName") == "SELECT":
                field.select_option(value)
            else:
                field.fill(value)
        typed = dict(page.evaluate(FILLED))
        # As a browser sends it that does not look at what was typed.
        page.evaluate("for (const form of document.forms) form.noValidate = true")
        with page.expect_navigation():
            press_and_stay(page, button)
        shown = dict(page.evaluate(FILLED))
        faults += [
            (address, name, shown.get(name)) for name in typed if shown.get(name) != typed[name]
        ]
        links = [link.get_attribute("href") for link in page.locator(".faults a").all()]
        faults += [(address, link) for link in links if page.locator(link).count() != 1]
        faults += [] if links else [(address, "no summary")]
    assert not faults
