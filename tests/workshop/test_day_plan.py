"""The honest date on quotes, the day plan with its order, and what the days are made by."""

import datetime
from io import BytesIO
from unittest import mock
from zoneinfo import ZoneInfo

import pypdf
import pytest
from django.utils import timezone

from costing.job_file import job_from_document
from costing.working_hours import moment_of
from tests.workshop.fixtures_work import accept, finish, write_minutes
from workshop.forms.day_plan import DayEntry
from workshop.models import (
    AuditEntry,
    Commission,
    DayOff,
    DaySettings,
    JobTurn,
    PostDays,
    Quote,
    Repair,
    StepPlace,
    StockRun,
    WorkingDay,
)
from workshop.paper_values import quote_paper_of
from workshop.selectors.day_plan import days_shown, hours_in_use, job_steps, places_said
from workshop.selectors.promises import promise_of
from workshop.services.day_plan import jobs_order
from workshop.services.orders import commission_move, commission_take_in
from workshop.services.quoting import quote_make, work_out
from workshop.services.records import record_save
from workshop.services.repairs import repair_agree, repair_take_in

pytestmark = pytest.mark.django_db
MONDAY = datetime.datetime(2026, 11, 30, 8, tzinfo=ZoneInfo("UTC"))


def days(n):
    return (timezone.localdate() + datetime.timedelta(days=n)).isoformat()


def settings_sent(**changes):
    """Return what the form of the days sends as it comes, with changes."""
    entry, sent = DayEntry(), {}
    rows = [*entry.days_off, *entry.post, *(form for _name, form in (*entry.week, *entry.steps))]
    for form in (entry.form, entry.days_off.management_form, entry.post.management_form, *rows):
        for field in form:
            value = field.value()
            sent[field.html_name] = "" if value is None else value
    return {name: str(value) for name, value in {**sent, **changes}.items()}


def quote_anew(choice, owner):
    """Save a quote of a new job that is otherwise the same as the choice."""
    from dataclasses import replace

    doll = choice.commission.doll
    job = commission_take_in(customer=doll.customer, doll=doll, note="again", by=owner)
    return quote_make(work_out(replace(choice, commission=job)), by=owner)


WRONG = [
    ({"day-0-ends": "08:00"}, "day-0-ends"),
    ({"day-0-ends": ""}, "day-0-ends"),
    ({"day-0-begins_again": "11:00"}, "day-0-begins_again"),
    ({"day-0-ends_again": "12:30"}, "day-0-ends_again"),
    ({"day-0-begins": "25:00"}, "day-0-begins"),
    ({f"day-{n}-{k}": "" for n in range(7) for k in ("begins", "ends", "begins_again",
      "ends_again")}, "day-0-begins"),
    ({"off-0-first_on": "2020-01-01"}, "off-0-first_on"),
    ({"off-0-first_on": "2999-01-01", "off-0-last_on": "2998-01-01"}, "off-0-last_on"),
    ({"off-0-first_on": "2999-01-01", "off-0-last_on": "3999-01-01"}, "off-0-last_on"),
    ({"off-0-last_on": "2999-01-01"}, "off-0-first_on"),
    ({"post-0-country": "Nowhere", "post-0-days": "1000000000"}, "post-0-days"),
    ({"post-0-country": "Nowhere"}, "post-0-days"),
    ({"post-0-country": "Nowhere", "post-0-days": "1", "post-1-country": " nowhere ",
      "post-1-days": "2"}, "post-1-country"),
    ({"oven_places": "0"}, "oven_places"),
    ({"delivery_days": "1e9"}, "delivery_days"),
    ({"step-0-where": "moon"}, "step-0-where"),
]  # fmt: skip


