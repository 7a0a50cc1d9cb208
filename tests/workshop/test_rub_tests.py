"""Leather whose colour may rub off: tests noted, and what page and quote say of it."""

import pytest

from tests.workshop.fixtures_quotes import with_options
from workshop.models import AuditEntry, RubTest
from workshop.paper_values import quote_paper_of
from workshop.selectors.rubbing import rubbing_of
from workshop.services.quoting import quote_make, work_out

pytestmark = pytest.mark.django_db


def note(client, lot, dry="clean", damp="clean", **more):
    return client.post(f"/leather/{lot.pk}/rub-test/", {"dry": dry, "damp": damp, **more})


def leather_station(client, choice):
    return client.get(f"/jobs/{choice.commission.pk}/?station=leather").content.decode()


def test_a_test_is_kept_with_its_maker_and_shown_with_the_leather(owner_client, owner, leather_lot):
    answer = note(owner_client, leather_lot, damp="trace", note="under the belly, 20 strokes")
    assert answer.headers["Location"] == f"/leather/{leather_lot.pk}/"
    test = RubTest.objects.get()
    assert (test.lot, test.damp, test.made_by, test.is_clean) == (
        leather_lot, "trace", owner, False,
    )  # fmt: skip
    page = owner_client.get(f"/leather/{leather_lot.pk}/").content.decode()
    assert "a trace of colour" in page
    assert "under the belly, 20 strokes" in page
    assert AuditEntry.objects.filter(record_kind="rubtest").count() == 1


@pytest.mark.parametrize("sent", [{"dry": ""}, {"damp": "blue"}, {"note": "x" * 201}])
def test_a_faulty_test_is_told_beside_its_field_and_not_kept(owner_client, leather_lot, sent):
    answer = note(owner_client, leather_lot, **sent)
    assert answer.status_code == 200
    assert list(answer.context["form"].errors) == list(sent)
    assert not RubTest.objects.exists()


def test_a_bookkeeper_notes_none(client, bookkeeper, leather_lot):
    client.force_login(bookkeeper)
    assert note(client, leather_lot).status_code == 403


def test_leather_nobody_doubts_says_nothing_until_colour_comes_off(
    owner_client, choice, leather_lot
):
    assert "rub off" not in leather_station(owner_client, choice)
    note(owner_client, leather_lot)
    assert rubbing_of(work_out(choice)) is None
    note(owner_client, leather_lot, damp="strong")
    page = leather_station(owner_client, choice)
    assert "left colour on the cloth" in page
    assert "choose another leather" in page


def test_leather_that_may_rub_asks_for_a_test_a_light_lining_and_a_sock(
    owner_client, choice, leather_lot
):
    leather_lot.colour_may_rub = True
    leather_lot.save()
    page = leather_station(owner_client, choice)
    assert "Rub-test it first" in page
    assert "a lining and a sock lining: cut both of a light leather" in page
    bare = rubbing_of(work_out(with_options(choice, lining="false")))
    assert (bare.lined, bare.test) == (False, None)
    sockless = rubbing_of(work_out(with_options(choice, sock_lining="false")))
    assert (sockless.lined, sockless.sock) == (True, False)
    note(owner_client, leather_lot)
    assert "promises nothing for months of wear" in leather_station(owner_client, choice)


@pytest.mark.parametrize(
    ("damp", "said"),
    [(None, "may rub off"), ("clean", "left no colour"), ("trace", "ask us about another leather")],
)
def test_the_quote_warns_the_customer(owner_client, choice, leather_lot, owner, damp, said):
    leather_lot.colour_may_rub = True
    leather_lot.save()
    if damp is not None:
        note(owner_client, leather_lot, damp=damp)
    quote = quote_make(work_out(choice), by=owner)
    assert any(said in line for line in quote_paper_of(quote).cautions)
