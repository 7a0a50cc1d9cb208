"""Supplies reserved for jobs: kept on acceptance, used up, let go, lapsed, never below nothing."""

import datetime
from decimal import Decimal
from fractions import Fraction
from math import ceil

import pytest
from django.contrib.messages import get_messages
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from tests.workshop.fixtures_stock import make_supply
from tests.workshop.fixtures_work import accept, finish
from tests.workshop.test_stock_ledger import at_once, balance
from workshop.management.commands import work
from workshop.models import (
    AuditEntry,
    Commission,
    Hide,
    Quote,
    Reservation,
    ReservedSupply,
    StockMove,
    Supply,
    WorkshopProfile,
)
from workshop.selectors.reservations import held_faults
from workshop.selectors.stock import balance_faults
from workshop.selectors.supply_needs import bill_needs
from workshop.services.cuttings import hide_reserve
from workshop.services.orders import commission_move, commission_take_in
from workshop.services.reservations import (
    deposit_note,
    move_book,
    reservations_lapse,
    supplies_release,
    supplies_reserve,
    supplies_use_up,
)
from workshop.services.stock import stock_count, stock_use, stock_use_for

pytestmark = pytest.mark.django_db

BOX = {"key": "box", "name": "Gift box", "quantity": "1", "unit": "piece", "waste_share": "0"}


def make_job(foot_version, owner, *, bill=(BOX,), pairs=1):
    """Return a job with an open quote that holds no more than a bill and a number of pairs."""
    job = commission_take_in(
        customer=foot_version.doll.customer, doll=foot_version.doll, by=owner, note=""
    )
    return Quote.objects.create(
        commission=job,
        version=1,
        foot=foot_version,
        snapshot={"bill": list(bill), "job": {"quantity": pairs}},
        price=Decimal(10),
        currency="EUR",
        pair_count=pairs,
        token_hash=f"hash of {job.code}",
        valid_until=timezone.localdate() + datetime.timedelta(days=5),
    )


def line_of(job, supply):
    return ReservedSupply.objects.get(reservation__commission=job, supply=supply)


def all_adds_up():
    return not balance_faults() and not held_faults()


def test_accepting_a_quote_reserves_what_its_bill_takes(quote, owner, supplies):
    job = accept(quote, owner)
    lines = {line.supply.kind: line for line in job.reservation.lines.select_related("supply")}
    bill = {line["key"]: line for line in quote.snapshot["bill"]}
    lining = bill["lining"]
    # Waste included: taken = net / (1 - waste), as in the price; rounded up to a thousandth.
    exact = Fraction(lining["quantity"]) / (1 - Fraction(lining["waste_share"]))
    assert lines["lining"].needed == ceil(exact * 1000)
    assert (lines["box"].needed, lines["box"].held) == (1000, 1000)
    for line in lines.values():
        assert line.held == line.needed == line.supply.balance.reserved
    assert "sole leather" not in lines or bill.get("sole")
    assert all_adds_up()


def test_what_the_shelf_does_not_hold_is_missing_and_never_booked(foot_version, owner):
    box = make_supply("box", on_hand="2")
    job = accept(make_job(foot_version, owner, pairs=5), owner)
    line = line_of(job, box)
    assert (line.needed, line.held, line.missing) == (5000, 2000, 3000)
    assert balance(box) == (2000, 2000, 0)


def test_what_comes_in_goes_to_the_job_accepted_first(foot_version, owner):
    box = make_supply("box")
    first = accept(make_job(foot_version, owner, pairs=2), owner)
    second = accept(make_job(foot_version, owner, pairs=2), owner)
    move_book(box, kind="bought", quantity=Decimal(3), reason="three", by=owner)
    assert [line_of(job, box).missing for job in (first, second)] == [0, 1000]
    assert balance(box) == (3000, 3000, 0)
    assert all_adds_up()


def test_a_made_pair_uses_up_what_was_reserved(quote, owner, supplies):
    job = accept(quote, owner)
    needed = {line.supply_id: line.needed for line in job.reservation.lines.all()}
    finish(job, owner)
    job.reservation.refresh_from_db()
    assert job.reservation.state == Reservation.State.USED
    moves = StockMove.objects.filter(commission=job, kind="used")
    assert {move.supply_id: -move.on_hand_change for move in moves} == needed
    assert not any(supply.balance.reserved for supply in Supply.objects.all())
    assert all_adds_up()


def test_what_was_written_down_stands_and_the_rest_goes_back(foot_version, owner):
    box = make_supply("box", on_hand="9")
    job = accept(make_job(foot_version, owner, pairs=5), owner)
    stock_use_for(box, commission=job, quantity=Decimal(2), by=owner)
    assert balance(box) == (7000, 3000, 4000)
    line = line_of(job, box)
    assert (line.held, line.taken, line.missing) == (3000, 2000, 0)
    finish(job, owner)
    assert balance(box) == (7000, 0, 7000)
    assert all_adds_up()


