"""What a customer can do with a link, and what becomes of a quote."""

import datetime
import re
import threading
from dataclasses import replace

import pytest
from django.core.exceptions import ValidationError
from django.db import connections
from django.utils import timezone

from workshop.models import AuditEntry, Commission, Quote
from workshop.services.quotes import (
    quote_accept,
    quote_by_token,
    quote_decline,
    quote_renew_link,
    quote_revoke_link,
    quote_withdraw,
)
from workshop.services.quoting import link_token
from workshop.tokens import random_token

pytestmark = pytest.mark.django_db

ACCEPTS = 100
PLACES = 20  # connections at once: a database server takes a hundred from all who ask


def path_of(quote):
    return f"/q/{link_token(quote)}/"


def test_a_token_has_256_bits_and_only_its_hash_is_stored(quote):
    token = link_token(quote)
    # 256 bits in base64 without padding: 43 signs.
    assert len(token) == 43
    assert token not in str(list(Quote.objects.values()))
    assert len(random_token()) == 43


def test_a_customer_sees_the_price_and_not_what_it_is_made_of(client, quote):
    page = client.get(path_of(quote)).content.decode()
    assert "<svg" in page
    words = re.sub(r"<svg.*?</svg>", "", page, flags=re.DOTALL)
    assert quote.shown_price in words
    for secret in ("cost", "profit", "labour", quote.snapshot["breakdown"]["cost"]):
        assert secret not in words.lower()


def test_a_customer_sees_the_finished_boot_and_not_the_pieces_to_cut(client, quote):
    page = client.get(path_of(quote)).content.decode()
    svg = re.search(r"<svg.*?</svg>", page, flags=re.DOTALL).group()
    assert "The finished shoe" in svg
    height = quote.drawings["pieces"]["parameters"]["boot_height_mm"]
    assert f">{height:.1f} mm</text>" in svg
    assert ">75 mm</text>" in svg
    for word in ("mirrored", "toe box", "cut ", "tight way", "grain"):
        assert word not in page


def test_accepting_by_link_moves_quote_and_job_once(client, quote):
    answer = client.post(path_of(quote) + "accept/")
    assert answer.status_code == 302
    quote.refresh_from_db()
    assert (quote.state, quote.answered_by) == ("accepted", "link")
    assert Commission.objects.get(pk=quote.commission_id).state == "accepted"
    again = client.post(path_of(quote) + "accept/")
    assert again.status_code == 302
    assert AuditEntry.objects.filter(record_kind="quote", action="accepted").count() == 1


def test_only_one_quote_of_a_job_is_accepted_and_a_revised_one_never(
    client, owner_client, choice, quote, owner
):
    from workshop.services.quoting import quote_make, work_out

    second = quote_make(work_out(replace(choice, pair_count=2)), by=owner)
    with pytest.raises(ValidationError, match=second.code):
        quote_accept(quote, by=None)
    assert client.get(path_of(quote)).status_code == 410
    assert client.post(path_of(quote) + "accept/").status_code == 410
    said = owner_client.post(
        f"/quotes/{quote.pk}/answer/", {"answer": "accepted", "way": "mail"}, follow=True
    ).content.decode()
    assert f"This quote was revised: {second.code} took its place." in said
    quote.refresh_from_db()
    assert (quote.state, Commission.objects.get().state) == ("open", "quoted")
    # Withdrawn again, the later one takes nobody's place.
    quote_withdraw(second, by=owner)
    quote_accept(quote, by=None)
    with pytest.raises(ValidationError):
        quote_accept(second, by=None)


def test_an_answer_typed_in_counts_by_the_day_it_was_given(owner_client, quote):
    today, day = timezone.localdate(), datetime.timedelta(days=1)
    made = timezone.now() - datetime.timedelta(days=10)
    Quote.objects.filter(pk=quote.pk).update(made_at=made, valid_until=today - 2 * day)

    def answer(on, note="Yes please."):
        data = {"answer": "accepted", "way": "mail", "on": on, "note": note}
        said = owner_client.post(f"/quotes/{quote.pk}/answer/", data, follow=True)
        quote.refresh_from_db()
        return said.content.decode()

    assert "has come" in answer(today + day)
    assert "no answer can be older" in answer(today - 20 * day)
    assert "please ask for a new one" in answer("")
    assert "far too long" in answer(today - 3 * day, "x" * 3_000_000)
    assert "at most 8000" in answer(today - 3 * day, "x" * 9000)
    assert (quote.state, Commission.objects.get().state) == ("open", "quoted")
    assert "The answer is noted." in answer(today - 3 * day)
    assert (quote.state, quote.answered_by) == ("accepted", "mail")
    assert quote.answered_on == today - 3 * day


