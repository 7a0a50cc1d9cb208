"""Places of sale, postage and tax by destination: kept by version, chosen at the price station."""

from decimal import Decimal
from fractions import Fraction
from math import ceil

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from costing.money import to_minor_unit
from tests.workshop.fixtures_stock import make_rate_card
from tests.workshop.test_job_price_station import station
from workshop.models import (
    DestinationTable,
    DestinationTax,
    PlaceFee,
    PlaceOfSale,
    PlaceVersion,
    PostageLine,
    Quote,
)
from workshop.selectors.orders import last_choice
from workshop.selectors.places import countries_of, destinations_in_use, place_in_use, places_shown
from workshop.services.places import destinations_save, place_offer, place_save
from workshop.services.stock import stock_use

pytestmark = pytest.mark.django_db


def make_place(*fees, name="Craft fair", payments=1, place=None, by=None):
    rows = [PlaceFee(**{"name": "share", **fee}) for fee in fees]
    version = PlaceVersion(payments=payments, reason="a test")
    return place_save(place or PlaceOfSale(name=name), version, rows, by=by)


def make_destinations(postage=(), taxes=(), by=None, **values):
    lines = [
        PostageLine(country=country, up_to_g=weight, charged=Decimal(charged), paid=Decimal(paid))
        for country, weight, charged, paid in postage
    ]
    rows = [DestinationTax(country=country, pct=Decimal(pct)) for country, pct in taxes]
    return destinations_save(DestinationTable(reason="a test", **values), lines, rows, by=by)


NORLAND = (("Norland", 500, "6.50", "5.90"), ("Norland", 1000, "9.00", "8.20"))
ANYWHERE = ("", 1000, "18.00", "16.40")


def priced(client, choice, **query):
    page = station(client, choice, **query)
    assert page.status_code == 200
    worked = page.context["worked"]
    assert worked.faults == {}
    return worked


# --- the price station ---------------------------------------------------------------------


def test_a_places_fees_stand_in_for_the_rate_cards(owner_client, choice):
    version = make_place(
        {"name": "listing", "fixed": Decimal("0.20")},
        {"name": "share", "pct": Decimal("8"), "on": "price_without_tax", "on_postage": True},
        {"name": "card payment", "pct": Decimal("1.5"), "fixed": Decimal("0.25"),
         "each_payment": True},
        payments=2,
    )  # fmt: skip
    worked = priced(owner_client, choice, place=version.place_id)
    assert [fee.name for fee in worked.job.all_fees] == ["listing", "share", "card payment"]
    assert [fee.payments for fee in worked.job.all_fees] == [1, 1, 2]
    b = worked.breakdown
    # Each fee by its own rule, from the price that was found.
    listing = Decimal("0.20")
    share = to_minor_unit(b.price_without_tax * Decimal("0.08"), "EUR")
    payment = to_minor_unit(b.price * Decimal("0.015") + Decimal("0.50"), "EUR")
    assert [line.amount for line in b.fee_lines] == [listing, share, payment]
    typed = priced(owner_client, choice, place=version.place_id, payments="3")
    assert [fee.payments for fee in typed.job.all_fees] == [1, 1, 3]
    # A dearer place asks for more than one that keeps nothing.
    free = make_place(name="At the door")
    assert priced(owner_client, choice, place=free.place_id).breakdown.fees == 0
    assert priced(owner_client, choice, place=free.place_id).breakdown.price < b.price


def test_a_destination_gives_its_tax_and_by_the_weight_its_postage(owner_client, choice):
    make_rate_card(packing_cost=Decimal("1.10"))
    make_destinations([*NORLAND, ANYWHERE], [("Norland", "0"), ("Sudland", "19")])
    worked = priced(owner_client, choice, sent_to="Norland", weight="640")
    assert worked.job.tax.percent == 0
    assert (worked.job.postage.charged, worked.job.postage.paid) == (9, Decimal("8.20"))
    assert worked.job.postage.packing == Decimal("1.10")
    assert worked.breakdown.tax == 0
    # Only the tax without a weight; a named country without postage takes that for anywhere.
    assert priced(owner_client, choice, sent_to="Sudland").job.postage.cost == 0
    worked = priced(owner_client, choice, sent_to="Sudland", weight="640")
    assert (worked.job.tax.percent, worked.job.postage.charged) == (19, 18)
    # Anywhere else has no tax row of its own here: the rate card's.
    assert priced(owner_client, choice, sent_to="*", weight="640").job.tax.percent == 21