def test_settings_of_the_days_are_kept_whole_or_not_at_all(owner_client, rate_card, helper, client):
    for changes, name in WRONG:
        answer = owner_client.post("/settings/days/", settings_sent(**changes))
        assert answer.status_code == 200, changes
        entry = answer.context["entry"]
        forms = [entry.form, *(form for _what, form in entry.forms_in_rows)]
        wrong = [form[k].html_name for form in forms for k in form.errors if k != "__all__"]
        assert wrong == [name], changes
        assert f'href="#id_{name}"' in answer.content.decode()
    assert owner_client.post("/settings/days/", {}).status_code == 200  # not even its rows
    for kind in (WorkingDay, DayOff, PostDays, StepPlace, DaySettings):
        assert not kind.objects.exists()
    good = {
        "day-5-begins": "09:00", "day-5-ends": "11:30", "off-0-first_on": days(3),
        "off-0-note": "fair", "post-0-country": "*", "post-0-days": "12", "oven_places": "2",
    }  # fmt: skip
    answer = owner_client.post("/settings/days/", settings_sent(**good))
    assert answer.status_code == 302
    hours, is_own = hours_in_use()
    assert is_own
    assert [len(day) for day in hours.week] == [2, 2, 2, 2, 2, 1, 0]
    assert hours.days_off == {timezone.localdate() + datetime.timedelta(days=3)}
    assert PostDays.objects.get().country == ""
    # What stays the same is not written again; a row that is emptied goes.
    before = AuditEntry.objects.count()
    owner_client.post("/settings/days/", settings_sent(**{"off-0-first_on": "", "off-0-last_on": "",
                                                          "off-0-note": ""}))  # fmt: skip
    assert AuditEntry.objects.count() == before + 2  # the one row of figures, the days off
    assert not DayOff.objects.exists()
    client.force_login(helper)
    assert client.get("/settings/days/").status_code == 403


def test_a_quote_keeps_the_honest_date_it_was_saved_with(owner_client, choice, owner, leather_lot):
    now = timezone.now()
    found = promise_of(work_out(choice), now=now)
    here_by = timezone.localdate(now) + datetime.timedelta(days=7)
    assert found.promise.here_by == here_by
    assert found.promise.ready_on > here_by
    assert (found.promise.arrives_on, found.to_buy) == (None, ())
    PostDays.objects.create(country="", days=9)
    DaySettings(pk=1, answer_days=2).save()
    page = owner_client.get(f"/jobs/{choice.commission.pk}/?station=price")
    promise = page.context["promised"].promise
    assert promise.here_by == timezone.localdate() + datetime.timedelta(days=2)
    assert promise.arrives_on == promise.ready_on + datetime.timedelta(days=9)
    assert f"Ready by <b>{promise.ready_on}</b>" in page.content.decode()
    quote = quote_make(work_out(choice), by=owner)
    said = quote_paper_of(quote).promise
    assert said.startswith("Ready by ")
    assert "if measures and your answer are here by" in said
    DaySettings(pk=1, answer_days=60).save()
    quote = Quote.objects.get(pk=quote.pk)
    assert quote_paper_of(quote).promise == said
    shown = owner_client.get(f"/quotes/{quote.pk}/")
    assert said in shown.content.decode()
    assert said in " ".join(shown.context["mail_text"].split())
    pdf = owner_client.get(f"/quotes/{quote.pk}/quote.pdf").content
    text = " ".join(pypdf.PdfReader(BytesIO(pdf)).pages[0].extract_text().split())
    assert said in text
    # A quote of before there were honest dates stays readable.
    snapshot = {k: v for k, v in quote.snapshot.items() if k != "promise"}
    Quote.objects.filter(pk=quote.pk).update(snapshot=snapshot)
    assert "Ready by" not in owner_client.get(f"/quotes/{quote.pk}/").content.decode()


def test_leather_to_buy_and_a_typed_day_move_the_date(owner_client, owner, choice, leather_lot):
    from dataclasses import replace

    from workshop.bridge_sale import SaleChoice

    day = timezone.localdate() + datetime.timedelta(days=3)
    typed = replace(choice, sale=SaleChoice(here_by=day))
    here = promise_of(work_out(typed))
    bought = promise_of(work_out(replace(typed, hide=None, lot=leather_lot)))
    assert bought.to_buy == ("Calf",)
    assert bought.promise.ready_on >= here.promise.ready_on + datetime.timedelta(days=5)
    # Accepted on leather that is still to come, it begins when that has come.
    job = accept(quote_make(work_out(replace(choice, hide=None, lot=leather_lot)), by=owner), owner)
    first = days_shown(timezone.now()).plan.blocks[0]
    begins = moment_of(first.begin_min, "UTC").date()
    assert (first.job, (begins - timezone.localdate()).days >= 8) == (job.code, True)
    for wrong in ("2020-01-01", "9999-12-31", "soon"):
        page = owner_client.get(f"/jobs/{choice.commission.pk}/?station=price&here_by={wrong}")
        assert page.status_code == 200
        assert list(page.context["form"].errors) == ["here_by"]
        assert owner_client.get(f"/day/?from={wrong}").status_code == 200


