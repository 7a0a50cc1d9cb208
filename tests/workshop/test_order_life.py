"""The life of an order: which step may follow which, who took each, and what is missing next."""

import datetime
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from tests.workshop.test_stock_files import picture
from workshop.models import AuditEntry, Commission, JobPhoto, Payment, Quote, WorkshopProfile
from workshop.selectors.order_life import order_life
from workshop.selectors.payments import account_of
from workshop.services.orders import commission_move, commissions_measured
from workshop.services.payments import payment_write
from workshop.services.quotes import quote_accept

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("files_read_once")]

STATES = Commission.State.values
# Straight from the trade: what a maker can do with a job by a press of a button.
BY_HAND = {
    ("enquiry", "declined"), ("enquiry", "withdrawn"),
    ("measured", "declined"), ("measured", "withdrawn"),
    ("quoted", "declined"), ("quoted", "withdrawn"),
    ("accepted", "in work"), ("accepted", "withdrawn"),
    ("in work", "finished"),
    ("finished", "sent"),
}  # fmt: skip
BY_A_YES = {(state, "accepted") for state in ("enquiry", "measured", "quoted")}
BY_MEASURES = {("enquiry", "measured")}


def stand(commission, state):
    Commission.objects.filter(pk=commission.pk).update(state=state)
    commission.refresh_from_db()


def test_each_pair_of_states_is_a_step_or_is_refused(quote, owner):
    commission = quote.commission
    taken = set()
    for before in STATES:
        for after in STATES:
            stand(commission, before)
            try:
                commission_move(commission, to=after, by=owner)
            except ValidationError:
                pass
            else:
                taken.add((before, after))
            commission.refresh_from_db()
            assert commission.state == (after if (before, after) in taken else before)
    assert taken == BY_HAND


def test_a_yes_is_taken_where_a_quote_may_be_open_and_measures_only_move_an_enquiry(quote, owner):
    commission, taken, measured = quote.commission, set(), set()
    for before in STATES:
        stand(commission, before)
        Quote.objects.filter(pk=quote.pk).update(state="open")
        try:
            quote_accept(Quote.objects.get(pk=quote.pk), by=owner, way="mail")
        except ValidationError:
            assert Quote.objects.get(pk=quote.pk).state == "open"
        else:
            taken.add((before, "accepted"))
        commission.refresh_from_db()
        assert commission.state == ("accepted" if (before, "accepted") in taken else before)
        stand(commission, before)
        commissions_measured(commission.doll, by=owner)
        commission.refresh_from_db()
        if commission.state != before:
            measured.add((before, commission.state))
    assert taken == BY_A_YES
    assert measured == BY_MEASURES


def missing_texts(commission, role="owner"):
    commission.refresh_from_db()
    return [row.text for row in order_life(commission, account_of(commission), role).missing]


def test_each_step_says_who_and_when_and_what_is_missing_for_the_next(
    owner_client, quote, owner, helper
):
    commission = quote.commission
    WorkshopProfile.objects.update(deposit_pct=Decimal(50))
    (waits,) = missing_texts(commission)
    assert waits.startswith(f"The customer's answer to {quote.code}, valid until")
    Quote.objects.update(valid_until=timezone.localdate() - datetime.timedelta(days=1))
    assert "was valid until" in missing_texts(commission)[0]
    Quote.objects.update(valid_until=timezone.localdate())
    quote_accept(Quote.objects.get(), by=owner, way="mail", on=timezone.localdate())
    commission.refresh_from_db()
    half = account_of(commission).deposit_asked
    assert missing_texts(commission)[0] == f"Of the deposit {half} EUR are missing."
    # A helper is told that it is not here, never how much it is.
    assert missing_texts(commission, "helper")[0] == "The deposit is not here."
    page = owner_client.get(reverse("job", args=[commission.pk])).content.decode()
    assert f"by mail on {timezone.localdate():%Y-%m-%d}" in page
    assert f"{half} EUR are missing" in page
    payment = {"kind": "deposit", "way": "transfer", "paid_on": timezone.localdate()}
    payment_write(Payment(commission=commission, amount=half, **payment), by=owner)
    assert not any("deposit" in text for text in missing_texts(commission))
    commission_move(commission, to="in work", by=helper)
    assert "No work is written down yet." in missing_texts(commission)
    commission_move(commission, to="finished", by=owner)
    texts = missing_texts(commission)
    assert texts[:2] == ["No bill is issued yet.", "No parcel is written down yet."]
    assert texts[2].endswith("are still open.")
    assert texts[3].startswith(f"{quote.hide.code} is not noted as cut yet")
    steps = order_life(commission, account_of(commission), "owner").steps
    at = {step.state: step for step in steps}
    assert [step.state for step in steps if step.is_done][-1] == "in work"
    assert at["in work"].who == "helper-login"
    assert at["finished"].is_now
    assert at["finished"].at.date() == timezone.now().date()
    assert at["sent"].at is None