def test_insurance_is_added_to_what_is_paid_and_charged(owner_client, choice):
    make_destinations(NORLAND, insurance_pct=Decimal("1.5"), insurance_fixed=Decimal("0.80"))
    worked = priced(owner_client, choice, sent_to="Norland", weight="500", insured="161")
    # 1.5 % of 161.00 is 2.415, and 0.80: 3.22 half up.
    assert worked.job.postage.charged == Decimal("6.50") + Decimal("3.22")
    assert worked.job.postage.paid == Decimal("5.90") + Decimal("3.22")


def test_what_is_typed_goes_before_the_table(owner_client, choice):
    make_destinations(NORLAND, [("Norland", "0")])
    asked = {"sent_to": "Norland", "weight": "400", "postage_charged": "0", "tax_there": "7"}
    worked = priced(owner_client, choice, **asked)
    assert (worked.job.postage.charged, worked.job.postage.paid) == (0, Decimal("5.90"))
    assert worked.job.tax.percent == 7


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"sent_to": "Norland", "weight": "1001"}, "weight"),
        ({"sent_to": "Sudland", "weight": "10"}, "sent_to"),
        ({"sent_to": "Nowhere"}, "sent_to"),
        ({"sent_to": "Norland", "weight": "0"}, "weight"),
        ({"sent_to": "Norland", "weight": "NaN"}, "weight"),
        ({"sent_to": "Norland", "weight": "1e30"}, "weight"),
        ({"insured": "-1"}, "insured"),
        ({"place": "987654"}, "place"),
        ({"place": "x"}, "place"),
    ],
)
def test_what_cannot_be_sold_so_is_said_by_its_field_and_stays_typed(
    owner_client, choice, asked, field
):
    make_destinations(NORLAND, [("Sudland", "19")])
    page = station(owner_client, choice, **asked, postage_paid="8.2")
    form = page.context["form"]
    assert field in form.errors
    # Nothing typed is lost: the questions stand there again with their values.
    words = page.content.decode()
    assert 'name="postage_paid" value="8.2"' in words
    assert f'id="id_{field}"' in words


def test_a_place_not_offered_cannot_be_chosen_any_more(owner_client, choice):
    version = make_place({"pct": Decimal(5)})
    place_offer(version.place, is_offered=False, by=None)
    assert "place" in station(owner_client, choice, place=version.place_id).context["form"].errors
    assert place_in_use(version.place_id) is None


def test_a_quote_keeps_the_version_it_was_made_with_and_its_choice_comes_back(owner_client, choice):
    version = make_place({"pct": Decimal(5)})
    make_destinations(NORLAND, [("Norland", "0")])
    sale = {"place": version.place_id, "sent_to": "Norland", "weight": "400", "price_wanted": "300"}
    data = {"style": choice.style.pk, "foot": choice.foot.pk, "hide": choice.hide.pk, "pairs": 1}
    owner_client.post(f"/jobs/{choice.commission.pk}/quote/", data | sale)
    quote = Quote.objects.get()
    assert quote.snapshot["sale"]["place"] == {"name": "Craft fair", "version": 1}
    assert quote.snapshot["sale"]["destination"] == {"country": "Norland", "table": 1}
    make_place({"pct": Decimal(50)}, place=version.place)
    make_destinations([("Norland", 500, "99", "99")])
    quote.refresh_from_db()
    assert quote.snapshot["job"]["fees"]["pct"] == "5"
    assert quote.snapshot["job"]["postage"]["charged"] == "6.5"
    again = last_choice(choice.commission.pk)
    assert (again["place"], again["sent_to"]) == (str(version.place_id), "Norland")
    assert "price_wanted" not in again  # an amount: not for everybody who opens the job
    place_offer(version.place, is_offered=False, by=None)
    make_destinations([ANYWHERE])
    again = last_choice(choice.commission.pk)
    assert "place" not in again
    assert "sent_to" not in again
    assert owner_client.get(f"/jobs/{choice.commission.pk}/").context["worked"] is not None


def test_a_helper_sees_no_fee_and_no_postage(client, helper, choice):
    make_place({"pct": Decimal("5.375")})
    make_destinations(NORLAND)
    client.force_login(helper)
    words = station(client, choice, sent_to="Norland").content.decode()
    assert "Craft fair" not in words
    for name in ("places", "destinations"):
        assert client.get(reverse(name)).status_code == 403


def test_a_price_by_hand_below_the_least_price_is_warned_about(owner_client, choice):
    make_rate_card(least_price=Decimal(400))
    below = station(owner_client, choice, price_wanted="350").content.decode()
    assert "350.00 EUR is below the least price" in below
    assert "loses money" not in below
    lost = station(owner_client, choice, price_wanted="20").content.decode()
    assert "loses money" in lost
    assert (
        "below the least" not in station(owner_client, choice, price_wanted="420").content.decode()
    )


def test_glued_seams_take_no_thread(owner_client, choice, supplies):
    sewn = priced(owner_client, choice)
    glued = priced(owner_client, choice, joined="glue")
    gone = {line.key for line in sewn.bill} - {line.key for line in glued.bill}
    assert gone == {"thread"}


