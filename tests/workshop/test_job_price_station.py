"""The price station of a job: how it is sold, what if, where the price goes, a price by hand."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from django.urls import reverse

from tests.workshop.fixtures_plans import query_of
from tests.workshop.fixtures_stock import make_rate_card
from tests.workshop.test_rates_pages import STITCHING, card_data
from workshop.models import (
    Commission,
    DestinationTable,
    DestinationTax,
    Quote,
    RateCard,
    Supply,
)
from workshop.services.places import destinations_save

pytestmark = [pytest.mark.django_db, pytest.mark.paper]


def station(client, choice, **query):
    asked = {"style": choice.style.pk, "foot": choice.foot.pk, "hide": choice.hide.pk}
    data = asked | {"pairs": 1, "station": "price"} | query
    return client.get(f"/jobs/{choice.commission.pk}/", data)


def test_station_shows_where_the_price_goes_and_what_if(owner_client, choice):
    page = station(owner_client, choice)
    words, breakdown = page.content.decode(), page.context["worked"].breakdown
    assert sum(part.amount for part in page.context["parts"]) == breakdown.price
    assert 'class="price-parts"' in words
    assert "10 % more hours" in words
    assert len(page.context["what_ifs"]) >= 10


def test_sale_is_worked_into_the_price_and_kept_in_the_quote(owner_client, choice):
    sale = {"rush": "yes", "postage_charged": "9", "postage_paid": "8.20", "payments": "3"}
    make_rate_card(rush_pct=Decimal(15), packing_cost=Decimal("1.10"))
    bare = station(owner_client, choice).context["worked"].breakdown
    worked = station(owner_client, choice, **sale).context["worked"]
    found = worked.breakdown
    assert found.postage == 9
    assert found.rush == (found.price_per_pair * 15 / 100).quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert found.cost == bare.cost + Decimal("9.30")
    assert worked.job.fees.payments == 3
    data = dict(style=choice.style.pk, foot=choice.foot.pk, hide=choice.hide.pk, pairs=1, **sale)
    owner_client.post(f"/jobs/{choice.commission.pk}/quote/", data)
    quote = Quote.objects.get()
    assert quote.price == found.price
    assert quote.snapshot["job"]["postage"]["paid"] == "8.20"
    assert owner_client.get(f"/quotes/{quote.pk}/").status_code == 200


def test_a_price_that_nobody_saw_is_not_saved(owner_client, choice):
    address = reverse("quote-save", args=[choice.commission.pk])
    query = query_of(choice)
    answer = owner_client.post(address, {**query, "price_seen": "1.00"}, follow=True)
    page = answer.content.decode()
    assert "Nothing is saved yet" in page
    assert not Quote.objects.exists()
    seen = answer.context["worked"].breakdown.price
    headers = {"HX-Request": "true"}
    answer = owner_client.post(address, {**query, "price_seen": str(seen)}, headers=headers)
    # A form that is sent by script is answered with where to go.
    assert answer.headers["HX-Redirect"] == reverse("quote", args=[Quote.objects.get().pk])


def test_the_country_a_job_names_is_where_it_is_sent_until_it_is_said_otherwise(
    owner_client, choice, owner
):
    table = DestinationTable(reason="a test")
    destinations_save(table, [], [DestinationTax(country="Elsewhere", pct=0)], by=owner)
    Commission.objects.update(country="elsewhere")
    page = station(owner_client, choice).content.decode()
    assert 'value="Elsewhere" selected' in page
    assert "the price holds no postage" in page
    page = station(owner_client, choice, sent_to="-").content.decode()
    assert 'value="Elsewhere" selected' not in page
    assert "the price holds no postage" not in page
    Commission.objects.update(country="Nowhere else")
    assert 'value="Elsewhere" selected' not in station(owner_client, choice).content.decode()


def test_price_by_hand_and_profit_wanted_lead_to_each_other(owner_client, choice):
    by_hand = station(owner_client, choice, price_wanted="300").context["worked"].breakdown
    assert by_hand.price_per_pair == 300
    back = station(owner_client, choice, profit_wanted=str(by_hand.profit))
    assert back.context["worked"].breakdown.price_per_pair == 300


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("postage_paid", "NaN"),
        ("postage_charged", "1e30"),
        ("payments", "0"),
        ("tax_there", "-1"),
        ("joined", "nails"),
        ("batch", "x"),
        ("profit_wanted", "Infinity"),
    ],
)
def test_faulty_sale_has_its_message_by_its_field(owner_client, choice, name, value):
    page = station(owner_client, choice, **{name: value})
    assert page.status_code == 200
    assert name in page.context["form"].errors


@pytest.mark.parametrize(
    "query", [{"price_wanted": "10.001"}, {"batch": "1", "pairs": "2"}, {"postage_paid": "0.001"}]
)
def test_sale_that_costing_refuses_is_said_on_the_station(owner_client, choice, query):
    page = station(owner_client, choice, **query)
    assert page.status_code == 200
    assert page.context["worked"].faults["price"]
    assert page.context["worked"].breakdown is None


def test_what_was_chosen_goes_on_to_the_other_stations(owner_client, choice):
    page = station(owner_client, choice, rush="yes", station="leather").content.decode()
    assert '<input type="hidden" name="rush" value="yes" form="choice">' in page


def test_helper_sees_none_of_it(client, helper, choice):
    client.force_login(helper)
    page = station(client, choice, postage_paid="8.2")
    assert "what_ifs" not in page.context
    assert 'name="postage_paid"' not in page.content.decode()


def test_steps_of_another_way_of_joining_are_left_out(owner_client, choice):
    machine = {**STITCHING, "name": "By machine", "way": "machine"}
    by_hand = {**STITCHING, "name": "By hand", "way": "hand stitch", "less_again_pct": "10"}
    owner_client.post("/rates/new/", card_data(machine, by_hand, lacing="straight"))
    card = RateCard.objects.first()
    assert (card.lacing, card.steps.last().less_again_pct) == ("straight", 10)
    for joined, name in (("machine", "By machine"), ("hand stitch", "By hand")):
        worked = station(owner_client, choice, joined=joined).context["worked"]
        assert [step.name for step in worked.job.steps] == [name]


def test_thread_counted_by_the_piece_is_told_by_its_name(owner_client, choice):
    Supply.objects.filter(kind="thread").update(unit="piece")
    worked = station(owner_client, choice).context["worked"]
    assert "Waxed thread 0.6 mm" in worked.faults["price"]
    assert worked.fault_fields["price"] == "unit"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"tax_exempt": "on"}, "tax_pct"),
        ({"round_ending": "0.50"}, "round_ending"),
        ({"round_ending": "NaN"}, "round_ending"),
        ({"least_price": "-1"}, "least_price"),
        ({"payment_fee_pct": "100"}, "payment_fee_pct"),
        ({"fee_payments": "0"}, "fee_payments"),
        ({"lacing": "zigzag"}, "lacing"),
        ({"lace_tip_mm": "-1"}, "lace_tip_mm"),
        ({"rush_pct": "1e30"}, "rush_pct"),
    ],
    ids=str,
)
def test_faulty_figure_of_a_sale_is_refused_by_name(owner_client, changes, field):
    page = owner_client.post("/rates/new/", card_data(STITCHING, **changes))
    assert field in page.context["entry"].form.errors
    assert not RateCard.objects.exists()
