"""Payments, bills, credit notes, parcels: never more than is open, never changed, to the cent."""

import datetime
import re
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from costing.money import to_minor_unit
from tests.pdf_reading import page_texts
from tests.workshop.fixtures_work import accept, finish
from tests.workshop.test_stock_processes import in_processes
from workshop.models import (
    AuditEntry,
    Bill,
    Commission,
    Customer,
    Parcel,
    Payment,
    Quote,
    Reservation,
    WorkshopProfile,
)
from workshop.selectors.counting_back import job_counted
from workshop.selectors.payments import account_of
from workshop.services.bills import Change, bill_issue, credit_issue
from workshop.services.orders import commission_take_in
from workshop.services.payments import payment_cancel, payment_write
from workshop.services.reservations import reservations_lapse

pytestmark = [pytest.mark.django_db]


@pytest.fixture
def job(quote, owner):
    return accept(quote, owner)


def paid(job, amount, owner, *, kind="balance", fee="0", on=None):
    payment = Payment(
        commission=job,
        kind=kind,
        way="transfer",
        paid_on=on or timezone.localdate(),
        amount=Decimal(amount),
        fee=Decimal(fee),
    )
    return payment_write(payment, by=owner)


def row(amount, **values):
    day = timezone.localdate()
    return {"kind": "balance", "way": "service", "paid_on": day, "amount": amount, **values}


def like(quote, owner):
    """Return a quote of a new job, with the figures of another."""
    job = commission_take_in(customer=quote.commission.customer, doll=quote.foot.doll, by=owner)
    return Quote.objects.create(
        commission=job,
        version=1,
        foot=quote.foot,
        snapshot=quote.snapshot,
        price=quote.price,
        currency=quote.currency,
        pair_count=quote.pair_count,
        token_hash=f"of {job.pk}",
        valid_until=quote.valid_until,
    )


# --- payments ------------------------------------------------------------------------------


def test_what_is_open_falls_with_each_payment_and_more_is_refused_beside_the_field(
    owner_client, job, quote
):
    address = reverse("job-payments", args=[job.pk])
    price = to_minor_unit(quote.price, "EUR")
    day = timezone.localdate() + datetime.timedelta(days=1)
    for values, field, said in (
        (row(price + Decimal("0.01")), "amount", f"{price} EUR are open"),
        (row("0"), "amount", "above 0"),
        (row("0.001"), "amount", "finer than"),
        (row("10", fee="11"), "fee", "between 0.00 and 10.00"),
        (row("10", paid_on=day), "paid_on", "has come"),
        (row("10", kind="refund"), "amount", "Only 0.00 EUR were paid"),
    ):
        answer = owner_client.post(address, values)
        assert answer.status_code == 200
        assert said in str(answer.context["form"].errors[field])
    assert not Payment.objects.exists()
    data = row("40.00", kind="deposit", fee="1.21", form_key="a-key")
    for _turn in range(2):  # a double click is one payment
        assert owner_client.post(address, data).status_code == 302
    account = account_of(job)
    assert (account.paid, account.fees, account.open) == (
        Decimal("40.00"), Decimal("1.21"), price - 40,
    )  # fmt: skip
    owner_client.post(address, row(price - 40))
    assert account_of(job).open == 0
    assert AuditEntry.objects.filter(record_kind="payment").count() == 2


def test_a_row_in_error_is_taken_back_and_stays_on_the_list(owner_client, job, owner):
    first = paid(job, "40", owner)
    back = paid(job, "15", owner, kind="refund")
    address = reverse("payment-back", args=[first.pk])
    answer = owner_client.post(address, {"reason": "typed twice"})
    assert "take that back first" in str(answer.context["form"].errors)
    payment_cancel(back, reason="another job", by=owner)
    assert owner_client.post(address, {"reason": "typed twice"}).status_code == 302
    assert account_of(job).paid == 0
    page = owner_client.get(reverse("job-payments", args=[job.pk])).content.decode()
    assert "typed twice" in page
    with pytest.raises(ValidationError, match="already"):
        payment_cancel(back, reason="once more", by=owner)