# --- the owner's pages ---------------------------------------------------------------------


def rows(prefix, *filled):
    data = {f"{prefix}-TOTAL_FORMS": len(filled), f"{prefix}-INITIAL_FORMS": 0}
    for number, row in enumerate(filled):
        data |= {f"{prefix}-{number}-{name}": value for name, value in row.items()}
    return data


SHARE = {"name": "share", "pct": "6.5", "fixed": "0.30", "on": "price_with_tax"}
EMPTY = {"name": "", "pct": "0", "fixed": "0", "on": "price_with_tax"}
PLACE = {"name": "Web stall", "payments": "2", "reason": "first entry"}


def test_a_place_is_made_renamed_and_keeps_its_older_fees(owner_client):
    owner_client.post(reverse("place-new"), {**PLACE, **rows("fee", SHARE, EMPTY)})
    place = PlaceOfSale.objects.get()
    assert (place.code, place.versions.get().fees.get().pct) == ("P-0001", Decimal("6.5"))
    page = owner_client.get(reverse("place-change", args=[place.pk]))
    assert page.context["entry"].rows.forms[0]["pct"].value() == "6.5"
    dearer = {**SHARE, "pct": "8", "each_payment": "on"}
    changed = {**PLACE, "name": "The web stall", "reason": "new terms", **rows("fee", dearer)}
    owner_client.post(reverse("place-change", args=[place.pk]), changed)
    assert [v.fees.get().pct for v in place.versions.order_by("version")] == [Decimal("6.5"), 8]
    words = owner_client.get(reverse("place", args=[place.pk])).content.decode()
    assert "The web stall" in words
    assert "kept for its quotes" in words
    (shown,) = places_shown()
    assert (shown.version.version, shown.pct) == (2, 8)
    with pytest.raises(ValidationError):
        place.versions.first().save()


@pytest.mark.parametrize(
    ("changes", "row", "field"),
    [
        ({"name": ""}, SHARE, "place"),
        ({"payments": "0"}, SHARE, "form"),
        ({"payments": "1e3"}, SHARE, "form"),
        ({"reason": ""}, SHARE, "form"),
        ({}, {**SHARE, "pct": "-1"}, "pct"),
        ({}, {**SHARE, "pct": "100"}, "pct"),
        ({}, {**SHARE, "pct": "NaN"}, "pct"),
        ({}, {**SHARE, "fixed": "1e30"}, "fixed"),
        ({}, {**SHARE, "fixed": "-0.30"}, "fixed"),
        ({}, {**SHARE, "on": "the moon"}, "on"),
        ({}, {**SHARE, "name": ""}, "name"),
        ({}, {**SHARE, "name": "x" * 81}, "name"),
    ],
    ids=str,
)
def test_a_faulty_place_is_shown_again_and_nothing_is_stored(owner_client, changes, row, field):
    page = owner_client.post(reverse("place-new"), {**PLACE, **changes, **rows("fee", row)})
    assert page.status_code == 200
    entry = page.context["entry"]
    faulty = {
        "place": entry.place_form.errors,
        "form": entry.form.errors,
        **{name: errors for form in entry.rows for name, errors in form.errors.items()},
    }
    assert faulty[field]
    assert 'class="faults"' in page.content.decode()
    assert not PlaceOfSale.objects.exists()


def test_fees_that_take_the_whole_price_and_names_twice_are_refused(owner_client):
    both = rows("fee", {**SHARE, "pct": "60"}, {**SHARE, "pct": "40"})
    page = owner_client.post(reverse("place-new"), {**PLACE, **both})
    assert "nothing would be left" in page.content.decode()
    make_place(name="Web stall")
    page = owner_client.post(reverse("place-new"), {**PLACE, **rows("fee", SHARE)})
    assert page.context["entry"].place_form.errors.keys() == {"name"}
    assert PlaceOfSale.objects.count() == 1


def test_a_place_is_offered_no_more_and_again(owner_client):
    place = make_place().place
    for offer, expected in (("0", False), ("1", True)):
        owner_client.post(reverse("place-offer", args=[place.pk]), {"offer": offer})
        place.refresh_from_db()
        assert place.is_offered is expected


POST_ROW = {"country": "Norland", "up_to_g": "500", "charged": "6.50", "paid": "5.90"}
ELSEWHERE = {"country": "*", "up_to_g": "1000", "charged": "18", "paid": "16.40"}
TAX_ROW = {"country": "Norland", "pct": "0"}
TABLE = {"insurance_pct": "1.5", "insurance_fixed": "0.80", "reason": "the post's new prices"}


