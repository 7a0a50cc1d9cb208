"""The short way in, and the demo removed in one go."""

from decimal import Decimal

import pytest
from django.urls import reverse

from workshop.backups import backups_in
from workshop.forms.beginning import first_supplies
from workshop.models import (
    AuditEntry,
    Customer,
    Hide,
    Member,
    RateCard,
    StyleVersion,
    Supply,
    WorkshopProfile,
)
from workshop.services.beginning import still_missing
from workshop.services.demo import demo_load
from workshop.services.records import record_save

pytestmark = pytest.mark.django_db

LEATHER = {"leather_name": "Goat", "colour": "russet", "thickness_mm": "0.9"}
LEATHER |= {"length_mm": "500", "width_mm": "400", "paid": "24"}


def answers(page):
    """Return what the page's forms hold as they are filled in."""
    data = {}
    for form in page.context["asked"].parts:
        for field in form:
            value = field.value()
            if value is not None and value is not False:
                data[field.html_name] = value
    return data


def test_all_that_a_first_price_needs_is_stored_by_one_press(owner_client):
    page = owner_client.get("/begin/")
    assert owner_client.post("/begin/", answers(page) | LEATHER).status_code == 302
    assert still_missing() == set()
    assert Supply.objects.count() == len(first_supplies())
    hide = Hide.objects.get()
    assert (hide.cost, hide.area_mm2) == (Decimal(24), Decimal(200_000))
    card = RateCard.objects.get()
    assert (card.profit_pct, card.reason) == (20, "first rate card")
    assert card.steps.exists()
    assert StyleVersion.objects.count() == 6
    assert owner_client.get("/begin/").headers["Location"] == "/"


def test_only_what_is_missing_is_asked(owner_client, rate_card, style_version, supplies):
    page = owner_client.get("/begin/")
    asked = page.context["asked"]
    assert (asked.rates, asked.styles, asked.supplies) == (None, None, None)
    assert asked.leather is not None
    assert owner_client.post("/begin/", answers(page)).status_code == 302  # none is there yet
    assert RateCard.objects.count() == 1
    assert not Hide.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"leather_name": "Goat"}, "leave all of them empty"),
        ({"profit_pct": "100"}, "profit_pct"),
        ({"fee_pct": "60", "profit_pct": "60"}, "leave nothing"),
        ({"currency": "XYZ"}, "currency"),
        ({"styles": ["no such pattern"]}, "styles"),
        ({"pack_price-0": "-1"}, "pack_price-0"),
        ({"pack_quantity-0": "nan"}, "pack_quantity-0"),
        ({**LEATHER, "length_mm": "1e9"}, "length_mm"),
    ],
)
def test_a_fault_is_told_and_nothing_is_stored(owner_client, wrong, told):
    data = answers(owner_client.get("/begin/")) | wrong
    page = owner_client.post("/begin/", data)
    assert page.status_code == 200
    assert told in page.content.decode()
    assert page.context["asked"].parts
    assert list(page.context["asked"].faults())
    assert not RateCard.objects.exists()
    assert not Supply.objects.exists()
    assert not StyleVersion.objects.exists()


@pytest.mark.django_db(transaction=True)
@pytest.mark.every_database
def test_the_demo_goes_as_a_whole_and_leaves_a_backup(owner_client, owner, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    WorkshopProfile.objects.all().delete()
    demo_load()
    profile = WorkshopProfile.current()
    name, profile.paper = profile.name, "Letter"
    profile.save()
    record_save(Customer(name="Somebody of my own"), by=owner)
    address = reverse("demo-remove")
    page = owner_client.get(address)
    (customers, *_rest) = page.context["going"]
    assert (customers.count, customers.made_since) == (Customer.objects.count(), 1)
    unsure = owner_client.post(address)
    assert "nothing was removed" in unsure.content.decode()
    assert Customer.objects.exists()
    assert owner_client.post(address, {"is_sure": "on"}).headers["Location"] == "/"
    assert len(backups_in(tmp_path / "backups")) == 1
    assert not Customer.objects.exists()
    assert len(still_missing()) == 4
    profile = WorkshopProfile.current()
    assert (profile.name != name, profile.paper, profile.demo_from) == (True, "Letter", None)
    assert Member.objects.filter(user=owner).exists()
    assert AuditEntry.objects.filter(action="demo removed", who=owner).count() == 1
    # What comes next begins at the first number, as in any new workshop.
    first = Customer(name="The first one")
    record_save(first, by=owner)
    assert first.code == "C-0001"
    again = owner_client.post(address, {"is_sure": "on"})
    assert again.headers["Location"] == reverse("workshop-settings")
    assert Customer.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_without_a_backup_nothing_is_removed(owner_client, settings, tmp_path):
    WorkshopProfile.objects.all().delete()
    demo_load()
    settings.DATA_DIR = tmp_path / "a file"
    settings.DATA_DIR.write_text("no folder")
    page = owner_client.post(reverse("demo-remove"), {"is_sure": "on"})
    assert "no backup could be written" in page.content.decode()
    assert Customer.objects.exists()