def test_more_than_reserved_is_taken_of_what_is_free_and_no_more(foot_version, owner):
    box = make_supply("box", on_hand="4")
    job = accept(make_job(foot_version, owner, pairs=2), owner)
    with pytest.raises(ValidationError, match="5 piece asked for, but only 4 piece are free for"):
        stock_use_for(box, commission=job, quantity=Decimal(5), by=owner)
    assert (line_of(job, box).held, line_of(job, box).taken) == (2000, 0)
    stock_use_for(box, commission=job, quantity=Decimal(3), by=owner)
    assert balance(box) == (1000, 0, 1000)
    assert line_of(job, box).missing == 0
    assert all_adds_up()


def said_after(client, name, job, **sent):
    """Return what a press says, as plain words."""
    answer = client.post(reverse(name, args=[job.pk]), sent)
    assert answer.status_code == 302
    return [str(said).replace("\u00a0", " ") for said in get_messages(answer.wsgi_request)]


def test_a_pair_made_of_less_than_planned_says_what_was_short(foot_version, owner, owner_client):
    box = make_supply("box", on_hand="2")
    job = accept(make_job(foot_version, owner, pairs=3), owner)
    commission_move(job, to="in work", by=owner)
    assert said_after(owner_client, "job-move", job, to="finished") == [
        "The shelf did not hold all of it: 1 piece of Gift box is not booked. Count the shelf."
    ]
    assert balance(box) == (0, 0, 0)
    assert line_of(job, box).taken == 2000


def test_a_withdrawn_job_lets_everything_go(quote, owner, supplies):
    job = accept(quote, owner)
    commission_move(job, to="withdrawn", by=owner)
    job.reservation.refresh_from_db()
    assert job.reservation.state == Reservation.State.RELEASED
    assert not any(supply.balance.reserved for supply in Supply.objects.all())
    assert not supplies_release(job, by=owner)  # twice does no harm
    assert all_adds_up()


def waits_for_deposit(quote, owner, days=7):
    WorkshopProfile.current()
    WorkshopProfile.objects.update(deposit_days=days)
    return accept(quote, owner)


def in_days(days):
    return timezone.localdate() + datetime.timedelta(days=days)


def test_a_late_deposit_frees_supplies_and_hides_once(foot_version, owner, hide):
    box = make_supply("box", on_hand="1")
    job = waits_for_deposit(make_job(foot_version, owner), owner)
    hide_reserve(hide, commission=job, by=owner)
    assert reservations_lapse(in_days(7)) == []  # the last day counts
    assert reservations_lapse(in_days(8)) == [job]
    assert reservations_lapse(in_days(8)) == []
    hide.refresh_from_db()
    assert (hide.state, balance(box)) == (Hide.State.ON_SHELF, (1000, 0, 1000))
    assert box.moves.filter(kind="released").count() == 1
    assert Commission.objects.get(pk=job.pk).state == Commission.State.ACCEPTED
    entry = AuditEntry.objects.get(record_kind="reservation", action="lapsed")
    assert (entry.after["state"], entry.who_text) == ("lapsed", "the app")


@pytest.mark.parametrize("why", ["paid", "in work", "no deposit asked"])
def test_a_reservation_stays_when_there_is_no_late_deposit(foot_version, owner, why):
    box = make_supply("box", on_hand="1")
    job = waits_for_deposit(
        make_job(foot_version, owner), owner, days=None if why == "no deposit asked" else 7
    )
    if why == "paid":
        deposit_note(job, is_paid=True, by=owner)
    if why == "in work":
        commission_move(job, to="in work", by=owner)
    assert reservations_lapse(in_days(400)) == []
    assert balance(box) == (1000, 1000, 0)


def test_a_lapsed_reservation_can_be_had_again_with_a_new_day(foot_version, owner):
    box = make_supply("box", on_hand="1")
    job = waits_for_deposit(make_job(foot_version, owner), owner)
    reservations_lapse(in_days(8))
    Reservation.objects.update(deposit_due_on=in_days(-1))
    reservation = supplies_reserve(job, by=owner)
    assert (reservation.state, reservation.deposit_due_on) == ("open", in_days(7))
    assert balance(box) == (1000, 1000, 0)


def test_the_worker_lets_late_ones_go_now_and_then(foot_version, owner, monkeypatch):
    box = make_supply("box", on_hand="1")
    waits_for_deposit(make_job(foot_version, owner), owner)
    Reservation.objects.update(deposit_due_on=in_days(-1))
    command = work.Command()
    command.lapse_at = float("inf")
    command._let_late_go()
    assert balance(box) == (1000, 1000, 0)  # not yet
    monkeypatch.setattr(work, "close_old_connections", lambda: None)  # the test's own is one
    command.lapse_at = 0.0
    command._let_late_go()
    assert balance(box) == (1000, 0, 1000)
    assert command.lapse_at > 0.0