def table_data(postage=(POST_ROW,), taxes=(TAX_ROW,), **changes):
    return {**TABLE, **changes, **rows("postage", *postage), **rows("tax", *taxes)}


def test_destinations_are_kept_by_version(owner_client):
    assert "no tax advice" in owner_client.get(reverse("destinations")).content.decode()
    owner_client.post(reverse("destinations-new"), table_data((POST_ROW, ELSEWHERE)))
    table = destinations_in_use()
    assert (table.version, countries_of(table)) == (1, ["Norland", ""])
    page = owner_client.get(reverse("destinations-new"))
    countries = [row["country"].value() for row in page.context["entry"].postage.forms[:2]]
    assert countries == ["Norland", "*"]
    dearer = {**POST_ROW, "charged": "7"}
    owner_client.post(reverse("destinations-new"), table_data((dearer,), ()))
    words = owner_client.get(reverse("destinations")).content.decode()
    assert "7.00" in words
    assert "6.50" not in words
    older = owner_client.get(reverse("destinations"), {"version": "1"}).content.decode()
    assert "anywhere else" in older
    assert owner_client.get(reverse("destinations"), {"version": "7"}).status_code == 404
    with pytest.raises(ValidationError):
        table.delete()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (table_data(({**POST_ROW, "country": ""},)), "Fill this in"),
        (table_data(({**POST_ROW, "up_to_g": ""},)), "Fill this in"),
        (table_data(({"country": "", "up_to_g": "", "charged": "5"},)), "Name the country"),
        (table_data(({**POST_ROW, "up_to_g": "0"},)), "greater than or equal to 0.01"),
        (table_data(({**POST_ROW, "up_to_g": "1e30"},)), "digits"),
        (table_data(({**POST_ROW, "paid": "-1"},)), "greater than or equal to 0"),
        (table_data(({**POST_ROW, "charged": "NaN"},)), "Enter a number"),
        (table_data(({**POST_ROW, "charged": "6.505"},)), "finer than the smallest amount"),
        (table_data((POST_ROW, POST_ROW)), "stands there twice"),
        (table_data(taxes=(TAX_ROW, TAX_ROW)), "stands there twice"),
        (table_data(taxes=({**TAX_ROW, "pct": "101"},)), "less than or equal to 100"),
        (table_data(taxes=({**TAX_ROW, "pct": ""},)), "Fill this in"),
        (table_data(reason=""), "This field is required"),
        (table_data(insurance_pct="-1"), "greater than or equal to 0"),
    ],
)
def test_a_faulty_table_is_shown_again_and_nothing_is_stored(owner_client, data, words):
    page = owner_client.post(reverse("destinations-new"), data)
    assert page.status_code == 200
    assert words in page.content.decode()
    assert not DestinationTable.objects.exists()
    assert not PostageLine.objects.exists()


def test_a_bookkeeper_reads_places_and_changes_none(client, bookkeeper):
    place = make_place({"pct": Decimal("6.5"), "fixed": Decimal("0.30")}).place
    client.force_login(bookkeeper)
    assert "6.5 %" in client.get(reverse("places")).content.decode()
    assert client.get(reverse("place", args=[place.pk])).status_code == 200
    assert client.post(reverse("place-new"), {**PLACE, **rows("fee", SHARE)}).status_code == 403


def test_the_list_takes_as_many_queries_for_many_places_as_for_one(
    owner_client, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    make_place({"pct": Decimal(5)})
    with CaptureQueriesContext(connection) as few:
        owner_client.get(reverse("places"))
    for number in range(4):
        make_place({"pct": Decimal(5)}, name=f"Stall {number}")
    with django_assert_num_queries(len(few)):
        owner_client.get(reverse("places"))


# --- packs to buy --------------------------------------------------------------------------


def test_packs_are_whole_and_only_for_what_the_shelf_does_not_hold(owner_client, choice, supplies):
    page = station(owner_client, choice)
    assert [row.purchase.packs for row in page.context["packs"]] == [0] * len(page.context["packs"])
    eyelets = supplies["eyelet"]
    stock_use(eyelets, quantity=Decimal(195), reason="elsewhere", by=None)
    page = station(owner_client, choice, pairs="8")
    (row,) = [row for row in page.context["packs"] if row.purchase.packs]
    (line,) = [line for line in page.context["worked"].bill if line.key == "eyelets"]
    # 5 are free of what eight pairs take with their spares; a pack holds 100 and costs 6.40.
    assert row.supply == eyelets
    assert row.need == line.quantity * 8
    packs = ceil((row.need - 5) / 100)
    assert (row.purchase.packs, row.purchase.cost) == (packs, packs * Fraction("6.40"))
    assert row.purchase.left == 5 + packs * 100 - row.need
    assert page.context["packs"][0] == row
    assert "To buy for it" in page.content.decode()
