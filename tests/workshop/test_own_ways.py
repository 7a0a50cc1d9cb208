"""What one person has to themselves: lengths in inches on wish, and what was looked at last."""

from decimal import Decimal

import pytest
from django.db import OperationalError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from tests.workshop.fixtures_stock import make_hide
from workshop.lengths import INCH, MM, label_in, length_in, sentence_in, typed_mm
from workshop.models import Customer, FootVersion, Member
from workshop.services.people import lengths_choose
from workshop.services.records import record_save


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        # Source: international yard and pound agreement, 1959: an inch is 25.4 mm exactly.
        ("1", "25.4"),
        ("3 1/4", "82.55"),
        ("3.25", "82.55"),
        ("3,25 in", "82.55"),
        ('3-1/4"', "82.55"),
        ("3¼ ″", "82.55"),
        ("13/4", "82.55"),
        ("3 1/16", "77.788"),
        ("82.55 mm", "82.55"),
        ("0", "0"),
    ],
)
def test_inches_are_taken_as_a_tape_is_read(typed, mm):
    assert typed_mm(typed, INCH) == Decimal(mm)


@pytest.mark.parametrize(
    "typed",
    ["3 5/4", "3 1/0", "1/2/3", "3.5 1/4", "in", "", "3 1", "¼¼", "NaN", "1" * 41, "1/", "é"],
)
def test_what_is_no_length_is_refused(typed):
    try:
        read = typed_mm(typed, INCH)
    except ValueError:
        read = None
    assert read is None


@given(st.decimals(0, 1000, places=3))
def test_every_length_shown_in_inches_is_the_same_when_typed_again(value):
    assert typed_mm(length_in(value, INCH), INCH) == value
    assert typed_mm(length_in(value, MM), MM) == value


@given(st.integers(0, 39), st.integers(0, 63))
def test_what_is_typed_in_sixty_fourths_comes_back_as_them(whole, part):
    kept = typed_mm(f"{whole} {part}/64", INCH)
    shown = length_in(kept, INCH)
    assert "." not in shown
    assert typed_mm(shown, INCH) == kept


def test_labels_and_sentences_follow_the_unit():
    assert label_in("Ball girth (mm)", MM) == "Ball girth (mm)"
    assert label_in("Ball girth (mm)", INCH) == "Ball girth (in)"
    assert sentence_in("70.2 mm", INCH) == "2.76 in"
    assert sentence_in("70.2 mm", MM) == "70.2 mm"


@pytest.fixture
def inches(owner):
    lengths_choose(owner.member, unit=INCH)


def sent(**changes):
    return {
        "foot_side": "left", "reason": "tape", "typed_in": INCH, "foot_length": "3 1/4",
        "ball_girth": "3,25", **changes,
    }  # fmt: skip


def test_a_foot_is_measured_in_inches_and_kept_in_mm(owner_client, inches, doll):
    address = f"/dolls/{doll.pk}/feet/new/"
    page = owner_client.get(address).content.decode()
    assert "Foot length (in)" in page
    assert "(mm)" not in page
    # With a box left empty that is needed, the notes beside the others come all the same.
    assert '<form class="foot-form" method="post" novalidate ' in page
    assert '<input type="hidden" name="typed_in" value="in"' in page
    levels = {"level_girths_height": ["2"], "level_girths_girth": ["2 1/2"]}
    assert owner_client.post(address, sent(**levels)).status_code == 302
    foot = FootVersion.objects.get()
    assert (foot.foot_length, foot.ball_girth) == (Decimal("82.55"), Decimal("82.55"))
    assert foot.level_girths == [{"height_mm": "50.8", "girth_mm": "63.5"}]
    again = owner_client.get(f"{address}?from={foot.pk}").content.decode()
    assert again.count('value="3 1/4"') == 2
    assert 'value="2 1/2"' in again


def test_faults_are_told_in_the_unit_that_was_typed(owner_client, inches, doll):
    def answer(**changes):
        page = owner_client.post(f"/dolls/{doll.pk}/feet/new/", sent(**changes)).content.decode()
        assert not FootVersion.objects.exists()
        return page

    assert "Must be 0.98 in or more." in answer(foot_length="1/2")
    assert 'value="1/2"' in answer(foot_length="1/2")
    assert "type inches such as 3 1/4" in answer(foot_length="three")
    assert "a height and a girth in inches" in answer(
        level_girths_height="x", level_girths_girth="1"
    )
    checks = owner_client.post(
        f"/dolls/{doll.pk}/feet/check/", sent(ball_girth="")
    ).content.decode()
    assert "inferred as 3" in checks
    assert " mm<" not in checks


