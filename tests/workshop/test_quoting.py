"""From a choice to a quote: what moves which line, and what is frozen."""

import datetime
from dataclasses import replace
from decimal import Decimal
from importlib import import_module

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError

from tests.workshop.fixtures_quotes import lay_out_now, with_options
from tests.workshop.fixtures_stock import make_hide, make_rate_card
from workshop.models import AuditEntry, Commission, Hide, Quote, RateCard
from workshop.services.quote_snapshot import drawings_of, snapshot_of
from workshop.services.quoting import quote_make, work_out
from workshop.services.records import record_save

pytestmark = pytest.mark.django_db


def material_lines(worked):
    return {line.key: (line.quantity, line.unit_cost, line.waste_share) for line in worked.bill}


def moved(before, after):
    """Return the keys of the bill's lines that differ."""
    old, new = material_lines(before), material_lines(after)
    return {key for key in old.keys() | new.keys() if old.get(key) != new.get(key)}


def test_every_stage_follows_from_the_choice(choice):
    worked = work_out(choice)
    assert worked.faults == {}
    assert {line.key for line in worked.bill} >= {"upper", "thread", "lace", "eyelets", "glue"}
    shown = sum(line.amount for line in worked.breakdown.lines)
    assert shown == worked.breakdown.cost
    parts = worked.breakdown
    assert parts.cost + parts.fees + parts.profit + parts.tax == parts.price


def test_another_hide_moves_the_leather_line_alone(choice, hide):
    dearer = make_hide(hide.lot, cost=hide.cost * 2)
    assert moved(work_out(choice), work_out(replace(choice, hide=dearer))) == {"upper"}


def test_a_higher_boot_moves_leather_lining_thread_lace_and_eyelets(choice):
    low, high = with_options(choice, boot_height_mm=50), with_options(choice, boot_height_mm=62)
    assert moved(work_out(low), work_out(high)) == {"upper", "lining", "thread", "lace", "eyelets"}


def test_fewer_eyelets_move_eyelets_and_lace_alone(choice):
    five, four = with_options(choice, eyelet_count=5), with_options(choice, eyelet_count=4)
    assert moved(work_out(five), work_out(four)) == {"eyelets", "lace"}


def test_no_lining_takes_the_lining_line_away(choice):
    without = with_options(choice, lining="false", sock_lining="false", facing_tape_mm=0)
    lines = {line.key for line in work_out(without).bill}
    assert "lining" not in lines
    assert "upper" in lines


def test_a_heel_moves_the_clay_alone(choice):
    flat, heeled = with_options(choice, heel_height_mm=0), with_options(choice, heel_height_mm=12)
    assert moved(work_out(flat), work_out(heeled)) == {"clay"}


def test_the_leather_line_says_estimated_until_the_layout_ends(choice, owner):
    before = work_out(choice)
    assert before.waste is None
    assert next(line for line in before.bill if line.key == "upper").estimated
    work = lay_out_now(choice, owner)
    assert work.state == "done"
    after = work_out(choice)
    leather = next(line for line in after.bill if line.key == "upper")
    assert not leather.estimated
    assert leather.waste_share == Decimal(repr(after.waste["waste_share"])).quantize(
        Decimal("0.0001")
    )
    assert after.waste["pairs"] == 1
    assert after.waste["pairs_that_fit"] >= 2


def test_a_layout_serves_only_the_choice_it_was_made_for(choice, owner):
    lay_out_now(choice, owner)
    assert work_out(replace(choice, pair_count=2)).waste is None
    assert work_out(with_options(choice, boot_height_mm=50)).waste is None
    assert work_out(choice).waste is not None


def test_trying_out_stores_no_record(choice):
    counts = [model.objects.count() for model in (Quote, AuditEntry, Commission)]
    work_out(choice)
    assert counts == [model.objects.count() for model in (Quote, AuditEntry, Commission)]


def test_a_quote_keeps_its_figures_when_everything_dear_gets_dearer(choice, quote):
    before = dict(quote.snapshot)
    hide = Hide.objects.get(pk=choice.hide.pk)
    hide.cost *= 3
    record_save(hide, by=None)
    make_rate_card(labour_rate_per_hour=Decimal(60), reason="dearer hours")
    assert work_out(choice).breakdown.price > quote.price
    kept = Quote.objects.get(pk=quote.pk)
    assert kept.snapshot == before
    assert kept.price == quote.price


def test_a_quote_refuses_another_price(quote):
    stored = Quote.objects.get(pk=quote.pk)
    stored.price += 1
    with pytest.raises(ValueError, match="promised"):
        stored.save()