def test_the_deposit_ends_the_lapse_and_what_lapsed_before_it_came_is_reserved_again(quote, owner):
    WorkshopProfile.objects.update(deposit_days=3, deposit_pct=Decimal(50))
    job = accept(quote, owner)
    late = timezone.localdate() + datetime.timedelta(days=9)
    half = account_of(job).deposit_asked
    assert half == to_minor_unit(quote.price / 2, "EUR")
    paid(job, half - 1, owner, kind="deposit")
    reservation = Reservation.objects.get()
    assert reservation.deposit_paid_on is None
    assert reservations_lapse(late) == [job]
    # The rest comes late: the day it was paid counts, and the supplies are kept again.
    day = timezone.localdate()
    paid(job, "1", owner, kind="deposit", on=day)
    reservation.refresh_from_db()
    assert (reservation.state, reservation.deposit_paid_on) == ("open", day)
    assert reservations_lapse(late) == []
    paid(job, half, owner, kind="refund")
    reservation.refresh_from_db()
    assert reservation.deposit_paid_on is None


def test_counting_back_takes_the_fees_really_taken_and_the_postage_really_paid(job, quote, owner):
    agreed = job_counted(job).counted
    half = to_minor_unit(quote.price / 2, "EUR")
    paid(job, half, owner, fee="9.90")
    open_fees = to_minor_unit(agreed.fees * (quote.price - half) / quote.price, "EUR")
    assert job_counted(job).counted.fees == Decimal("9.90") + open_fees
    paid(job, quote.price - half, owner, fee="0.10")
    Parcel.objects.create(
        commission=job, sent_on=timezone.localdate(), cost=Decimal("7.45"), weight_g=420
    )
    counted = job_counted(job).counted
    assert counted.fees == 10
    postage = next(line for line in counted.lines if line.group == "postage")
    assert (postage.name, postage.taken) == ("postage", Decimal("7.45"))
    assert counted.profit == agreed.profit + agreed.fees - 10 - Decimal("7.45")
    extra = [Change("A second lace", Decimal("4.00"), "wished for later")]
    bill = bill_issue(job, changes=extra, by=owner)
    counted = job_counted(job).counted
    assert (counted.price, counted.tax) == (quote.price + 4, bill.tax)


# --- bills and credit notes ----------------------------------------------------------------


def test_a_bill_is_what_was_agreed_to_the_cent_and_changed_lines_say_why(
    owner_client, job, quote, owner
):
    WorkshopProfile.objects.update(
        tax_name="VAT", tax_number="XX-123", tax_wording="Tax as the law of Nowhere has it.",
        bill_wording="To be paid within 14 days.", address="1 Last Lane",
    )  # fmt: skip
    address = reverse("bill-new", args=[job.pk])
    paid(job, "40", owner, kind="deposit")
    rows = {"changes-TOTAL_FORMS": "2", "changes-INITIAL_FORMS": "0"}
    answer = owner_client.post(
        address, rows | {"changes-0-text": "Longer laces", "changes-0-amount": "3.50"}
    )
    assert "Needed on a line" in str(answer.context["rows"].errors)
    assert owner_client.post(
        address, rows | {"delivered_on": "1999-01-01"}
    ).context["form"].errors  # fmt: skip
    assert not Bill.objects.exists()
    more = {"changes-0-text": "Longer laces", "changes-0-amount": "3.50"}
    more |= {"changes-0-reason": "asked for in June", "note": "With thanks."}
    assert owner_client.post(address, rows | more).status_code == 302
    bill = Bill.objects.get()
    tax = Decimal(quote.snapshot["breakdown"]["tax"])
    percent = Decimal(quote.snapshot["job"]["tax"]["pct"])
    more_tax = to_minor_unit(Decimal("3.50") * percent / (100 + percent), "EUR")
    assert (bill.amount, bill.tax) == (quote.price + Decimal("3.50"), tax + more_tax)
    lines = list(bill.lines.values_list("amount", "tax"))
    assert [sum(column) for column in zip(*lines, strict=True)] == [bill.amount, bill.tax]
    for text in (_bill_words(bill), owner_client.get(f"/bills/{bill.pk}/").content.decode()):
        words = re.sub(r"\s+", " ", text)
        for said in (
            "Bill 0001", "Merle Oakhollow", "7 Thimble Row", "Longer laces", "asked for in June",
            f"{to_minor_unit(bill.amount, 'EUR')}", "Tax as the law of Nowhere has it.", "XX-123",
            "To be paid within 14 days.", "With thanks.", "Deposit of", "\u221240.00",
        ):  # fmt: skip
            assert said in words
    # Whatever changes, the bill stays as it was issued.
    before = _bill_words(bill)
    Customer.objects.update(name="Somebody Else")
    WorkshopProfile.objects.update(name="Another", tax_wording="", currency="JPY")
    assert _bill_words(bill) == before
    with pytest.raises(ValidationError):
        bill.save()
    with pytest.raises(ValidationError):
        bill.delete()
    with pytest.raises(ValidationError, match="Bill 0001 stands"):
        bill_issue(job, by=owner)


