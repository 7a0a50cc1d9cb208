"""Two people with one record's form open: no change undone unseen, none lost."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests.workshop.fixtures_stock import make_lot
from tests.workshop.form_reader import Page
from tests.workshop.test_places import make_destinations, make_place
from workshop.models import (
    AuditEntry,
    Customer,
    DestinationTable,
    Doll,
    Hide,
    LeatherLot,
    PlaceVersion,
    RateCard,
    Style,
    StyleVersion,
    Supply,
    WorkshopProfile,
)

pytestmark = pytest.mark.django_db

# The record's kind, its page, a field the one changes, another's field, and what each types.
KINDS = [
    (Customer, "customer-change", ("phone", "+00 555 0199"), ("note", "rings at noon")),
    (Doll, "doll-change", ("skin_tone", "tan"), ("note", "stands badly")),
    (Style, "style-change", ("name", "Low boot"), ("note", "for summer")),
    (LeatherLot, "lot-change", ("price", "77.5"), ("note", "smells of smoke")),
    (Supply, "supply-change", ("pack_price", "3.25"), ("note", "the thin one")),
    (WorkshopProfile, "workshop-settings", ("quote_valid_days", "23"), ("bill_wording", "Soon.")),
]  # fmt: skip


@pytest.fixture(params=KINDS, ids=lambda kind: kind[1])
def opened(request, owner_client, doll, supplies, style_version):
    """A record of a kind, its address, what its page shows, and the two changes."""
    make_lot()
    WorkshopProfile.current()
    kind, name, ours, theirs = request.param
    record = kind.objects.first()
    address = reverse(name, args=[] if kind is WorkshopProfile else [record.pk])
    return record, address, sent_of(owner_client, address, ours[0]), ours, theirs


def sent_of(client, address, field):
    return next(form.sent() for form in forms_of(client.get(address)) if field in form.sent())


def forms_of(answer):
    return Page(answer.content.decode()).forms


def said(record, name):
    record.refresh_from_db()
    return str(getattr(record, name)).rstrip("0").rstrip(".")


def plain(value):
    return value.rstrip("0").rstrip(".")


def test_changes_of_different_fields_are_both_kept(owner_client, opened):
    record, address, shown, ours, theirs = opened
    for name, value in (theirs, ours):
        assert owner_client.post(address, {**shown, name: [value]}).status_code == 302
    assert said(record, theirs[0]) == plain(theirs[1])
    assert said(record, ours[0]) == plain(ours[1])
    entry = AuditEntry.objects.order_by("-id").first()
    assert set(entry.after) == {ours[0]}


def test_a_field_both_changed_is_told_beside_it_and_kept_by_saving_again(owner_client, opened):
    record, address, shown, _ours, (name, value) = opened
    owner_client.post(address, {**shown, name: ["first come"]})
    told = owner_client.post(address, {**shown, name: [value]})
    assert told.status_code == 200
    form = next(form for form in forms_of(told) if name in form.sent())
    page = Page(told.content.decode())
    assert "Changed meanwhile to “first come”" in page.texts[f"id_{name}_error"]
    assert form.sent()[name] == [value]
    assert said(record, name) == plain("first come")
    assert owner_client.post(address, form.sent()).status_code == 302
    assert said(record, name) == plain(value)


def test_what_both_changed_to_the_same_is_no_fault(owner_client, opened):
    record, address, shown, _ours, (name, value) = opened
    for _person in range(2):
        assert owner_client.post(address, {**shown, name: [value]}).status_code == 302
    assert said(record, name) == plain(value)


def test_a_hide_cut_meanwhile_is_not_put_back_and_its_outline_is_told_once(owner_client, hide):
    address = reverse("hide-change", args=[hide.pk])
    shown = sent_of(owner_client, address, "tight_way_deg")
    Hide.objects.filter(pk=hide.pk).update(state=Hide.State.CUT)
    assert owner_client.post(address, {**shown, "note": ["by the door"]}).status_code == 302
    hide.refresh_from_db()
    assert (hide.state, hide.note) == (Hide.State.CUT, "by the door")
    bigger = [[0, 0], [700, 0], [700, 400], [0, 400]]
    Hide.objects.filter(pk=hide.pk).update(outline=bigger)
    told = owner_client.post(address, {**shown, "note": ["on the shelf"]})
    assert "What is drawn of" in told.content.decode()
    hide.refresh_from_db()
    assert (hide.outline, hide.note) == (bigger, "by the door")
    again = next(form.sent() for form in forms_of(told) if "tight_way_deg" in form.sent())
    assert owner_client.post(address, again).status_code == 302
    hide.refresh_from_db()
    assert (hide.outline != bigger, hide.note) == (True, "on the shelf")


VERSIONS = [
    ("rate-new", RateCard, {"labour_rate_per_hour": "31"}),
    ("style-version-new", StyleVersion, {}),
    ("place-change", PlaceVersion, {}),
    ("destinations-new", DestinationTable, {}),
]


@pytest.mark.parametrize(("name", "kind", "typed"), VERSIONS, ids=lambda value: str(value)[:20])
def test_a_version_made_meanwhile_is_told_before_it_is_left_behind(
    owner_client, owner, style_version, rate_card, name, kind, typed
):
    place = make_place({"pct": Decimal(10), "fixed": Decimal(2)}, by=owner).place
    make_destinations((("Norland", 500, "6.50", "5.90"),), (("Norland", "0"),), by=owner)
    keys = {"style-version-new": [style_version.style_id], "place-change": [place.pk]}
    address = reverse(name, args=keys.get(name, []))
    sent = {**sent_of(owner_client, address, "reason"), "reason": ["dearer leather"]}
    assert owner_client.post(address, sent).status_code == 302
    count = kind.objects.count()
    told = owner_client.post(address, {**sent, **{key: [text] for key, text in typed.items()}})
    assert "was made meanwhile" in told.content.decode()
    assert kind.objects.count() == count
    again = next(form.sent() for form in forms_of(told) if "reason" in form.sent())
    assert again["reason"] == ["dearer leather"]
    assert owner_client.post(address, again).status_code == 302
    assert kind.objects.count() == count + 1
