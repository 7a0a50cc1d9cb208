"""A hide's history on its page: bought, reserved, released, cut, what was kept."""

import datetime

import pytest
from django.urls import reverse

from tests.workshop.fixtures_stock import make_hide, make_lot
from tests.workshop.test_stock_cuttings import cut, settle
from workshop.selectors.hide_history import hide_history
from workshop.services.cuttings import cutting_undo, hide_release, hide_reserve
from workshop.services.records import record_save

pytestmark = pytest.mark.django_db


def told(hide):
    return [(event.words, event.job, [h.code for h in event.also]) for event in hide_history(hide)]


def test_a_hide_tells_what_became_of_it(commission, owner):
    hide = make_hide(make_lot(bought_on=datetime.date(2026, 3, 1)), owner)
    hide_reserve(hide, commission=commission, by=owner)
    hide_release(hide, commission=commission, by=owner)
    hide_reserve(hide, commission=commission, by=owner)
    cutting_undo(cut(hide, owner, commission=commission), by=owner)
    cutting = cut(hide, owner, commission=commission)
    (kept,) = settle(cutting, 1, by=owner)
    assert told(hide) == [
        ("bought", None, []),
        ("recorded", None, []),
        ("reserved for", commission, []),
        ("no longer reserved for", commission, []),
        ("reserved for", commission, []),
        ("cut for", commission, []),
        ("not cut after all, on the shelf again", None, []),
        ("cut for", commission, []),
        ("what was left: kept", None, [kept.code]),
    ]
    first, *_rest = hide_history(hide)
    assert first.day == datetime.date(2026, 3, 1)
    assert [words for words, *_ in told(kept)] == [
        "bought, as part of the hide it was left of",
        "recorded",
    ]


def test_a_hide_noted_as_cut_without_a_layout_says_so(hide, owner):
    hide.state = "cut"
    record_save(hide, by=owner)
    hide.note = "in the corner"
    record_save(hide, by=owner)
    assert [words for words, *_ in told(hide)][-1] == "noted as cut up"


def test_the_history_stands_on_the_hides_page_for_a_helper_too(client, helper, commission, hide):
    hide_reserve(hide, commission=commission, by=helper)
    client.force_login(helper)
    page = client.get(reverse("hide", args=[hide.pk])).content.decode()
    history = page.split("History</h2>")[1].split("</section>")[0]
    assert "reserved" in history
    assert commission.code in history
    assert helper.get_username() in history
