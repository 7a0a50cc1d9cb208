"""Jobs without a customer: lines, several hides, one cut list, the cost of each pair, the shelf."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from unittest import mock

import pytest
from django.core.exceptions import ValidationError
from django.urls import NoReverseMatch, reverse

from costing.job_file import job_from_document
from costing.money import round_half_up
from patterns.exchange.layout_file import layout_from_document, request_from_document
from patterns.layout import check_layout, layout_waste
from tests.workshop.fixtures_stock import make_hide, make_lot
from tests.workshop.fixtures_work import write_minutes
from tests.workshop.test_stock_processes import in_processes
from workshop.doors import DOORS
from workshop.models import (
    AuditEntry,
    Commission,
    CutLine,
    CutList,
    Cutting,
    Doll,
    FinishedPair,
    Hide,
    RateCard,
    StockLine,
    StockRun,
)
from workshop.month_files import jobs_table
from workshop.selectors import stock_runs as selected
from workshop.selectors.learning import proposals
from workshop.selectors.months import month_named, month_report, stock_on
from workshop.selectors.stock_runs import hides_offered, run_lines, run_work_out
from workshop.selectors.work_log import minutes_planned
from workshop.services import stock_runs
from workshop.services.cut_lists import line_scrap, line_take_back, line_tick
from workshop.services.library import foot_measure
from workshop.services.records import record_save
from workshop.services.stock import stock_use_for
from workshop.services.stock_runs import (
    hides_choose,
    line_change,
    run_begin,
    run_finish,
    run_take_in,
    run_withdraw,
    stock_layout_start,
)
from workshop.stock_plans import plan_of
from workshop.work import run as work_run

pytestmark = pytest.mark.django_db

LENGTHS = (60, 66, 72)


@pytest.fixture(autouse=True)
def short_search(monkeypatch):
    """A short search finds room as well; how much leather it saves is not asked here."""
    monkeypatch.setattr(stock_runs, "SECONDS_TO_LAY_OUT", 1)


@pytest.fixture
def sizes(owner):
    made = []
    for length in LENGTHS:
        doll = Doll(name=f"House {length}", material="other")
        record_save(doll, by=owner)
        measures = {"foot_length": Decimal(length), "ball_girth": Decimal(length) - Decimal("0.8")}
        made.append(
            foot_measure(doll=doll, foot_side="left", measures=measures, reason="x", by=owner)
        )
    return made


@pytest.fixture
def hides(leather_lot):
    """Two remnants of different cost, and a small hide; six pairs need all three."""
    whole = make_hide(leather_lot, outline=((0, 0), (300, 0), (300, 300), (0, 300)), defects=())
    small = ((0, 0), (280, 0), (280, 230), (0, 230))
    remnants = [
        make_hide(leather_lot, outline=small, defects=(), remnant_of=whole, cost=Decimal(cost))
        for cost in ("4.10", "6.30")
    ]
    return [*remnants, whole]


@pytest.fixture
def large(leather_lot):
    return make_hide(leather_lot)


@pytest.fixture
def run(sizes, style_version, leather_lot, supplies, rate_card, owner):
    return run_take_in(
        note="Spring stall",
        form_key=None,
        style=style_version,
        lot=leather_lot,
        pairs=dict.fromkeys(sizes, 2),
        by=owner,
    )


def laid(run, hides, by):
    """Choose hides, have the layout searched for, and return all that follows."""
    hides_choose(run, hides, spacing_mm=Decimal("1.5"), by=by)
    work = stock_layout_start(run_work_out(run, with_money=False), by=by)
    work_run(work.pk)
    work.refresh_from_db()
    assert work.state == "done", work.fault
    return run_work_out(run)


def test_six_pairs_in_three_sizes_from_two_remnants_and_a_hide(
    owner_client, owner, run, hides, monkeypatch
):
    monkeypatch.setattr(stock_runs, "SECONDS_TO_LAY_OUT", 4)
    worked = laid(run, hides, owner)
    assert worked.faults == []
    assert [row.whole for row in worked.lines] == [2, 2, 2]
    plan = plan_of(worked)
    # The one layout stands up to the exact check, and every hide's waste is measured on it alone.
    (part,) = plan["parts"]
    request = request_from_document(part["instance"])
    layout = layout_from_document(part["layout"])
    check_layout(request, layout.placements)
    assert {row["code"] for row in plan["hides"]} == {hide.code for hide in hides}
    _check_costs(plan, request, layout, {hide.code: hide for hide in hides})

    page = owner_client.get(f"/jobs/{run.pk}/for-stock/").content.decode()
    assert "What each pair costs" in page
    assert all(f"<b>{pair['cost']}</b>" in page for pair in plan["lines"][0]["pairs"])

    # Begun: the hides it lies on are kept, the supplies reserved, one cut list over all of them.
    assert owner_client.post(f"/jobs/{run.pk}/for-stock/begin/").status_code == 302
    run.refresh_from_db()
    job = Commission.objects.get(pk=run.pk)
    assert (job.state, run.plan["lines"]) == ("in work", plan["lines"])
    used = {row["code"] for row in plan["hides"]}
    assert {hide.code for hide in job.hides_reserved.all()} == used
    assert job.reservation.deposit_due_on is None
    cut_list = CutList.objects.get(commission=job)
    assert cut_list.pair_count == 6
    upper = cut_list.lines.filter(material="upper")
    assert {line.hide.code for line in upper} == used
    assert all(line.placement for line in upper)
    assert owner_client.get(f"/jobs/{run.pk}/cut-list/").status_code == 200
    assert owner_client.get(f"/cut-lists/{cut_list.pk}/sheet/").status_code == 200

    _check_cutting(owner_client, owner, cut_list, hides[0])
    # Timed like any job: planned minutes of all lines, and what a timing proposes.
    step = RateCard.objects.get().steps.filter(per="pair", passive=False)[0].name
    write_minutes(job, step, "300", owner)
    work_page = owner_client.get(f"/jobs/{run.pk}/work/").content.decode()
    assert "5\xa0h\xa000\xa0min of" in work_page
    sent = {f"made-{n}": "2" for n in (1, 2, 3)}
    assert owner_client.post(f"/jobs/{run.pk}/for-stock/finish/", sent).status_code == 302
    pairs = list(FinishedPair.objects.filter(commission=job).order_by("number"))
    costs = [Decimal(pair["cost"]) for line in plan["lines"] for pair in line["pairs"]]
    assert [pair.cost for pair in pairs] == costs
    assert {pair.style for pair in pairs} == {"Ankle boot"}
    assert pairs[0].asked == Decimal(plan["lines"][0]["price"])
    job.refresh_from_db()
    assert (job.state, job.reservation.state) == ("finished", "used")
    assert any(
        timing.commission == job
        for proposal in proposals(RateCard.objects.get())
        for timing in proposal.timings
    )
    # The month has its hours and pairs, and the stock its pairs at their cost; nothing is earned.
    month = month_report(month_named(""))
    (row,) = month.styles
    assert (row.jobs, row.pairs, row.sold, row.income, row.profit) == (1, 6, 0, 0, 0)
    assert row.active_min > 300
    assert stock_on(pairs[0].made_on).pairs_value == sum(costs)


def _check_cutting(client, owner, cut_list, hide):
    """Scrap a piece, find it a place again, cut all of one hide, and see what is left of it."""
    lines = list(cut_list.lines.filter(hide=hide))
    again = line_scrap(lines[0], reason="flaw", hide=hide, by=owner)
    place = f"/cut-lists/{cut_list.pk}/place/{hide.pk}/"
    assert client.get(place).status_code == 200
    assert again.piece == lines[0].piece
    line_take_back(CutLine.objects.get(pk=lines[0].pk), by=owner)
    for line in lines:
        line_tick(CutLine.objects.get(pk=line.pk), by=owner)
    end = f"/cut-lists/{cut_list.pk}/end/{hide.pk}/"
    assert client.get(end).status_code == 200
    assert client.post(end, {"least_width_mm": "40", "least_area_cm2": "20"}).status_code == 302
    cutting = Cutting.objects.get(hide=hide)
    assert cutting.commission == cut_list.commission
    assert float(cutting.pieces_area_mm2) == pytest.approx(
        sum(float(line.area_mm2) for line in lines), abs=2
    )


def _check_costs(plan, request, layout, hides):
    """Recompute the leather of every hide in fractions, and add every shown line up."""
    cent = Fraction(1, 100)
    pieces = {piece.id: piece for piece in request.pieces}
    for line in plan["lines"]:
        pairs = line["pairs"]
        assert sum(Decimal(pair["cost"]) for pair in pairs) == Decimal(line["cost"])
        for pair in pairs:
            assert sum(Decimal(row[2]) for row in pair["lines"]) == Decimal(pair["cost"])
        # Each shown line of the pairs adds up to that of the line's order.
        bill = [one for one in line["bill"] if one["key"] == "upper"]
        for one in bill:
            taken = Fraction(one["quantity"]) / (1 - Fraction(one["waste_share"]))
            whole = taken * Fraction(one["unit_cost"]) * line["pair_count"]
            shares = sum(
                Decimal(row[2]) for pair in pairs for row in pair["lines"] if row[1] == one["name"]
            )
            assert abs(Fraction(shares) - whole) <= cent / 2
    for row in plan["hides"]:
        hide = hides[row["code"]]
        here = [p for p in layout.placements if p.container == row["code"]]
        alone = replace(request, hides=tuple(h for h in request.hides if h.id == row["code"]))
        waste = layout_waste(alone, replace(layout, placements=tuple(here)))
        assert row["waste_share"] == pytest.approx(waste.waste_share)
        # What it costs the pairs is its price for the leather cut off, to a cent a line.
        exact = Fraction(hide.cost) * Fraction(waste.occupied_area_mm2) / Fraction(hide.area_mm2)
        assert abs(Fraction(row["cost"]) - exact) < 3 * cent
    assert {piece.set_name for piece in pieces.values()} == {"1", "2", "3"}


def test_of_two_jobs_that_want_one_hide_one_has_it(
    owner_client, owner, run, large, sizes, style_version
):
    other = run_take_in(
        note="", form_key=None, style=style_version, lot=large.lot, pairs={sizes[0]: 1}, by=owner
    )
    whole = large
    first, second = laid(run, [whole], owner), laid(other, [whole], owner)
    run_begin(first, by=owner)
    trail = AuditEntry.objects.count()
    with pytest.raises(
        ValidationError, match=f"{whole.code} is reserved for {run.commission.code}"
    ):
        run_begin(second, by=owner)
    assert AuditEntry.objects.count() == trail
    page = owner_client.get(f"/jobs/{other.pk}/for-stock/").content.decode()
    assert f"{whole.code} is reserved for {run.commission.code}" in page
    assert "Begin the work" not in page
    other.refresh_from_db()
    assert (other.plan, other.commission.cut_lists.count()) == (None, 0)
    with pytest.raises(ValidationError, match="in work"):
        run_begin(first, by=owner)
    # Ended without pairs, all of it is free again.
    run_withdraw(run, by=owner)
    whole.refresh_from_db()
    assert whole.state == Hide.State.ON_SHELF
    run_begin(run_work_out(other), by=owner)
    whole.refresh_from_db()
    assert whole.reserved_for_id == other.pk


def test_spoilt_pairs_are_borne_by_those_that_came_out(owner, run, large):
    run_begin(laid(run, [large], owner), by=owner)
    run.refresh_from_db()
    with pytest.raises(ValidationError, match="from 0 to 2"):
        run_finish(run, {1: 3, 2: 2, 3: 2}, by=owner)
    with pytest.raises(ValidationError, match="Not one pair"):
        run_finish(run, {}, by=owner)
    assert FinishedPair.objects.count() == 0
    made, _short = run_finish(run, {1: 1, 2: 2}, by=owner)
    assert len(made) == 3
    assert made[0].cost == Decimal(run.plan["lines"][0]["cost"])
    with pytest.raises(ValidationError, match="only pairs of a job in work"):
        run_finish(run, {1: 1}, by=owner)
    assert FinishedPair.objects.count() == 3


def test_bad_input_is_named_and_changes_nothing(
    owner_client, owner, run, hides, sizes, style_version, leather_lot
):
    new = {"style": style_version.pk, "leather": leather_lot.pk, f"size-{sizes[0].pk}": "1"}
    wrong = {
        "There is no such house size": {**new, "size-999999": "2"},
        "Write 1 pair or more": {**new, f"size-{sizes[0].pk}": "0"},
        "Write 20 pairs at most": {**new, f"size-{sizes[0].pk}": "21"},
        "how many pairs of one size": {**new, f"size-{sizes[0].pk}": ""},
        "Enter a whole number": {**new, f"size-{sizes[0].pk}": "1e30"},
        "There is no such style": {**new, "style": "77777"},
        "There is no such leather": {**new, "leather": "77777"},
    }
    for said, sent in wrong.items():
        for address in ("/jobs/for-stock/new/", f"/jobs/{run.pk}/for-stock/lines/"):
            page = owner_client.post(address, sent)
            assert (page.status_code, said in page.content.decode()) == (200, True), said
    assert (StockRun.objects.count(), StockLine.objects.count()) == (1, 3)
    line = run.lines.get(position=1)
    page = owner_client.post(f"/jobs/for-stock/lines/{line.pk}/", {"pairs": "0"}, follow=True)
    assert "Write 1 pair or more, or take the line out" in page.content.decode()
    line.refresh_from_db()
    assert line.pair_count == 2
    # Nothing is laid out without a hide, nor begun without a layout.
    page = owner_client.post(f"/jobs/{run.pk}/for-stock/layout/", follow=True).content.decode()
    assert "No hide of Calf, chestnut is chosen" in page
    page = owner_client.post(f"/jobs/{run.pk}/for-stock/begin/", follow=True).content.decode()
    assert "No hide of Calf, chestnut is chosen" in page
    sent = {"hides": [hides[0].pk, 999999], "spacing_mm": "1.5"}
    page = owner_client.post(f"/jobs/{run.pk}/for-stock/hides/", sent).content.decode()
    assert "taken meanwhile" in page
    assert run.hides.count() == 0
    assert Commission.objects.get(pk=run.pk).state == "measured"


def test_what_finds_no_room_is_said_and_not_begun(owner_client, owner, run, leather_lot):
    strip = make_hide(leather_lot, outline=((0, 0), (150, 0), (150, 130), (0, 130)), defects=())
    worked = laid(run, [strip], owner)
    assert not worked.is_laid
    page = owner_client.get(f"/jobs/{run.pk}/for-stock/").content.decode()
    assert "pairs found room. Choose another hide" in page
    with pytest.raises(ValidationError, match="every pair has room"):
        run_begin(worked, by=owner)
    # A piece larger than the only hide: the work itself says so.
    sliver = make_hide(leather_lot, outline=((0, 0), (30, 0), (30, 25), (0, 25)), defects=())
    hides_choose(run, [sliver], spacing_mm=Decimal("1.5"), by=owner)
    work = stock_layout_start(run_work_out(run, with_money=False), by=owner)
    work_run(work.pk)
    work.refresh_from_db()
    assert work.state == "failed"
    assert work.fault
    assert work.fault[:40] in owner_client.get(f"/jobs/{run.pk}/for-stock/").content.decode()


def test_two_leathers_are_laid_out_apart_and_cut_by_one_list(
    owner, run, large, sizes, style_version, supplies
):
    goat = make_lot(name="Goat", colour="sand", price=Decimal("0.90"))
    sand = make_hide(goat)
    stock_runs.lines_add(run, style=style_version, lot=goat, pairs={sizes[1]: 1}, by=owner)
    run.lines.filter(position=3).delete()
    worked = laid(run, [large, sand], owner)
    plan = plan_of(worked)
    assert [part["leather"] for part in plan["parts"]] == ["Calf, chestnut", "Goat, sand"]
    by_line = {line["position"]: line for line in plan["lines"]}
    assert all(set(pair["hides"]) == {sand.code} for pair in by_line[4]["pairs"])
    run_begin(worked, by=owner)
    lines = CutList.objects.get(commission=run.pk).lines.filter(material="upper")
    assert all((line.hide == sand) == line.piece.startswith("D ") for line in lines)


def addresses_of(job):
    """Return every address of a job, by its name in the table of doors."""
    found = []
    for name in DOORS:
        try:
            found.append((name, reverse(name, args=[job.pk])))
        except NoReverseMatch:
            continue
    return [(name, path) for name, path in found if path.startswith(f"/jobs/{job.pk}/")]


def test_every_address_of_a_job_answers_for_one_without_a_customer(
    client, owner_client, helper, run
):
    job = run.commission
    assert owner_client.get(f"/jobs/{job.pk}/").headers["Location"] == f"/jobs/{job.pk}/for-stock/"
    for address in ("work", "reserved", "cut-list", "counted", "change", "for-stock"):
        assert owner_client.get(f"/jobs/{job.pk}/{address}/").status_code == 200, address
    found = owner_client.get("/jobs/", {"q": "spring"}).content.decode()
    assert "for stock: Spring stall" in found
    addresses = addresses_of(job)
    assert len(addresses) > 25
    for name, path in addresses:
        if name == "stock-withdraw":
            continue
        assert owner_client.get(path).status_code < 500, name
        assert owner_client.post(path, {"to": "sent"}).status_code < 500, name
    job.refresh_from_db()
    assert job.state == "measured"
    for page in ("/", "/supplies/to-buy/", "/month/"):
        assert owner_client.get(page).status_code == 200, page
    client.force_login(helper)
    page = client.get(f"/jobs/{job.pk}/for-stock/").content.decode()
    assert "Price of a pair" not in page


@pytest.mark.django_db(transaction=True)
@pytest.mark.every_database
def test_of_two_processes_that_begin_at_once_one_has_the_hide(
    owner, run, large, sizes, style_version
):
    other = run_take_in(
        note="", form_key=None, style=style_version, lot=large.lot, pairs={sizes[0]: 1}, by=owner
    )
    both = [laid(run, [large], owner), laid(other, [large], owner)]

    def begin(worked):
        run_begin(worked, by=owner)
        return "begun"

    words = in_processes(*[lambda worked=worked: begin(worked) for worked in both])
    large.refresh_from_db()
    told = f"{large.code} is reserved for {large.reserved_for.code}."
    assert sorted(words) == sorted(["begun", f"{told} Release it there, or choose another hide."])
    assert CutList.objects.count() == 1
    assert Commission.objects.filter(state="in work").get() == large.reserved_for


def test_minutes_of_a_step_nobody_planned_stay_in_the_month(owner, run, large):
    run_begin(laid(run, [large], owner), by=owner)
    job = Commission.objects.get(pk=run.pk)
    planned = sum(
        minutes
        for (_name, passive), minutes in minutes_planned(
            job_from_document(line["job"]) for line in StockRun.objects.get(pk=run.pk).plan["lines"]
        ).items()
        if not passive
    )
    write_minutes(job, "mending a last", "45", owner)
    run_finish(run, {1: 2, 2: 2, 3: 2}, by=owner)
    (row,) = month_report(month_named("")).styles
    assert row.active_min == round_half_up(planned + 45, 2)


def test_what_a_job_for_stock_took_beyond_its_plan_is_in_its_styles_row(
    owner, run, large, supplies
):
    run_begin(laid(run, [large], owner), by=owner)
    run_finish(run, {1: 2, 2: 2, 3: 2}, by=owner)
    (before,) = month_report(month_named("")).styles
    job, lace = Commission.objects.get(pk=run.pk), supplies["lace"]
    stock_use_for(lace, commission=job, quantity=Decimal(2), by=owner)
    (after,) = month_report(month_named("")).styles
    # 25 m were bought for 11.25: 2 m cost 0.90.
    assert after.material - before.material == Decimal("0.90")
    assert f",{after.material}," in jobs_table(month_named("")).decode()


def test_lines_or_hides_changed_meanwhile_are_looked_at_again(owner, run, large, leather_lot):
    worked = laid(run, [large], owner)
    line = run.lines.first()
    line_change(line, pair_count=1, by=owner)
    with pytest.raises(ValidationError, match="changed meanwhile"):
        run_begin(worked, by=owner)
    line_change(line, pair_count=2, by=owner)
    hides_choose(run, [make_hide(leather_lot)], spacing_mm=Decimal("1.5"), by=owner)
    with pytest.raises(ValidationError, match="changed meanwhile"):
        run_begin(worked, by=owner)
    run.refresh_from_db()
    large.refresh_from_db()
    assert (run.plan, large.state) == (None, Hide.State.ON_SHELF)


def test_a_chosen_hide_stays_ticked_however_many_are_newer(owner, run, large, leather_lot):
    hides_choose(run, [large], spacing_mm=Decimal("1.5"), by=owner)
    for _ in range(3):
        make_hide(leather_lot)
    with mock.patch.object(selected, "HIDES_SHOWN", 2):
        offered = hides_offered(run, run_lines(run))
    assert len(offered) == 2
    assert [row.hide.pk for row in offered if row.is_chosen] == [large.pk]
