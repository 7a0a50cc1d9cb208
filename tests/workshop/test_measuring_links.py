"""Measuring by link: a customer's boxes, answered once, looked over, kept or asked again."""

import datetime
import re
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.utils import timezone

from patterns.foot import MEASURE_KEYS
from workshop.models import Doll, FootVersion, MeasuringLink
from workshop.services.measuring_links import (
    measuring_link_answer,
    measuring_link_make,
    measuring_token,
)
from workshop.services.records import record_save

pytestmark = pytest.mark.django_db

GOOD = {
    "foot_side": "right",
    "foot_length": "75",
    "ball_girth": "74,5",
    "ball_girth_again": "75",
    "ankle_girth": "61",
    "ankle_girth_again": "61",
    "note": "The toes are spread.",
}


@pytest.fixture
def doll(owner):
    record = Doll(name="Wren", material="resin")
    record_save(record, by=owner)
    return record


@pytest.fixture
def link(doll, owner):
    return measuring_link_make(doll, by=owner, words="With socks off, please.")


def address(link):
    return f"/m/{measuring_token(link)}/"


def test_measures_come_by_link_are_looked_over_and_become_a_foot(link, client, owner_client):
    page = client.get(address(link)).content.decode()
    assert "With socks off, please." in page
    assert re.findall(r"<script[^>]*", page) == ['<script src="/static/sending.js" defer']
    assert all(f'name="{key}"' in page for key in MEASURE_KEYS)
    assert len(page) < 100_000

    answer = client.post(address(link), GOOD)
    assert answer.status_code == 302
    assert "arrived" in client.get(address(link)).content.decode()
    shown = owner_client.get(f"/measuring-links/{link.pk}/").content.decode()
    assert "74.75" in shown
    assert "The toes are spread." in shown
    assert "Most worth asking for" in shown
    form = owner_client.get(f"/dolls/{link.doll_id}/feet/new/?sent={link.pk}")
    initial = form.context["form"].initial
    assert (initial["ball_girth"], initial["foot_side"]) == ("74.75", "right")
    kept = owner_client.post(
        f"/dolls/{link.doll_id}/feet/new/?sent={link.pk}",
        {"foot_side": "right", "foot_length": "75", "ball_girth": "74.75", "reason": "by link"},
    )
    assert kept.status_code == 302
    link.refresh_from_db()
    assert link.state == "kept"
    assert link.kept_as == FootVersion.objects.get()


def test_a_link_takes_measures_once(link, client):
    client.post(address(link), GOOD)
    second = client.post(address(link), GOOD | {"foot_length": "80"})
    assert second.status_code == 410
    link.refresh_from_db()
    assert link.answer["first"]["foot_length"] == "75"


@pytest.mark.parametrize(
    ("changed", "box", "words"),
    [
        ({"ball_girth_again": "76.1"}, "ball_girth_again", "1.6 mm apart"),
        ({"ball_girth_again": ""}, "ball_girth_again", "twice"),
        ({"foot_length": ""}, "foot_length", "required"),
        ({"foot_length": "3"}, "foot_length", "25"),
        ({"ankle_girth": "1e9", "ankle_girth_again": "1e9"}, "ankle_girth", "mm"),
        ({"ball_girth": "750", "ball_girth_again": "750"}, "ball_girth", "should lie"),
    ],
)
def test_what_cannot_be_is_said_beside_its_box_and_nothing_is_kept(
    link, client, changed, box, words
):
    answer = client.post(address(link), GOOD | changed)
    assert answer.status_code == 400
    assert words in " ".join(answer.context["form"].errors[box])
    link.refresh_from_db()
    assert (link.state, link.answer) == ("open", {})


def test_readings_a_hair_within_the_limit_pass(link, client):
    assert client.post(address(link), GOOD | {"ball_girth_again": "76"}).status_code == 302


def test_a_customer_may_insist_and_the_maker_is_told(link, client, owner_client):
    odd = GOOD | {"ball_width": "40"}
    page = client.post(address(link), odd)
    assert page.status_code == 400
    assert 'name="sure"' in page.content.decode()
    assert client.post(address(link), odd | {"sure": "on"}).status_code == 302
    shown = owner_client.get(f"/measuring-links/{link.pk}/")
    assert shown.context["answer"].doubted == ["ball_girth"]
    assert "sent them all the same" in shown.content.decode()


def test_an_unlikely_measure_is_asked_again_and_the_others_stand(link, client, owner_client):
    client.post(address(link), GOOD | {"ball_width": "22", "instep_height": "21"})
    page = owner_client.get(f"/measuring-links/{link.pk}/")
    assert "ball_width" in page.context["answer"].doubted
    none = owner_client.post(f"/measuring-links/{link.pk}/", {"words": ""})
    assert none.status_code == 400
    made = owner_client.post(f"/measuring-links/{link.pk}/", {"asks": ["ball_width"], "words": "?"})
    again = MeasuringLink.objects.get(state="open")
    assert made["Location"] == f"/measuring-links/{again.pk}/"
    assert client.get(address(link)).status_code == 410
    asked = client.get(address(again)).content.decode()
    assert 'name="ball_width"' in asked
    assert 'name="ball_girth"' not in asked
    assert client.post(address(again), {"ball_width": "31.5", "note": ""}).status_code == 302
    rows = owner_client.get(f"/measuring-links/{again.pk}/").context["answer"].rows
    taken = {row.key: row.taken for row in rows}
    assert (taken["ball_width"], taken["ball_girth"]) == ("31.5", "74.75")


def test_a_closed_or_late_link_says_so(link, client, owner_client):
    MeasuringLink.objects.update(valid_until=timezone.localdate() - datetime.timedelta(days=1))
    assert "valid until" in client.post(address(link), GOOD).content.decode()
    owner_client.post(f"/measuring-links/{link.pk}/end/")
    assert "was closed" in client.get(address(link)).content.decode()
    assert client.get("/m/nothing/").status_code == 404
    link.refresh_from_db()
    assert link.answer == {}


def test_far_too_much_text_is_refused_beside_its_box(link, client):
    answer = client.post(address(link), GOOD | {"note": "x" * 10_000_000})
    assert answer.status_code in (400, 413)
    assert "note" in answer.context["form"].errors
    link.refresh_from_db()
    assert link.state == "open"


@pytest.mark.django_db(transaction=True)
def test_of_many_at_once_one_answer_is_kept(link):
    def send(number):
        try:
            mine = MeasuringLink.objects.get(pk=link.pk)
            measuring_link_answer(mine, {"first": {"foot_length": str(60 + number)}})
        except ValidationError:
            return 0
        finally:
            connection.close()
        return 1

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(send, range(8))) == 1