@pytest.mark.parametrize("end", ["expired", "withdrawn", "declined"])
def test_a_closed_quote_says_so_and_shows_nothing_else(client, quote, owner, end):
    if end == "expired":
        Quote.objects.filter(pk=quote.pk).update(
            valid_until=timezone.localdate() - datetime.timedelta(days=1)
        )
    elif end == "withdrawn":
        quote_withdraw(quote, by=owner)
    else:
        quote_decline(quote, by=owner, way="mail")
    for answer in (
        client.get(path_of(quote)),
        client.post(path_of(quote) + "accept/"),
        client.post(path_of(quote) + "ask/", {"text": "still there?"}),
    ):
        assert answer.status_code == 410
        page = answer.content.decode()
        assert quote.shown_price not in page
        assert quote.commission.doll.name not in page
        assert "<svg" not in page
    quote.refresh_from_db()
    assert quote.state != "accepted"
    assert not quote.messages.exists()


def test_the_last_day_still_counts(client, quote):
    Quote.objects.filter(pk=quote.pk).update(valid_until=timezone.localdate())
    assert client.post(path_of(quote) + "accept/").status_code == 302
    quote.refresh_from_db()
    assert quote.state == "accepted"


def test_a_wrong_or_old_link_opens_nothing(client, quote, owner):
    old = path_of(quote)
    quote_renew_link(quote, by=owner)
    assert client.get(old).status_code == 404
    assert client.get(path_of(quote)).status_code == 200
    quote_revoke_link(quote, by=owner)
    assert client.get(path_of(quote)).status_code == 404
    assert client.get("/q/" + "x" * 5000 + "/").status_code == 404
    assert quote_by_token("") is None


def test_a_question_reaches_the_maker(client, owner_client, quote):
    assert client.post(path_of(quote) + "ask/", {"text": "In black?"}).status_code == 302
    assert "In black?" in owner_client.get(f"/quotes/{quote.pk}/").content.decode()


@pytest.mark.parametrize("text", ["", " ", "x" * 2001, "x" * 3_000_000])
def test_a_question_that_is_none_is_refused_beside_the_field(client, quote, text):
    answer = client.post(path_of(quote) + "ask/", {"text": text})
    assert answer.status_code == 200
    assert answer.context["form"].errors["text"]
    assert not quote.messages.exists()


def test_the_maker_types_in_an_answer_that_came_by_mail(owner_client, quote):
    owner_client.post(
        f"/quotes/{quote.pk}/answer/",
        {"answer": "accepted", "way": "mail", "note": "Yes please, says the mail."},
    )
    quote.refresh_from_db()
    assert (quote.state, quote.answered_by) == ("accepted", "mail")
    assert quote.answer_note.startswith("Yes please")


def test_each_change_leaves_an_audit_row(owner_client, quote):
    owner_client.post(f"/quotes/{quote.pk}/link/")
    owner_client.post(f"/quotes/{quote.pk}/withdraw/")
    actions = list(
        AuditEntry.objects.filter(record_kind="quote", record_id=quote.pk)
        .order_by("id")
        .values_list("action", flat=True)
    )
    assert actions == ["quoted", "new link", "withdrawn"]
    row = AuditEntry.objects.filter(action="withdrawn").get()
    assert row.before["state"] == "open"
    assert row.after["state"] == "withdrawn"
    assert "token_hash" not in str(row.before) + str(row.after)


@pytest.mark.every_database
@pytest.mark.django_db(transaction=True)
def test_of_a_hundred_accepts_at_the_same_moment_one_counts(quote):
    outcomes = []
    gate = threading.Barrier(ACCEPTS)
    places = threading.BoundedSemaphore(PLACES)

    def accept():
        gate.wait(60)
        with places:
            try:
                quote_accept(Quote.objects.get(pk=quote.pk), by=None)
                outcomes.append("accepted")
            except ValidationError:
                outcomes.append("refused")
            except Exception as fault:
                outcomes.append(repr(fault))
            finally:
                connections.close_all()

    threads = [threading.Thread(target=accept) for _ in range(ACCEPTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["accepted"] + ["refused"] * (ACCEPTS - 1)
    assert AuditEntry.objects.filter(record_kind="quote", action="accepted").count() == 1


def test_the_trail_of_a_link_and_of_an_accepted_job_names_only_what_changed(quote, owner):
    quote_revoke_link(quote, by=owner)
    quote_renew_link(quote, by=owner)
    quote_accept(quote, by=None)
    rows = {
        (entry.record_kind, entry.action): set(entry.after) for entry in AuditEntry.objects.all()
    }
    assert rows["quote", "link closed"] == {"link_revoked_at"}
    assert rows["quote", "new link"] == {"link_serial", "link_revoked_at"}
    assert rows["commission", "quoted"] == {"state"}
    assert rows["commission", "accepted"] == {"state"}