def test_a_unit_chosen_meanwhile_changes_no_length(owner_client, owner, doll):
    address = f"/dolls/{doll.pk}/feet/new/"
    in_mm = sent(typed_in=MM, foot_length="82.5", ball_girth="80")
    lengths_choose(owner.member, unit=INCH)
    owner_client.post(address, in_mm)
    assert FootVersion.objects.get().foot_length == Decimal("82.5")


def test_each_person_chooses_for_themselves(owner_client, owner, helper, doll):
    assert owner_client.post("/login/lengths/", {"length_unit": INCH}).status_code == 302
    assert Member.objects.get(user=owner).length_unit == INCH
    assert Member.objects.get(user=helper).length_unit == MM
    owner_client.post("/login/lengths/", {"length_unit": "ell"})
    assert Member.objects.get(user=owner).length_unit == INCH


def recent(client):
    return [(row.code, row.name) for row in client.get("/").context["recent"]]


def test_what_was_looked_at_last_is_on_the_first_page_and_under_the_search(
    owner_client, helper, commission, leather_lot
):
    hide = make_hide(leather_lot)
    doll, customer = commission.doll, commission.customer
    assert recent(owner_client) == []
    for address in (
        f"/hides/{hide.pk}/", f"/customers/{customer.pk}/", f"/dolls/{doll.pk}/",
        f"/jobs/{commission.pk}/", f"/dolls/{doll.pk}/",
    ):  # fmt: skip
        assert owner_client.get(address).status_code == 200
    shown = [
        (doll.code, doll.name),
        (commission.code, doll.name),
        (customer.code, customer.name),
        (hide.code, f"{leather_lot.name}, {leather_lot.colour}"),
    ]
    assert recent(owner_client) == shown
    page = owner_client.get("/supplies/").content.decode()
    assert f'<option value="{doll.code}">{doll.name}</option>' in page
    assert "Looked at last" in owner_client.get("/search/").content.decode()
    other = Client()
    other.force_login(helper)
    assert recent(other) == []
    # Whoever may see no customers any more is shown none, and what is gone is left out.
    Member.objects.filter(user__username="owner-login").update(role="helper")
    hide.delete()
    assert recent(owner_client) == shown[:2]


def test_at_most_eight_are_kept_and_read_by_one_query(owner_client, owner):
    for n in range(10):
        customer = Customer(name=f"Ada {n}")
        record_save(customer, by=None)
        owner_client.get(f"/customers/{customer.pk}/")
    assert [name for _code, name in recent(owner_client)] == [f"Ada {n}" for n in range(9, 1, -1)]
    with CaptureQueriesContext(connection) as queries:
        owner_client.get("/cautions/")
    assert sum("workshop_customer" in row["sql"] for row in queries) == 1


def test_a_page_is_shown_where_nothing_can_be_written(owner_client, customer, monkeypatch):
    def refuse(*args, **kwargs):
        raise OperationalError("database or disk is full")

    monkeypatch.setattr("django.db.models.query.QuerySet.update", refuse)
    assert owner_client.get(f"/customers/{customer.pk}/").status_code == 200


@pytest.mark.usefixtures("inches")
def test_options_of_a_style_are_typed_in_inches(owner_client, choice):
    address = f"/jobs/{choice.commission.pk}/"
    bare = owner_client.get(address, {"boot_height_mm": "50.8"})
    # An address without a unit is in mm, whoever opens it, and is shown in inches.
    assert bare.context["form"]["boot_height_mm"].value() == "2"
    assert bare.context["form"]["boot_height_mm"].label == "Boot height (in)"
    assert bare.context["worked"].choice.options["boot_height_mm"] == "50.8"
    body = bare.content.decode()
    assert 'name="typed_in" value="in"' in body
    assert "typed_in=in" in bare.context["query"]
    typed = {"typed_in": INCH, "boot_height_mm": "2 1/4"}
    there = owner_client.get(address, typed)
    assert there.context["worked"].choice.options["boot_height_mm"] == "57.15"
    assert dict(there.context["as_drawn"])["boot_height_mm"] == "2.25"
    too_high = owner_client.get(address, {**typed, "boot_height_mm": "40"})
    said = str(too_high.context["form"].errors["boot_height_mm"])
    assert " in" in said
    assert " mm" not in said
    # Whoever types in mm and opens that address sees inches, and the same boot.
    owner_member = Member.objects.get(user__username="owner-login")
    lengths_choose(owner_member, unit=MM)
    same = owner_client.get(address, typed)
    assert same.context["worked"].choice.options["boot_height_mm"] == "57.15"
    assert "(in)" in same.context["form"]["boot_height_mm"].label
    assert "typed_in" not in owner_client.get(address).content.decode()
