"""Counting back: a job's estimate against what it took, and what timings propose for the rates."""

from decimal import Decimal
from fractions import Fraction

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from costing.money import to_minor_unit
from tests.workshop.fixtures_stock import make_rate_card, make_supply
from tests.workshop.fixtures_work import accept, finish, planned_of, write_minutes
from workshop.models import Cutting, RateCard, StockMove, TimingTaken, WorkshopProfile
from workshop.selectors.counting_back import job_counted
from workshop.selectors.learning import proposals
from workshop.selectors.ledger import ledger_of
from workshop.services.learning import timings_accept
from workshop.services.stock import stock_buy, stock_use_for

pytestmark = pytest.mark.django_db


@pytest.fixture
def accepted(quote, owner):
    return accept(quote, owner)


def line_of(job, name):
    return next(line for line in job.counted.lines if line.name == name)


def test_what_nobody_wrote_down_stays_as_quoted(accepted, quote):
    job = job_counted(accepted)
    assert job.counted.profit == Decimal(quote.snapshot["breakdown"]["profit"])
    assert job.counted.price == quote.price
    assert not job.counted.is_complete


def test_minutes_and_material_really_used_change_the_profit_by_their_cost(
    accepted, quote, owner, supplies
):
    planned = planned_of(quote)
    name = "Lasting"
    write_minutes(accepted, name, "100.5", owner)
    stock_use_for(supplies["thread"], commission=accepted, quantity=Decimal(40), by=owner)
    job = job_counted(accepted)
    line, thread = line_of(job, name), line_of(job, supplies["thread"].name)
    # 100.5 minutes at 18.00 an hour; 40 m of thread at 9.80 for 100 m, straight from the fixtures.
    assert (line.taken, line.taken_min) == (Decimal("30.15"), Decimal("100.50"))
    assert (thread.taken, thread.is_counted) == (Decimal("3.92"), True)
    hours = (Fraction("100.5") + sum(m for step, m in planned.items() if step != name)) / 60
    overhead = to_minor_unit(hours * 4, "EUR")
    changed = line.difference + thread.difference
    changed += overhead - next(
        row.estimated for row in job.counted.lines if row.group == "overhead"
    )
    assert job.counted.profit == Decimal(quote.snapshot["breakdown"]["profit"]) - changed


def test_a_thread_used_in_place_of_the_planned_one_stands_on_its_line(accepted, owner, supplies):
    other = make_supply("thread", on_hand="50", name="Linen thread, red", pack_price="20")
    stock_use_for(other, commission=accepted, quantity=Decimal(10), by=owner)
    job = job_counted(accepted)
    assert line_of(job, supplies["thread"].name).taken == 2
    stock_use_for(supplies["other"], commission=accepted, quantity=Decimal(3), by=owner)
    assert line_of(job_counted(accepted), "Tissue paper").estimated == 0


def test_used_supplies_cost_by_the_owners_way(accepted, owner):
    thread = make_supply("thread", on_hand="10", name="Two prices")  # 0.098 each
    stock_buy(thread, quantity=Decimal(10), paid=Decimal("3.00"), reason="dearer", by=owner)
    move = stock_use_for(thread, commission=accepted, quantity=Decimal(12), by=owner)
    costs = {}
    for way in ("fifo", "average"):
        WorkshopProfile.objects.update(stock_cost=way)
        ledger = ledger_of(supplies=[thread.pk], jobs=[accepted.pk], worth_on=timezone.localdate())
        costs[way] = ledger.costs[move.pk]
        assert ledger.costs[move.pk] + ledger.worth[thread.pk][1] == Fraction("3.98")
    # First in first out: 10 at 0.098 and 2 at 0.30; on the average 12 of 20 that cost 3.98.
    assert costs == {"fifo": Fraction("1.58"), "average": Fraction("3.98") * 12 / 20}


def test_what_goes_back_takes_the_jobs_own_cost_with_it(accepted, owner):
    thread = make_supply("thread", on_hand="10", name="Two prices")
    stock_buy(thread, quantity=Decimal(10), paid=Decimal("3.00"), reason="dearer", by=owner)
    stock_use_for(thread, commission=accepted, quantity=Decimal(12), by=owner)
    back = stock_use_for(thread, commission=accepted, quantity=Decimal(-12), by=owner)
    ledger = ledger_of(supplies=[thread.pk], jobs=[accepted.pk], worth_on=timezone.localdate())
    assert ledger.costs[back.pk] == -Fraction("1.58")
    assert sum(ledger.costs.values()) == 0
    assert ledger.worth[thread.pk][1] == Fraction("3.98")


def test_leather_counts_whole_until_it_is_decided_what_is_kept(accepted, owner, hide):
    cutting = Cutting.objects.create(
        hide=hide,
        commission=accepted,
        instance={},
        layout={},
        pieces_area_mm2=1,
        least_width_mm=1,
        least_area_mm2=1,
    )
    job = job_counted(accepted)
    upper = next(line for line in job.counted.lines if line.group == "material")
    assert (upper.taken, upper.is_counted) == (to_minor_unit(hide.cost, "EUR"), True)
    assert job.open_hides == (hide.code,)
    Cutting.objects.filter(pk=cutting.pk).update(used_cost=Decimal("7.31"))
    job = job_counted(accepted)
    assert line_of(job, upper.name).taken == Decimal("7.31")
    assert job.open_hides == ()


