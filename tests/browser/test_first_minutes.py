"""An empty workshop and a first customer: from the first page to a quote that can be sent."""

import pytest

from tests.browser.maker import FIRST_ANSWERS, money
from tests.browser.test_life_by_mail import station, words_of
from workshop.models import Quote, RateCard

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.timeout(300),
]


def test_from_an_empty_workshop_to_a_quote_that_can_be_sent(maker):
    maker.begin()
    maker.follow("Set the workshop up")
    maker.write(**FIRST_ANSWERS)
    maker.press("Set the workshop up")
    maker.fits_a_phone()
    maker.write(customer="Ottilie Farrow", doll="Wren")
    maker.press("Take the job in")
    maker.write(foot_length="75")
    maker.press("Keep this foot")
    station(maker, "price")
    price = money(maker.read(".bench-price"))
    maker.press("Save as a quote")
    assert money(maker.read("aside .price")) == price
    assert "/q/" in maker.page.get_by_label("Link for the customer").input_value()
    assert f"{price}" in words_of(maker.paper("Quote (PDF)"))
    quote = Quote.objects.get()
    assert (quote.state, RateCard.objects.get().labour_rate_per_hour) == ("open", 22)
    assert (maker.clicks, maker.typed) <= (12, 12)
    maker.tell("First minutes")


def test_a_fault_keeps_all_that_was_typed_and_names_its_field(maker):
    maker.begin("/begin/")
    maker.write(leather_name="Goat", paid="24", labour_rate_per_hour="-1")
    maker.page.get_by_role("button", name="Set the workshop up").click()
    maker.page.locator(".faults").wait_for()
    told = maker.read(".faults")
    assert "Colour: Needed with the others" in told
    assert "What shall an hour of your work earn?" in told
    assert maker.page.locator("[name=leather_name]").input_value() == "Goat"
    assert not RateCard.objects.exists()
