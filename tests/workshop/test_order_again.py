"""A job ordered again, and prices side by side."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from tests.workshop.fixtures_stock import make_hide, make_rate_card
from workshop.models import Commission, FootVersion, Quote
from workshop.selectors.orders import choice_again, earlier_quote, last_choice
from workshop.services.library import foot_measure
from workshop.services.orders import commission_again
from workshop.services.quoting import quote_make, work_out

pytestmark = pytest.mark.django_db


@pytest.fixture
def again(quote, owner):
    return commission_again(quote.commission, form_key="one form", by=owner)


def test_an_order_taken_in_again_begins_with_the_same_choice_once(
    owner_client, quote, style_version
):
    page = owner_client.get(f"/jobs/{quote.commission_id}/").content.decode()
    assert "Order again" in page
    sent = {"form_key": "f" * 43}
    first = owner_client.post(f"/jobs/{quote.commission_id}/again/", sent)
    second = owner_client.post(f"/jobs/{quote.commission_id}/again/", sent)
    assert first.headers["Location"] == second.headers["Location"]  # a double click is one job
    made = Commission.objects.get(again_of=quote.commission)
    assert (made.customer, made.doll, made.state) == (
        quote.commission.customer, quote.commission.doll, "measured",
    )  # fmt: skip
    assert made.note == quote.commission.note
    chosen = last_choice(made.pk)
    assert chosen["foot"] == str(quote.foot_id)
    assert chosen["hide"] == str(quote.hide_id)
    assert chosen["style"] == str(style_version.pk)
    answer = owner_client.get(first.headers["Location"])
    assert "Ordered again after" in answer.content.decode()
    assert answer.context["worked"].breakdown.price == quote.price


def test_the_very_version_of_the_style_goes_along(again, style_version, owner, monkeypatch):
    newer = _newer_version(style_version, owner)
    assert last_choice(again.pk)["style"] == str(newer.pk)
    assert choice_again(again.pk)["style"] == str(style_version.pk)


def _newer_version(version, owner):
    """Make another version of a style as a change of its file would."""
    newer = type(version)(
        style=version.style,
        version=version.version + 1,
        **{
            f.attname: getattr(version, f.attname)
            for f in type(version)._meta.concrete_fields
            if f.attname not in ("id", "style_id", "version", "file_hash")
        },
        file_hash="0" * 64,
    )
    newer.save()
    return newer


def test_nothing_differs_right_away_and_every_line_stands_beside_itself(owner_client, again, quote):
    page = owner_client.get(f"/jobs/{again.pk}/then/")
    assert page.context["differences"] == []
    lines = page.context["lines"]
    assert [line.then for line in lines] == [line.now for line in lines]
    assert not any(line.change for line in lines)
    price = next(line for line in lines if line.name == "price")
    assert price.then == quote.price


def test_a_newer_foot_dearer_hours_and_other_leather_are_named_line_by_line(
    owner_client, again, quote, owner, leather_lot
):
    foot = foot_measure(
        doll=again.doll,
        foot_side="left",
        measures={"foot_length": Decimal("77"), "ball_girth": Decimal("74.2")},
        reason="grown",
        by=owner,
    )
    make_rate_card(labour_rate_per_hour=Decimal("20"))
    other = make_hide(leather_lot, cost=Decimal("99"))
    told = owner_client.get(f"/jobs/{again.pk}/then/").content.decode()
    assert "was measured again" in told
    chosen = last_choice(again.pk) | {"foot": foot.pk, "hide": other.pk, "pairs": 2}
    page = owner_client.get(f"/jobs/{again.pk}/then/", chosen)
    named = {row.what: (row.then, row.now) for row in page.context["differences"]}
    assert named["Foot length"] == ("75 mm", "77 mm")
    assert named["Pairs"] == ("1", "2")
    assert named["Rate card"] == ("1", "2")
    assert [code in side for code, side in zip(
        (quote.hide.code, other.code), named["Leather"], strict=True
    )] == [True, True]  # fmt: skip
    assert "Ball girth" not in named
    lines = {line.name: line for line in page.context["lines"]}
    leather = next(line for line in lines.values() if quote.hide.code in line.name)
    assert other.code in leather.now_name  # one line, though the leather has another name
    assert leather.now > leather.then
    # The lines of each side add up to its cost.
    rows = [line for line in page.context["lines"] if not line.is_sum]
    assert sum(line.then or 0 for line in rows) == lines["cost"].then
    assert sum(line.now or 0 for line in rows) == lines["cost"].now
    assert sum(line.change for line in rows) == lines["cost"].change


def test_two_quotes_of_a_job_stand_side_by_side(owner_client, choice, quote, owner):
    later = quote_make(work_out(replace(choice, options={"seam_mm": "3.5"})), by=owner)
    assert "Side by side" in owner_client.get(f"/quotes/{later.pk}/").content.decode()
    page = owner_client.get(f"/quotes/{later.pk}/beside/")
    assert page.context["then"] == quote
    assert [(row.what, row.now) for row in page.context["differences"]] == [
        ("Other seams", "3.5 mm")
    ]
    back = owner_client.get(f"/quotes/{quote.pk}/beside/?with={later.pk}")
    assert back.context["differences"][0].then == "3.5 mm"


def test_a_job_without_a_quote_has_no_then_and_a_lone_quote_nothing_beside_it(
    owner_client, commission, choice, owner
):
    assert owner_client.get(f"/jobs/{commission.pk}/then/").status_code == 404
    assert earlier_quote(commission.pk) is None
    lone = quote_make(work_out(choice), by=owner)
    for asked in ("", "?with=x", f"?with={lone.pk}", "?with=4711"):
        assert owner_client.get(f"/quotes/{lone.pk}/beside/{asked}").status_code == 404
    assert Quote.objects.count() == 1
    assert FootVersion.objects.count() == 1


def test_without_a_price_today_the_page_says_why(owner_client, again, hide):
    page = owner_client.get(f"/jobs/{again.pk}/then/?hide=&foot=4711")
    assert page.status_code == 200
    assert "nothing to hold against it today" in page.content.decode()


def test_the_promised_days_stand_beside_each_other_in_plain_words(owner_client, again, quote):
    snapshot = quote.snapshot
    snapshot["promise"] = {
        "here_by": "2025-11-03", "ready_on": "2025-11-04", "arrives_on": "2025-11-08",
        "deposit": True,
    }  # fmt: skip
    Quote.objects.filter(pk=quote.pk).update(snapshot=snapshot)
    page = owner_client.get(f"/jobs/{again.pk}/then/")
    named = {row.what: (row.then, row.now) for row in page.context["differences"]}
    then, now = named["Ready by"]
    assert then == "2025-11-04: 1 day after measures and answer are here, by 2025-11-03"
    assert re.fullmatch(
        r"20\d\d-\d\d-\d\d: \d+ days? after measures and answer are here, by 20\d\d-\d\d-\d\d",
        now,
    )
    assert named["With the customer by"] == ("2025-11-08", "nothing promised")
    # A quote of before promises were kept.
    Quote.objects.filter(pk=quote.pk).update(snapshot={**snapshot, "promise": None})
    page = owner_client.get(f"/jobs/{again.pk}/then/")
    named = {row.what: row.then for row in page.context["differences"]}
    assert named["Ready by"] == "nothing promised"


def test_a_quote_made_again_for_another_doll_keeps_all_but_the_foot(
    owner_client, quote, style_version
):
    page = owner_client.get(f"/jobs/{quote.commission_id}/").content.decode()
    address = f"/jobs/new/?like={quote.commission_id}"
    assert address in page
    assert "come along" in owner_client.get(address).content.decode()
    answer = owner_client.post(address, {"customer": "Ottilie Farrow", "doll": "Wren"})
    made = Commission.objects.get(again_of=quote.commission)
    assert answer.headers["Location"] == f"/dolls/{made.doll_id}/feet/new/?job={made.pk}"
    foot_measure(
        doll=made.doll, foot_side="left", measures={"foot_length": Decimal(60)}, reason="x", by=None
    )
    shown = owner_client.get(f"/jobs/{made.pk}/?station=price")
    worked = shown.context["worked"]
    assert "The same, for another doll, as" in shown.content.decode()
    assert (worked.choice.style, worked.choice.hide) == (style_version, quote.hide)
    assert worked.choice.foot.doll == made.doll
    assert worked.breakdown.price < quote.price  # a smaller foot
    then = owner_client.get(f"/jobs/{made.pk}/then/")
    assert then.context["newer_foot"] is None
    assert "60 mm" in then.content.decode()


@pytest.mark.parametrize("like", ["999999", "-1", "x", "", "1" * 30])
def test_a_job_like_none_there_is_is_a_plain_new_job(owner_client, quote, like):
    page = owner_client.get(f"/jobs/new/?like={like}")
    assert page.context["like"] is None
