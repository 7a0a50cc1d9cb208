"""From an empty workshop to a sent quote by keyboard alone, on a phone, and without scripts."""

from contextlib import contextmanager

import pytest

from tests.browser.hands import LOGGED_IN, PHONE, Finger, Keys, Plain
from tests.browser.maker import FIRST_ANSWERS, Maker, money
from tests.browser.test_life_by_mail import words_of
from tests.browser.worker import working
from workshop.models import BackgroundJob, FootVersion, Quote

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.timeout(300),
]


@pytest.fixture
def login(client, owner, live_server):
    """The cookie of the owner's login."""
    client.force_login(owner)
    return {"name": LOGGED_IN, "value": client.cookies[LOGGED_IN].value, "url": live_server.url}


@contextmanager
def opened(browser, base, hand, cookies=(), **options):
    """Return a hand with a browser of its own; no script may fail in it."""
    context, faults = browser.new_context(**options), []
    context.add_cookies(list(cookies))
    page = context.new_page()
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield hand(page, base)
    context.close()
    assert not faults, faults


def to_the_job(hand):
    """Set the workshop up, take a job in and keep its doll's foot."""
    hand.follow("Set the workshop up")
    hand.write(**FIRST_ANSWERS)
    hand.press("Set the workshop up")
    hand.write(customer="Ottilie Farrow", doll="Wren")
    hand.press("Take the job in")
    hand.write(foot_length="75")
    hand.press("Keep this foot")


def saved(hand):
    """Save the quote as its price is shown; return the price and the customer's link."""
    price = money(hand.read(".bench-price"))
    hand.press("Save as a quote")
    assert money(hand.read("aside .price")) == price
    assert f"{price}" in words_of(hand.paper("Quote (PDF)"))
    return price, hand.page.get_by_label("Link for the customer").input_value()


def accept(hand, link, price):
    """A customer opens the link and says yes."""
    hand.begin(link.removeprefix(hand.base))
    assert money(hand.read(".price")) == price
    hand.page.emulate_media(media="print")
    assert hand.page.locator(".masthead-title").is_visible()  # whose quote it is
    assert not hand.page.get_by_role("button").first.is_visible()
    hand.page.emulate_media(media="screen")
    hand.press("Accept this quote")
    assert "Accepted on" in hand.read()


def test_the_whole_job_by_keyboard_alone(browser, login, live_server):
    with opened(browser, live_server.url, Keys, [login]) as hand:
        page = hand.page
        hand.begin()
        hand.has_no_trap()
        hand.begin()
        hand.skip()
        to_the_job(hand)
        # What is changed on the job's page keeps the focus while pieces and price come anew.
        hand.skip()
        pairs = page.locator("#id_pairs")
        hand.to(pairs)
        page.keyboard.press("Control+A")
        page.keyboard.type("2")
        page.locator(".moved", has_text="to 2").wait_for()
        hand.is_still_on(pairs)
        assert pairs.input_value() == "2"
        hand.open_station("price")
        page.keyboard.press("Shift+Tab")
        hand.is_still_on(page.locator("#station-leather"))
        price, _link = saved(hand)
        assert Quote.objects.get().pair_count == 2
        assert price > 0


def test_the_whole_job_by_taps_on_a_phone(browser, login, live_server):
    with opened(browser, live_server.url, Finger, [login], **PHONE) as hand:
        hand.begin()
        to_the_job(hand)
        for station in ("foot", "pieces", "leather", "paper", "price"):
            hand.open_station(station)
        price, link = saved(hand)
    with opened(browser, live_server.url, Finger, **PHONE) as customer:
        accept(customer, link, price)


def test_the_whole_job_without_scripts(browser, login, live_server):
    options = {"java_script_enabled": False}
    base = live_server.url
    with opened(browser, base, Plain, [login], **options) as hand:
        hand.begin()
        to_the_job(hand)
        hand.write(pairs="2")
        hand.press("Work it out")
        hand.open_station("leather")
        with working():
            hand.press("Lay the pieces out")
            while hand.page.locator(".progress").count():
                hand.follow("Look again")
        assert BackgroundJob.objects.get(kind="layout").state == "done"
        hand.open_station("price")
        price, link = saved(hand)
        with opened(browser, base, Plain, **options) as customer:
            customer.begin(link.removeprefix(base))
            customer.write(text="May the lining be green?")
            customer.press("Send the question")
            accept(customer, link, price)
        hand.page.reload()
        assert "May the lining be green?" in hand.read()
        measure_from_afar(hand, browser, options)


def measure_from_afar(hand, browser, options):
    """Send a measuring link, have it answered, and keep the foot."""
    hand.begin("/dolls/")
    hand.follow("Wren")
    hand.unfold("Make a link")
    hand.press("Make the link")
    link = hand.page.locator("input.copy").input_value()
    with opened(browser, hand.base, Maker, **options) as customer:
        customer.begin(link.removeprefix(hand.base))
        customer.write(foot_length="76", ankle_girth="61", ankle_girth_again="61")
        customer.page.get_by_role("radio").first.check()
        customer.press("Send the measures")
        assert "arrived" in customer.read()
    hand.page.reload()
    hand.follow("Look them over and keep the foot")
    hand.press("Keep this foot")
    assert FootVersion.objects.count() == 2