def test_the_days_show_open_jobs_less_what_is_done_and_warn_of_late_ones(
    owner_client, quote, choice, owner, helper, client, django_assert_max_num_queries
):
    job = accept(quote, owner)
    other = accept(quote_anew(choice, owner), owner)
    shown = days_shown(MONDAY)
    assert [row.job.commission for row in shown.jobs] == [job, other]
    before = shown.jobs[0].left_min
    cutting = sum(b.spans[0].minutes for b in shown.plan.blocks if b.step == "Cutting") / 2
    write_minutes(job, "Cutting", "1", owner)
    assert days_shown(MONDAY).jobs[0].left_min == before - 1
    # Once the next step is begun the cutting is over, if it took less than planned or not.
    write_minutes(job, "Skiving and folding", "1", owner)
    assert days_shown(MONDAY).jobs[0].left_min == before - cutting - 1
    Commission.objects.filter(pk=other.pk).update(wanted_on=datetime.date(2026, 11, 30))
    PostDays.objects.create(country="", days=4)
    late = days_shown(MONDAY).late
    assert [row.job.commission for row in late] == [other]
    assert late[0].due_on == datetime.date(2026, 11, 26)
    with mock.patch.object(timezone, "now", return_value=MONDAY):
        page = owner_client.get("/day/")
        text = page.content.decode()
        assert "when it has to be ready" in text
        assert page.context["days"][0].day == MONDAY.date()
        for day in page.context["days"]:  # the table says what the picture shows
            assert len(day.rows) == len(day.blocks)
        assert "<style" not in text
        assert "style=" not in text
        client.force_login(helper)
        with django_assert_max_num_queries(25):
            shown_to_helper = client.get("/day/").content.decode()
    assert "Merle" not in shown_to_helper
    assert str(quote.price.normalize()) not in shown_to_helper


def test_jobs_are_moved_by_buttons_and_by_typing_their_turn(owner_client, quote, choice, owner):
    jobs = [accept(quote, owner), *(accept(quote_anew(choice, owner), owner) for _n in range(2))]
    a, b, c = (job.pk for job in jobs)

    def sent(**data):
        answer = owner_client.post("/day/order/", data)
        order = [row.job.commission.pk for row in days_shown(timezone.now()).jobs]
        return answer.status_code, order

    assert sent(move=f"earlier:{c}") == (302, [a, c, b])
    assert sent(move=f"later:{a}") == (302, [c, a, b])
    assert sent(move=f"earlier:{c}") == (302, [c, a, b])  # already the first
    assert sent(move="earlier:987654") == (302, [c, a, b])
    turns = {f"turn-{c}": "3", f"turn-{a}": "2", f"turn-{b}": "3"}
    assert sent(**turns) == (302, [a, b, c])
    for wrong in ("0", "1e9", "", "first"):
        assert sent(**{f"turn-{a}": wrong, f"turn-{b}": "1", f"turn-{c}": "1"}) == (200, [a, b, c])
    Commission.objects.filter(pk=c).update(wanted_on=timezone.localdate())
    assert sent(move="due:") == (302, [c, a, b])
    assert JobTurn.objects.count() == 3


def test_a_job_too_large_for_any_day_takes_no_day_from_the_others(
    owner_client, quote, choice, owner
):
    job, other = accept(quote, owner), accept(quote_anew(choice, owner), owner)
    for name, minutes, said in (
        ("Cutting", "1000000000", "must be whole minutes"),
        ("Cutting", "900000", "does not fit"),
        ("Baking and cooling", "2000", "must be watched"),
    ):
        snapshot = Quote.objects.get(pk=quote.pk).snapshot
        for step in snapshot["job"]["steps"]:
            step["minutes"] = minutes if step["name"] == name else "1"
        Quote.objects.filter(pk=quote.pk).update(snapshot=snapshot)
        shown = days_shown(MONDAY)
        assert said in next(r.job.fault for r in shown.jobs if r.job.commission == job)
        assert [row.ready_on is None for row in shown.jobs] == [True, False]
        assert {block.job for block in shown.plan.blocks} == {other.code}
    assert "is left out of the plan" in owner_client.get("/day/").content.decode()