def test_reserving_twice_reserves_once(foot_version, owner):
    box = make_supply("box", on_hand="5")
    job = accept(make_job(foot_version, owner), owner)
    supplies_reserve(job, by=owner)
    assert balance(box) == (5000, 1000, 4000)
    assert box.moves.filter(kind="reserved").count() == 1


def test_nothing_is_reserved_for_a_job_without_an_accepted_quote(foot_version, owner):
    make_supply("box", on_hand="5")
    job = make_job(foot_version, owner).commission
    with pytest.raises(ValidationError, match="reserved for accepted jobs only"):
        supplies_reserve(job, by=owner)
    assert not Reservation.objects.exists()


def test_reserved_goods_are_no_longer_free_for_anything_else(foot_version, owner):
    box = make_supply("box", on_hand="1")
    accept(make_job(foot_version, owner), owner)
    with pytest.raises(ValidationError, match="only 0 piece are free"):
        stock_use(box, quantity=Decimal(1), reason="gift", by=owner)


def test_a_bill_in_other_units_and_names_is_read_as_far_as_it_can_be(db):
    thread = make_supply("thread")
    bill = [
        {**BOX, "key": "upper", "name": "Waxed thread 0.6 mm", "unit": "dm2"},
        {**BOX, "key": "thread", "name": "Waxed thread 0.6 mm", "quantity": "90.05", "unit": "cm"},
        {**BOX, "key": "lace", "name": "Waxed thread 0.6 mm", "quantity": "1", "unit": "m"},
        {**BOX, "name": "Velvet box"},
        {**BOX, "key": "clay", "name": "Waxed thread 0.6 mm", "unit": "g"},
    ]
    needs = bill_needs(bill, 3)
    # 3 x (0.9005 m + 1 m), rounded up to a millimetre.
    assert [(need.supply, need.thousandths) for need in needs.found] == [(thread, 5702)]
    assert needs.unknown == ["Velvet box", "Waxed thread 0.6 mm"]


@pytest.mark.django_db(transaction=True)
def test_the_last_box_goes_to_one_of_two_acceptances_at_once(foot_version, owner):
    box = make_supply("box", on_hand="1")
    quotes = [make_job(foot_version, owner) for _ in range(2)]
    WorkshopProfile.current()
    at_once(*[lambda quote=quote: accept(quote, owner) for quote in quotes])
    lines = ReservedSupply.objects.filter(supply=box)
    assert sorted((line.held, line.missing) for line in lines) == [(0, 1000), (1000, 0)]
    assert balance(box) == (1000, 1000, 0)
    assert all_adds_up()


@pytest.mark.django_db(transaction=True)
def test_two_who_end_a_reservation_at_once_end_it_once(foot_version, owner):
    box, lace = make_supply("box", on_hand="3"), make_supply("lace", on_hand="3")
    bill = [BOX, {**BOX, "key": "lace", "name": lace.name, "unit": "m"}]
    job = waits_for_deposit(make_job(foot_version, owner, bill=bill), owner)
    other = make_job(foot_version, owner, bill=bill[::-1], pairs=3)
    at_once(
        lambda: reservations_lapse(in_days(8)),
        lambda: supplies_release(job, by=owner),
        lambda: supplies_use_up(job, by=owner),
        lambda: accept(other, owner),
        lambda: move_book(box, kind="bought", quantity=Decimal(1), reason="one", by=owner),
    )
    job.reservation.refresh_from_db()
    assert not job.reservation.is_open
    assert not any(line.held for line in job.reservation.lines.all())
    ended = AuditEntry.objects.filter(
        record_kind="reservation", action__in=["lapsed", "released", "used"]
    )
    assert ended.count() == 1
    assert all_adds_up()


def test_a_balance_that_jobs_do_not_account_for_is_named(foot_version, owner):
    box = make_supply("box", on_hand="3")
    accept(make_job(foot_version, owner), owner)
    assert held_faults() == []
    ReservedSupply.objects.update(held=0)
    assert [(fault.supply, fault.reserved, fault.held) for fault in held_faults()] == [
        (box, 1000, 0)
    ]


def test_counting_less_than_is_reserved_is_still_refused(foot_version, owner):
    box = make_supply("box", on_hand="3")
    accept(make_job(foot_version, owner, pairs=2), owner)
    with pytest.raises(ValidationError, match="1 piece counted, but 2 piece are reserved"):
        stock_count(box, counted=Decimal(1), reason="count", by=owner)


def page_of(client, job):
    return client.get(reverse("job-reserved", args=[job.pk])).content.decode()