def test_a_snapshot_holds_no_personal_data(choice, quote):
    text = str(quote.snapshot) + str(quote.drawings)
    customer = choice.commission.customer
    for secret in (customer.name, customer.email, customer.address, choice.foot.doll.name):
        assert secret not in text


def test_a_snapshot_holds_what_the_price_came_from(choice):
    worked = work_out(choice)
    snapshot = snapshot_of(worked)
    assert snapshot["breakdown"]["price"] == str(worked.breakdown.price)
    assert len(snapshot["bill"]) == len(worked.bill)
    assert snapshot["style"]["values"]["eyelet_pitch_mm"] == 8
    assert drawings_of(worked)["pieces"]["pieces"]


def test_the_trail_does_not_hold_the_drawings_of_a_quote_once_more(quote):
    made = AuditEntry.objects.get(record_kind="quote", action="quoted")
    assert made.after["price"] == str(quote.price)
    assert not {"snapshot", "drawings"} & set(made.after)


def test_quotes_of_before_part_their_drawings_from_their_figures_and_can_join_them(quote):
    migration = import_module("workshop.migrations.0110_quotes_drawn_apart")
    whole = {k: v for k, v in quote.snapshot.items() if k != "spacing_mm"} | quote.drawings
    Quote.objects.filter(pk=quote.pk).update(snapshot=whole, drawings={})
    migration.part(apps, None)
    parted = Quote.objects.get(pk=quote.pk)
    assert (parted.snapshot, parted.drawings) == (quote.snapshot, quote.drawings)
    migration.join(apps, None)
    assert Quote.objects.get(pk=quote.pk).snapshot == whole


def test_quotes_of_a_job_are_numbered_and_move_it_on(choice, quote, owner):
    second = quote_make(work_out(replace(choice, pair_count=2)), by=owner)
    assert (quote.version, second.version) == (1, 2)
    assert second.code == f"Q-{choice.commission.number:04d}-2"
    assert Commission.objects.get(pk=choice.commission.pk).state == "quoted"


def test_a_button_pressed_twice_makes_one_quote_and_a_quote_that_is_over_is_made_anew(
    choice, quote, owner
):
    assert quote_make(work_out(choice), by=owner) == quote
    assert quote_make(work_out(with_options(choice, seam_mm="3.5")), by=owner) != quote
    newest = quote_make(work_out(choice), by=owner)  # as the first was, but not the newest
    assert newest.version == 3
    Quote.objects.filter(pk=newest.pk).update(valid_until=datetime.date(2020, 1, 1))
    assert quote_make(work_out(choice), by=owner).version == 4


def test_a_closed_job_takes_no_new_quote(choice, owner):
    Commission.objects.filter(pk=choice.commission.pk).update(state="accepted")
    with pytest.raises(ValidationError, match="open job"):
        quote_make(work_out(choice), by=owner)
    assert not Quote.objects.exists()


def test_without_a_rate_card_the_reason_is_said(choice):
    from workshop.models import WorkStepRow

    WorkStepRow.objects.all()._raw_delete("default")
    RateCard.objects.all()._raw_delete("default")
    worked = work_out(choice)
    assert "rate card" in worked.faults["price"]
    with pytest.raises(ValidationError, match="rate card"):
        quote_make(worked, by=None)


def test_a_foot_longer_than_the_hide_is_said_by_the_layout(choice, owner, hide):
    scrap = make_hide(hide.lot, outline=((0, 0), (50, 0), (50, 40), (0, 40)), defects=())
    work = lay_out_now(replace(choice, hide=scrap), owner)
    assert work.state == "failed"
    assert "clear of defects" in work.fault
    assert scrap.code in work.fault


def test_hand_stitching_moves_the_thread_alone(choice):
    machine, hand = with_options(choice), with_options(choice, hand_stitched="true")
    assert moved(work_out(machine), work_out(hand)) == {"thread"}


def test_a_chainstitch_takes_more_thread_and_nothing_else(choice):
    lock = work_out(with_options(choice))
    chain = work_out(with_options(choice, chain_stitched="true"))
    assert moved(lock, chain) == {"thread"}
    thread_m = [line.quantity for w in (lock, chain) for line in w.bill if line.key == "thread"]
    assert thread_m[1] > thread_m[0]


def test_a_leather_sole_takes_sole_leather_instead_of_clay(choice):
    clay, leather = with_options(choice), with_options(choice, leather_sole="true")
    assert moved(work_out(clay), work_out(leather)) == {"clay", "sole"}