def _bill_words(bill):
    from workshop.bill_values import bill_paper_of
    from workshop.documents.bill_paper import bill_pdf

    return " ".join(page_texts(bill_pdf(bill_paper_of(Bill.objects.get(pk=bill.pk)))))


def test_a_credit_note_names_its_bill_and_takes_back_all_or_a_part(owner_client, job, owner):
    bill = bill_issue(job, by=owner)
    paid(job, bill.amount, owner)
    line = bill.lines.get(key="goods")
    address, name = reverse("credit-new", args=[bill.pk]), f"line-{line.pk}"
    too_much = owner_client.post(address, {name: line.amount + 1, "reason": "too much"})
    assert "what is left of the line" in str(too_much.context["form"].errors[name])
    assert owner_client.post(address, {name: "10"}).context["form"].errors["reason"]
    assert owner_client.post(address, {name: "10.01", "reason": "a scratch"}).status_code == 302
    part = Bill.objects.get(kind="credit")
    assert part.code == "Credit note 0001"
    page = owner_client.get(f"/bills/{part.pk}/").content.decode()
    assert f"{bill.code} of" in page
    assert account_of(job).to_give_back == Decimal("10.01")
    rest = credit_issue(
        bill, amounts={line.pk: line.amount - part.amount}, reason="sent back", by=owner
    )
    assert (part.amount + rest.amount, part.tax + rest.tax) == (bill.amount, bill.tax)
    assert account_of(job).owed == 0
    with pytest.raises(ValidationError):
        credit_issue(bill, amounts={line.pk: Decimal("0.01")}, reason="again", by=owner)
    # Taken back whole, the job may be billed anew, with the next number.
    assert bill_issue(job, by=owner).code == "Bill 0002"
    assert "Bill 0001" in _bill_words(rest)


def test_nothing_is_billed_that_was_not_agreed_and_a_refused_bill_uses_no_number(
    commission, quote, owner
):
    with pytest.raises(ValidationError, match="Nothing was agreed"):
        bill_issue(commission, by=owner)
    job = accept(quote, owner)
    for change in (
        Change("less", -quote.price, "all of it"),
        Change("finer", Decimal("0.001"), "no coin"),
        Change("no reason", Decimal(1), " "),
    ):
        with pytest.raises(ValidationError):
            bill_issue(job, changes=[change], by=owner)
    assert bill_issue(job, by=owner).number == 1


@pytest.mark.every_database
@pytest.mark.django_db(transaction=True)
def test_bills_issued_at_once_are_numbered_without_a_gap_and_a_job_gets_one(quote, owner):
    jobs = [accept(like(quote, owner), owner) for _ in range(3)]
    WorkshopProfile.current()

    def issue(job, *, fails=False):
        changes = [Change("finer", Decimal("0.001"), "no coin")] if fails else []
        return bill_issue(job, changes=changes, by=owner).code

    works = [lambda job=job: issue(job) for job in (*jobs, *jobs)]
    words = in_processes(*works, lambda: issue(jobs[0], fails=True))
    given = sorted(word for word in words if re.fullmatch(r"Bill \d{4}", word))
    assert given == ["Bill 0001", "Bill 0002", "Bill 0003"]
    assert sorted(Bill.objects.values_list("commission", flat=True)) == [job.pk for job in jobs]
    # Two whole payments of one job at once: one of them is told what is open.
    whole = account_of(jobs[0]).open
    job = Commission.objects.get(pk=jobs[0].pk)
    words = in_processes(*[lambda: str(paid(job, whole, owner).amount) for _ in range(2)])
    assert sum("are open" in word for word in words) == 1
    assert account_of(job).open == 0