def test_the_page_of_a_job_says_what_is_short_and_reserves_it_when_it_is_there(
    foot_version, owner, owner_client
):
    box = make_supply("box", on_hand="1")
    job = accept(make_job(foot_version, owner, pairs=3, bill=[BOX, {**BOX, "name": "Bow"}]), owner)
    page = page_of(owner_client, job)
    assert "1 supply is short" in page
    assert "not reserved: Bow." in page
    assert "not reserved" not in page_of(owner_client, make_job(foot_version, owner).commission)
    # Counted on the shelf, not bought: nobody has a claim to it before somebody asks.
    stock_count(box, counted=Decimal(2), reason="found one", by=owner)
    (said,) = said_after(owner_client, "job-reserve", job)
    assert said.startswith("Missing: 1 piece of Gift box.")
    stock_count(box, counted=Decimal(9), reason="found more", by=owner)
    assert said_after(owner_client, "job-reserve", job)[-1].startswith("Everything the job takes")
    assert "is short" not in page_of(owner_client, job)
    assert job.code in owner_client.get(reverse("supply", args=[box.pk])).content.decode()
    said_after(owner_client, "job-release", job)
    assert balance(box) == (9000, 0, 9000)


def test_the_hide_a_job_was_quoted_on_is_kept_with_its_supplies(quote, owner, owner_client, hide):
    job = accept(quote, owner)
    hide.refresh_from_db()
    assert (hide.state, hide.reserved_for) == ("reserved", job)
    assert "on which it was quoted" not in page_of(owner_client, job)
    # Let go by hand, it is offered again on the page, and kept with the next press for supplies.
    owner_client.post(reverse("hide-keep", args=[job.pk]), {"which": hide.pk, "release": "1"})
    page = page_of(owner_client, job)
    assert f"Keep {hide.code}, on which it was quoted" in page
    assert "free and not kept" in owner_client.get(reverse("job", args=[job.pk])).content.decode()
    owner_client.post(reverse("hide-keep", args=[job.pk]), {"which": hide.pk})
    hide.refresh_from_db()
    assert hide.reserved_for == job


def test_a_hide_that_somebody_has_already_is_said_to_be_missing(
    foot_version, quote, owner, owner_client, hide
):
    other = make_job(foot_version, owner).commission
    hide_reserve(hide, commission=other, by=owner)
    job = accept(quote, owner)
    assert job.state == "accepted"
    hide.refresh_from_db()
    assert hide.reserved_for == other
    said = f"{hide.code} is reserved for {other.code}"
    assert said in page_of(owner_client, job)
    assert said in owner_client.get(reverse("job", args=[job.pk])).content.decode()


def test_the_owner_notes_the_deposit_and_can_take_that_back(foot_version, owner, owner_client):
    make_supply("box", on_hand="1")
    job = waits_for_deposit(make_job(foot_version, owner), owner)
    assert in_days(7).isoformat() in page_of(owner_client, job)
    said_after(owner_client, "job-deposit", job, paid="1")
    assert Reservation.objects.get().deposit_paid_on == timezone.localdate()
    said_after(owner_client, "job-deposit", job, paid="0")
    assert reservations_lapse(in_days(8)) == [job]
    assert "lapsed, the deposit is late" in page_of(owner_client, job)
    open_job = make_job(foot_version, owner).commission
    (refused,) = said_after(owner_client, "job-deposit", open_job, paid="1")
    assert "no deposit is waited for" in refused


def test_the_days_for_a_deposit_are_the_owners_setting(owner_client):
    page = owner_client.get(reverse("workshop-settings"))
    data = {
        name: value for name, value in page.context["form"].initial.items() if value is not None
    }
    for typed, kept in (("14", 14), ("", None)):
        answer = owner_client.post(reverse("workshop-settings"), {**data, "deposit_days": typed})
        assert answer.status_code == 302
        assert WorkshopProfile.current().deposit_days == kept
    for typed in ("0", "-1", "366", "soon", "NaN"):
        answer = owner_client.post(reverse("workshop-settings"), {**data, "deposit_days": typed})
        assert answer.context["form"].errors.keys() == {"deposit_days"}


def test_a_helper_sees_what_is_reserved_and_may_reserve_but_not_let_go(
    foot_version, owner, client, helper
):
    box = make_supply("box", on_hand="1", pack_price=Decimal("918.27"))
    job = accept(make_job(foot_version, owner), owner)
    client.force_login(helper)
    assert "918" not in page_of(client, job)
    assert client.post(reverse("job-release", args=[job.pk])).status_code == 403
    assert client.post(reverse("job-deposit", args=[job.pk]), {"paid": "1"}).status_code == 403
    supplies_release(job, by=owner)
    assert client.post(reverse("job-reserve", args=[job.pk])).status_code == 302
    assert balance(box) == (1000, 1000, 0)