def test_repairs_and_pairs_for_stock_stand_in_the_days_as_orders_do(owner_client, quote, owner):
    job = accept(quote, owner)
    finish(job, owner)
    made = Commission.objects.get(pk=job.pk)
    repair = repair_take_in(
        Repair(first_order=made, kind="repair", feet="left", cause="?"), by=owner
    )
    lines = {"work-INITIAL_FORMS": "0", "material-INITIAL_FORMS": "0"}
    lines |= {"work-TOTAL_FORMS": "1", "material-TOTAL_FORMS": "1"}
    lines |= {"work-0-name": "Lasting", "work-0-minutes": "30"}
    owner_client.post(f"/jobs/{repair.commission_id}/repair/price/", lines)
    repair_agree(repair, version=1, way="mail", by=owner)
    run = Commission(state=Commission.State.IN_WORK, note="stall")
    record_save(run, by=owner)
    line = {"job": quote.snapshot["job"], "bill": []}
    StockRun.objects.create(commission=run, plan={"lines": [line, line]})
    parcel, of_repair, of_run = days_shown(MONDAY).jobs
    assert parcel.job.commission == made  # its pairs are made; it waits for the post
    assert (of_repair.job.commission.pk, of_repair.left_min) == (repair.commission_id, 30)
    pair = sum(
        step.minutes for step in job_steps(job_from_document(line["job"]), places_said())
        if step.where == "hands"
    )  # fmt: skip
    assert 2 * pair - 20 <= of_run.left_min <= 2 * pair
    # Each line is a filling of the oven of its own.
    bakes = [s.minutes for s in of_run.job.to_do.steps if s.where == "oven"]
    assert bakes == [60, 60]
    assert owner_client.get("/day/").status_code == 200


def promise(quote, day):
    snapshot = Quote.objects.get(pk=quote.pk).snapshot
    kept = {"here_by": "2026-11-30", "ready_on": day, "arrives_on": None, "deposit": False}
    Quote.objects.filter(pk=quote.pk).update(snapshot={**snapshot, "promise": day and kept})


def test_jobs_without_a_turn_stand_by_the_day_they_are_promised(owner_client, quote, choice, owner):
    quotes = [quote, *(quote_anew(choice, owner) for _n in range(3))]
    jobs = [accept(one, owner) for one in quotes]
    for one, day in zip(quotes, ("2026-12-10", "2026-12-20", "2026-12-04", None), strict=True):
        promise(one, day)
    a, b, c, d = (job.pk for job in jobs)

    def order():
        return [row.job.commission.pk for row in days_shown(MONDAY).jobs]

    assert order() == [c, a, b, d]  # one that promises nothing comes last
    # A maker's own order holds; only what has no turn yet finds its place among the others.
    jobs_order([b, a, c, d], by=owner)
    assert order() == [b, a, c, d]
    JobTurn.objects.filter(commission=c).delete()
    assert order() == [c, b, a, d]
    JobTurn.objects.filter(commission=d).delete()
    assert order() == [c, b, a, d]


def test_a_finished_order_is_planned_until_its_parcel_is_done(owner_client, quote, choice, owner):
    job, other = accept(quote, owner), accept(quote_anew(choice, owner), owner)
    finish(job, owner)
    first, second = days_shown(MONDAY).jobs
    assert [row.job.commission.pk for row in (first, second)] == [job.pk, other.pk]
    # 10 minutes for photographs, 10 for packing, 15 to the post office, of the first steps.
    assert (first.left_min, first.job.promised_on) == (35, None)
    assert {step.name for step in first.job.to_do.steps if step.minutes} == {
        "Photographs", "Packing", "Post office",
    }  # fmt: skip
    assert second.job.promised_on is not None
    write_minutes(job, "Packing", "12", owner)
    assert days_shown(MONDAY).jobs[0].left_min == 25
    page = owner_client.get("/day/").content.decode()
    assert "Post office" in page
    commission_move(Commission.objects.get(pk=job.pk), to="sent", by=owner)
    assert [row.job.commission.pk for row in days_shown(MONDAY).jobs] == [other.pk]