def test_the_page_shows_both_sides_and_only_to_those_who_see_money(
    client, accepted, owner, helper, bookkeeper
):
    address = reverse("counted-back", args=[accepted.pk])
    write_minutes(accepted, "Lasting", "100.5", owner)
    write_minutes(accepted, "Glue drying", "75", owner, passive=True)
    client.force_login(bookkeeper)
    page = client.get(address).content.decode()
    assert "30.15" in page
    assert "1\u00a0h\u00a015\u00a0min, planned" in page
    client.force_login(helper)
    assert client.get(address).status_code == 403


def test_a_job_without_an_accepted_quote_says_so(owner_client, commission):
    page = owner_client.get(reverse("counted-back", args=[commission.pk]))
    assert "no accepted quote yet" in page.content.decode()


# --- what timings propose ------------------------------------------------------------------


@pytest.fixture
def timed(accepted, quote, owner):
    """A finished job whose lasting took half as long again as planned, its cutting as planned."""
    planned = planned_of(quote)
    half_more = round(planned["Lasting"] * 3 / 2, 6)
    write_minutes(accepted, "Lasting", f"{float(half_more):.2f}", owner)
    write_minutes(accepted, "Cutting", f"{float(planned['Cutting']):.2f}", owner)
    finish(accepted, owner)
    accepted.refresh_from_db()
    return accepted


def found_for(name):
    card = RateCard.objects.order_by("-version").first()
    return next((row for row in proposals(card) if row.row.name == name), None)


def test_a_timing_moves_the_minutes_by_a_third_of_its_difference_and_only_as_a_proposal(
    timed, rate_card
):
    found = found_for("Lasting")
    # The card says 4 minutes for 100 mm; the timing says 6: an estimate counts as two timings.
    assert found.learned.timings == 1
    assert found.timings[0].minutes == pytest.approx(Decimal(6), abs=Decimal("0.01"))
    assert found.proposed_min == pytest.approx(Decimal("4.667"), abs=Decimal("0.004"))
    assert found_for("Cutting").change == pytest.approx(Decimal(0), abs=Decimal("0.001"))
    assert found_for("Stitching") is None
    assert RateCard.objects.count() == 1


def test_accepting_a_step_makes_a_new_card_and_leaves_the_others(owner_client, timed, rate_card):
    found, left = found_for("Lasting"), found_for("Cutting")
    page = owner_client.get(reverse("rates-learned"))
    assert "Accept" in page.content.decode()
    answer = owner_client.post(
        reverse("rates-learned"), {"card": rate_card.pk, "step": [found.row.pk]}
    )
    card = RateCard.objects.order_by("-version").first()
    assert answer.headers["Location"] == reverse("rate", args=[card.pk])
    assert card.version == rate_card.version + 1
    assert "Lasting" in card.reason
    new = card.steps.get(name="Lasting")
    assert (new.minutes, new.timings_in) == (found.proposed_min, 1)
    assert card.steps.get(name="Cutting").minutes == left.row.minutes
    assert card.labour_rate_per_hour == rate_card.labour_rate_per_hour
    assert card.steps.count() == rate_card.steps.count()
    assert TimingTaken.objects.get().step == "Lasting"
    assert found_for("Lasting") is None
    assert found_for("Cutting") is not None


def test_the_next_timing_moves_accepted_minutes_by_less(timed, rate_card, owner):
    timings_accept(rate_card, [found_for("Lasting").row.pk], by=owner)
    TimingTaken.objects.all()._raw_delete("default")  # as if another job had timed it alike
    found = found_for("Lasting")
    assert found.learned.next_weight == Fraction(1, 5)
    step = found.learned.proposed_min - Fraction(found.row.minutes)
    assert step == (Fraction(found.timings[0].minutes) - Fraction(found.row.minutes)) / 4


def test_minutes_typed_by_hand_begin_without_timings(timed, rate_card, owner):
    card = timings_accept(rate_card, [found_for("Lasting").row.pk], by=owner)
    assert card.steps.get(name="Lasting").timings_in == 1
    typed = make_rate_card(reason="all typed anew")
    assert typed.steps.get(name="Lasting").timings_in == 0


@pytest.mark.parametrize("steps", [[], ["987654"], ["x"]])
def test_accepting_nothing_changes_nothing(owner_client, timed, rate_card, steps):
    page = owner_client.post(reverse("rates-learned"), {"card": rate_card.pk, "step": steps})
    assert "Tick the steps" in page.content.decode()
    assert RateCard.objects.count() == 1


def test_proposals_of_a_card_out_of_use_are_refused(owner_client, timed, rate_card, owner):
    row = found_for("Lasting").row.pk
    make_rate_card(reason="meanwhile")
    page = owner_client.post(reverse("rates-learned"), {"card": rate_card.pk, "step": [row]})
    assert "came into use meanwhile" in page.content.decode()
    assert RateCard.objects.count() == 2
    with pytest.raises(ValidationError, match="meanwhile"):
        timings_accept(rate_card, [row], by=owner)


def test_a_job_that_is_not_finished_proposes_nothing(accepted, rate_card, owner):
    write_minutes(accepted, "Lasting", "60", owner)
    assert proposals(rate_card) == []
    assert proposals(None) == []


def test_only_the_owner_sees_what_timings_propose(client, helper, bookkeeper, rate_card):
    for login in (helper, bookkeeper):
        client.force_login(login)
        assert client.get(reverse("rates-learned")).status_code == 403


def test_moves_keep_what_was_paid_and_else_take_the_packs_price(db):
    thread = make_supply("thread", on_hand="10")
    stock_buy(thread, quantity=Decimal(10), paid=Decimal("3.00"), reason="dearer", by=None)
    costs = StockMove.objects.order_by("id").values_list("cost", flat=True)
    assert list(costs) == [Decimal("0.98"), Decimal("3.00")]