def test_a_job_that_ended_shows_how_far_it_came(commission, owner):
    commission_move(commission, to="withdrawn", by=owner)
    steps = order_life(commission, account_of(commission), "owner").steps
    assert [step.state for step in steps] == ["enquiry", "measured", "withdrawn"]
    assert steps[-1].is_now


# --- what was asked ------------------------------------------------------------------------


def enquiry(**values):
    return {"customer": "Odo Fern", "doll": "Thistle", "material": "resin", **values}


def photo_file(content=None):
    return SimpleUploadedFile("doll.jpg", content or picture(), "image/jpeg")


def test_an_enquiry_keeps_its_message_date_country_budget_and_photograph(owner_client, capsys):
    wanted = timezone.localdate() + datetime.timedelta(days=60)
    values = {"wanted_on": wanted, "country": "Farawayland", "budget": "180.00"}
    note = "Dear maker,\n\ncould you make her boots?\n"
    answer = owner_client.post(
        reverse("job-new"), enquiry(**values, note=note, photo_file=photo_file())
    )
    assert answer.status_code == 302
    job = Commission.objects.get()
    assert (job.country, job.budget, job.wanted_on) == ("Farawayland", Decimal(180), wanted)
    photo = JobPhoto.objects.get()
    page = owner_client.get(reverse("job-photos", args=[job.pk])).content.decode()
    assert reverse("photograph", args=[photo.sha256]) in page
    call_command("check_records")
    assert "1 photographs of jobs: every one is there" in capsys.readouterr().out
    address = reverse("job-photo-off", args=[photo.pk])
    assert owner_client.post(address).status_code == 302
    assert not JobPhoto.objects.exists()
    assert AuditEntry.objects.filter(action="photograph taken off").count() == 1
    page = owner_client.get(reverse("job", args=[job.pk])).content.decode()
    assert "budget 180.00 EUR" in page
    # Changed later, a day that is over stays where it stood already.
    Commission.objects.update(wanted_on=datetime.date(2020, 1, 1))
    change = {"wanted_on": "2020-01-01", "country": "Nearland", "note": note}
    assert owner_client.post(reverse("job-change", args=[job.pk]), change).status_code == 302
    assert Commission.objects.get().country == "Nearland"


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"wanted_on": "2020-01-01"}, "That day is over"),
        ({"wanted_on": "2999-01-01"}, "ten years away"),
        ({"budget": "-1"}, "greater than or equal to 0.01"),
        ({"note": "x" * 9000}, "at most 8000"),
        ({"note": "x" * 10_000_000}, "far too long"),
        ({"photo_file": b"<svg>no photograph</svg>"}, "photograph"),
    ],
)
def test_a_faulty_enquiry_is_told_beside_its_field_and_stores_nothing(owner_client, values, said):
    if "photo_file" in values:
        values = {"photo_file": photo_file(values["photo_file"])}
    answer = owner_client.post(reverse("job-new"), enquiry(**values))
    assert answer.status_code == 200
    form = answer.context["form"]
    assert list(form.errors) == [next(iter(values))]
    assert said in str(form.errors)
    assert not Commission.objects.exists()
    assert not JobPhoto.objects.exists()


@pytest.mark.parametrize("end", ["declined", "withdrawn"])
def test_a_job_that_comes_to_nothing_may_say_why(owner_client, quote, end, helper, client):
    job = quote.commission
    address = reverse("job-move", args=[job.pk])
    too_long = owner_client.post(address, {"to": end, "reason": "x" * 301}, follow=True)
    assert "at most 300" in too_long.content.decode()
    job.refresh_from_db()
    assert job.state == "quoted"
    page = owner_client.get(reverse("job", args=[job.pk])).content.decode()
    assert "Why, if it is known" in page
    why = "Bought <b>ready-made</b> ones"
    assert owner_client.post(address, {"to": end, "reason": f" {why} "}).status_code == 302
    job.refresh_from_db()
    assert (job.state, job.end_reason) == (end, why)
    said = "Bought &lt;b&gt;ready-made&lt;/b&gt; ones"
    life = owner_client.get(reverse("job", args=[job.pk])).content.decode()
    assert said in life
    assert "Why, if it is known" not in life
    assert said in owner_client.get(reverse("jobs")).content.decode()
    trail = AuditEntry.objects.filter(record_kind="commission", record_id=job.pk).first()
    assert trail.after["end_reason"] == why


def test_a_reason_is_no_must_and_stays_with_jobs_that_ended(owner_client, quote):
    address = reverse("job-move", args=[quote.commission_id])
    owner_client.post(address, {"to": "declined"})
    job = Commission.objects.get(pk=quote.commission_id)
    assert (job.state, job.end_reason) == ("declined", "")
    owner_client.post(address, {"to": "withdrawn", "reason": "afterwards"})
    job.refresh_from_db()
    assert (job.state, job.end_reason) == ("declined", "")