def test_helpers_see_no_amount_of_payments_bills_and_parcels(client, job, owner, helper):
    bill = bill_issue(job, by=owner)
    client.force_login(helper)
    for address in (
        f"/jobs/{job.pk}/payments/",
        f"/bills/{bill.pk}/",
        f"/bills/{bill.pk}/bill.pdf",
    ):
        assert client.get(address).status_code == 403
    finish(job, owner)
    parcel = {"sent_on": timezone.localdate(), "packing": "box in tissue", "cost": "7.45"}
    parcel |= {"weight_g": "420", "carrier": "post", "tracking": "NW 123"}
    address = reverse("job-parcels", args=[job.pk])
    assert client.post(address, parcel).status_code == 302
    record = Parcel.objects.get()
    assert record.cost is None  # not asked of a helper, so not taken either
    Parcel.objects.update(cost=Decimal("7.45"))
    page = client.get(address).content.decode()
    assert "NW 123" in page
    assert "7.45" not in page
    assert "Thimble Row" not in page


# --- parcels -------------------------------------------------------------------------------


def test_a_job_is_sent_with_its_parcel_once_and_never_before_it_is_finished(
    owner_client, job, owner
):
    address = reverse("job-parcels", args=[job.pk])
    today = timezone.localdate()
    data = {"sent_on": today, "cost": "7.45", "packing_cost": "1.20", "form_key": "k"}
    assert "finish the work first" in owner_client.post(address, data).content.decode()
    finish(job, owner)
    ahead = data | {"sent_on": today + datetime.timedelta(days=1)}
    assert "sent_on" in owner_client.post(address, ahead).context["form"].errors
    assert owner_client.post(address, data | {"weight_g": "0"}).context["form"].errors
    assert not Parcel.objects.exists()
    for _turn in range(2):
        assert owner_client.post(address, data).status_code == 302
    parcel = Parcel.objects.get()
    job.refresh_from_db()
    assert job.state == "sent"
    later = {"sent_on": today, "tracking": "NW 9", "cost": "7.45", "packing_cost": ""}
    assert owner_client.post(reverse("parcel", args=[parcel.pk]), later).status_code == 302
    parcel.refresh_from_db()
    assert (parcel.tracking, parcel.packing_cost) == ("NW 9", 0)


def test_the_deposit_is_that_of_the_day_the_job_was_accepted(quote, owner):
    WorkshopProfile.current()
    WorkshopProfile.objects.update(deposit_pct=Decimal(40))
    job = accept(quote, owner)
    asked = account_of(job).deposit_asked
    assert asked == to_minor_unit(quote.price * Decimal("0.4"), quote.currency)
    for pct in (Decimal(90), None):
        WorkshopProfile.objects.update(deposit_pct=pct)
        assert account_of(Commission.objects.get(pk=job.pk)).deposit_asked == asked
    # The next job is asked by the settings of its own day.
    assert account_of(accept(like(quote, owner), owner)).deposit_asked is None


def test_a_deposit_that_came_by_payment_is_not_noted_by_hand_as_well(owner_client, quote, owner):
    WorkshopProfile.current()
    WorkshopProfile.objects.update(deposit_pct=Decimal(40), deposit_days=7)
    job = accept(quote, owner)
    reserved, deposit = f"/jobs/{job.pk}/reserved/", f"/jobs/{job.pk}/reserved/deposit/"
    asked = account_of(job).deposit_asked

    def shown():
        return owner_client.get(reserved).content.decode()

    assert "The deposit is here</button>" in shown()
    first = paid(job, "1", owner, kind="deposit")
    assert f"{asked - 1} {quote.currency} of it are still missing" in shown()
    # Noted by hand, it may be taken back by hand.
    owner_client.post(deposit, {"paid": "1"})
    assert "Noted by hand; no payment" in shown()
    assert "It is not here after all</button>" in shown()
    owner_client.post(deposit, {"paid": "0"})
    second = paid(job, str(asked - 1), owner, kind="deposit")
    page = shown()
    assert "It is here by the payments" in page
    assert reserved + "deposit/" not in page
    refused = owner_client.post(deposit, {"paid": "0"}, follow=True).content.decode()
    assert "take the payment back instead" in refused
    assert Reservation.objects.get(commission=job).deposit_paid_on is not None
    for payment in (second, first):
        payment_cancel(payment, reason="wrong job", by=owner)
    assert "The deposit is here</button>" in shown()


def test_a_bill_names_the_orders_country_where_the_customer_has_none(quote, owner):
    Customer.objects.update(country="")
    job = accept(quote, owner)
    Commission.objects.filter(pk=job.pk).update(country="Norland")
    assert "Norland" in _bill_words(bill_issue(job, by=owner))
