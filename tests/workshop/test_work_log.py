"""The work log: timers that survive late and doubled presses, minutes by hand, material booked."""

import datetime
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from tests.workshop.fixtures_work import accept, write_minutes
from workshop.models import AuditEntry, StockMove, WorkLog
from workshop.selectors.stock import balance_faults
from workshop.services.orders import commission_move
from workshop.services.stock import stock_use_for
from workshop.services.work_log import pressed_at, work_start, work_stop, work_write

pytestmark = pytest.mark.django_db

KEY = "a-key-of-its-own"


@pytest.fixture
def accepted(quote, owner):
    return accept(quote, owner)


def start(commission, by, step="Stitching", *, ago_min=0, key=KEY, passive=False):
    at = timezone.now() - datetime.timedelta(minutes=ago_min)
    return work_start(commission, step=step, passive=passive, at=at, key=key, by=by)


def press(client, commission, **values):
    data = {"step": "Stitching", "key": KEY, **values}
    return client.post(reverse("work-start", args=[commission.pk]), data)


def log_page(client, commission):
    return client.get(reverse("work-log", args=[commission.pk]))


def test_a_timer_started_and_stopped_gives_its_minutes(commission, owner):
    entry = start(commission, owner, ago_min=30)
    work_stop(entry, at=entry.started_at + datetime.timedelta(minutes=25, seconds=30), by=owner)
    assert entry.minutes == Decimal("25.50")
    actions = AuditEntry.objects.filter(record_kind="worklog").values_list("action", flat=True)
    assert list(actions) == ["stopped", "started"]


def test_a_stop_that_is_sent_twice_keeps_the_first_minutes(commission, owner):
    entry = start(commission, owner, ago_min=30)
    work_stop(entry, at=entry.started_at + datetime.timedelta(minutes=10), by=owner)
    work_stop(entry, at=timezone.now(), by=owner)
    assert entry.minutes == 10


def test_a_start_that_is_sent_twice_starts_one_timer(commission, owner):
    assert start(commission, owner) == start(commission, owner)
    assert WorkLog.objects.count() == 1


def test_the_next_timer_of_a_person_stops_the_one_before_at_that_moment(commission, owner):
    first = start(commission, owner, ago_min=20)
    second = start(commission, owner, "Lasting", ago_min=5, key="another-key")
    first.refresh_from_db()
    assert first.stopped_at == second.started_at
    assert first.minutes == 15
    assert second.is_running


def test_a_start_that_arrives_after_a_later_one_ends_where_that_began(commission, owner):
    later = start(commission, owner, "Lasting", ago_min=30, key="pressed-at-the-desk")
    late = start(commission, owner, ago_min=60, key="pressed-in-the-cellar")
    later.refresh_from_db()
    assert later.is_running
    assert (late.stopped_at, late.minutes) == (later.started_at, 30)
    # Its own stop, pressed before that, arrives as well.
    work_stop(late, at=late.started_at + datetime.timedelta(minutes=20), by=owner)
    assert late.minutes == 20


def test_a_stop_after_a_correction_by_hand_changes_nothing(commission, owner):
    entry = start(commission, owner, ago_min=60)
    entry.minutes = Decimal(45)
    work_write(entry, by=owner)
    work_stop(entry, at=entry.started_at + datetime.timedelta(minutes=10), by=owner)
    assert entry.minutes == 45


def test_the_database_itself_holds_one_running_timer_a_person(commission, owner):
    start(commission, owner)
    other = WorkLog(commission=commission, step="Lasting", started_at=timezone.now(), made_by=owner)
    with pytest.raises(IntegrityError), transaction.atomic():
        other.save()


def test_two_people_and_waiting_run_beside_each_other(commission, owner, helper):
    start(commission, owner)
    start(commission, helper, key="helpers-key")
    drying = start(commission, owner, "Glue drying", key="drying-key", passive=True)
    again = start(commission, helper, "Glue drying", key="drying-again", passive=True)
    assert again == drying
    assert WorkLog.objects.filter(minutes=None).count() == 3


def test_a_late_press_counts_from_when_it_was_made_but_no_longer_than_a_week():
    now = timezone.now()
    ago = now - pressed_at(datetime.timedelta(minutes=40))
    assert datetime.timedelta(minutes=39) < ago < datetime.timedelta(minutes=41)
    assert now - pressed_at(datetime.timedelta(days=90)) < datetime.timedelta(days=8)
    assert pressed_at(datetime.timedelta(minutes=-5)) <= timezone.now()


def test_a_stop_before_the_start_counts_nothing(commission, owner):
    entry = start(commission, owner)
    work_stop(entry, at=entry.started_at - datetime.timedelta(minutes=5), by=owner)
    assert entry.minutes == 0


def test_no_work_is_written_for_a_job_that_was_withdrawn(commission, owner):
    commission_move(commission, to="withdrawn", by=owner)
    with pytest.raises(ValidationError, match="withdrawn"):
        start(commission, owner)
    with pytest.raises(ValidationError):
        write_minutes(commission, "Stitching", "5", owner)


def test_plain_forms_start_and_stop_a_timer_and_a_reload_shows_it(owner_client, accepted):
    press(owner_client, accepted)
    page = log_page(owner_client, accepted)
    (entry, _minutes) = page.context["timers"][0]
    assert "Stop Stitching" in page.content.decode()
    owner_client.post(reverse("work-stop"), {"key": entry.start_key})
    entry.refresh_from_db()
    assert not entry.is_running
    assert log_page(owner_client, accepted).context["timers"] == []


def test_the_script_hears_that_a_late_press_has_arrived(owner_client, commission):
    address = reverse("work-start", args=[commission.pk])
    data = {"step": "Stitching", "key": KEY, "ago_s": "600"}
    answer = owner_client.post(address, data, headers={"Accept": "application/json"})
    assert answer.json() == {"arrived": True}
    entry = WorkLog.objects.get()
    assert datetime.timedelta(minutes=9) < timezone.now() - entry.started_at
    stop = {"key": KEY, "ago_s": "300"}
    owner_client.post(reverse("work-stop"), stop, headers={"Accept": "application/json"})
    entry.refresh_from_db()
    assert 4 < entry.minutes < 6


@pytest.mark.parametrize(
    "values",
    [{"step": ""}, {"step": "x" * 81}, {"key": "short"}, {"key": "<script>"}, {"ago_s": "NaN"}],
)
def test_a_press_that_says_nonsense_starts_nothing(owner_client, commission, values):
    answer = press(owner_client, commission, **values)
    # A fault of the step stands beside it.
    assert answer.status_code == (200 if "step" in values else 302)
    assert not WorkLog.objects.exists()


def test_the_page_lists_planned_steps_with_minutes_and_waiting_apart(owner_client, accepted):
    page = log_page(owner_client, accepted)
    names = [step.name for step, _running, _key in page.context["work_steps"]]
    waiting = [step.name for step, _running, _key in page.context["waiting_steps"]]
    assert "Stitching" in names
    assert waiting == ["Glue drying", "Baking and cooling"]
    assert "planned 1\u00a0h\u00a000\u00a0min" in page.content.decode()


def test_without_a_quote_the_rate_cards_steps_are_offered(owner_client, commission, rate_card):
    page = log_page(owner_client, commission)
    assert len(page.context["work_steps"]) == rate_card.steps.filter(passive=False).count()


STRETCH = {"step": "Stitching", "minutes": "12.5", "worked_on": "2026-01-05", "note": "a new awl"}


def test_minutes_are_written_and_corrected_by_hand_and_the_trail_keeps_both(
    owner_client, commission
):
    owner_client.post(reverse("work-add", args=[commission.pk]), STRETCH)
    entry = WorkLog.objects.get()
    assert (entry.minutes, entry.by_hand, str(entry.worked_on)) == (12.5, True, "2026-01-05")
    owner_client.post(reverse("work-change", args=[entry.pk]), {**STRETCH, "minutes": "20"})
    entry.refresh_from_db()
    assert entry.minutes == 20
    change = AuditEntry.objects.filter(record_kind="worklog").first()
    assert (change.before["minutes"], change.after["minutes"]) == ("12.50", "20")
    owner_client.post(reverse("work-change", args=[entry.pk]), {"remove": "1"})
    assert not WorkLog.objects.exists()
    assert AuditEntry.objects.filter(record_kind="worklog").first().action == "taken out"


def test_correcting_a_running_timer_ends_it(owner_client, commission, owner):
    entry = start(commission, owner, ago_min=90)
    page = owner_client.get(reverse("work-change", args=[entry.pk]))
    assert Decimal(page.context["form"]["minutes"].value()) >= 90
    owner_client.post(reverse("work-change", args=[entry.pk]), {**STRETCH, "minutes": "45"})
    entry.refresh_from_db()
    assert entry.minutes == 45
    assert entry.stopped_at


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("minutes", ""),
        ("minutes", "-1"),
        ("minutes", "NaN"),
        ("minutes", "1e30"),
        ("minutes", "20001"),
        ("minutes", "ten"),
        ("step", ""),
        ("step", "x" * 81),
        ("worked_on", "2999-01-01"),
        ("worked_on", "1850-01-01"),
        ("worked_on", "yesterday"),
        ("note", "x" * 201),
    ],
)
def test_a_faulty_stretch_has_its_message_by_its_field_and_is_kept(
    owner_client, commission, field, value
):
    page = owner_client.post(reverse("work-add", args=[commission.pk]), {**STRETCH, field: value})
    assert page.status_code == 200
    assert page.context["by_hand"].errors.keys() == {field}
    assert page.context["by_hand"]["note"].value() == (value if field == "note" else "a new awl")
    assert not WorkLog.objects.exists()


def test_a_helper_times_her_own_work_and_no_other_persons(client, helper, owner, commission):
    entry = start(commission, owner)
    client.force_login(helper)
    words = log_page(client, commission).content.decode()
    assert "Stop Stitching" not in words
    assert "EUR" not in words
    client.post(reverse("work-stop"), {"key": entry.start_key})
    entry.refresh_from_db()
    assert entry.is_running
    assert client.get(reverse("work-change", args=[entry.pk])).status_code == 403
    press(client, commission, key="helpers-own-key")
    assert WorkLog.objects.filter(made_by=helper).count() == 1


def test_a_bookkeeper_reads_the_log_and_changes_nothing(client, bookkeeper, commission):
    client.force_login(bookkeeper)
    page = log_page(client, commission)
    assert page.status_code == 200
    assert ">Start<" not in page.content.decode()
    assert press(client, commission).status_code == 403


def test_the_log_takes_as_many_queries_for_many_stretches_as_for_one(
    owner_client, accepted, owner, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    write_minutes(accepted, "Stitching", "5", owner)
    log_page(owner_client, accepted)
    with CaptureQueriesContext(connection) as few:
        log_page(owner_client, accepted)
    for _ in range(8):
        write_minutes(accepted, "Lasting", "5", owner)
    with django_assert_num_queries(len(few)):
        log_page(owner_client, accepted)


def material(client, commission, **values):
    return client.post(reverse("work-material", args=[commission.pk]), values)


def test_material_really_used_is_booked_for_the_job(owner_client, accepted, supplies):
    thread = supplies["thread"]
    assert "planned" in log_page(owner_client, accepted).content.decode()
    material(owner_client, accepted, **{f"use_{thread.pk}": "12.5"})
    move = StockMove.objects.get(commission=accepted)
    assert (move.on_hand_change, move.reason) == (-12_500, f"for {accepted.code}")
    tissue = supplies["other"]
    material(owner_client, accepted, other=tissue.pk, other_quantity="2")
    assert "Tissue paper" in log_page(owner_client, accepted).content.decode()
    material(owner_client, accepted, **{f"use_{thread.pk}": "-2.5"})
    thread.balance.refresh_from_db()
    assert thread.balance.on_hand == 190_000
    assert not balance_faults()


def test_more_than_there_is_books_nothing_at_all(owner_client, accepted, supplies):
    rows = {f"use_{supplies['thread'].pk}": "5", f"use_{supplies['box'].pk}": "21"}
    page = material(owner_client, accepted, **rows)
    assert "only 20 piece are free" in page.content.decode()
    assert page.context["material"][f"use_{supplies['thread'].pk}"].value() == "5"
    assert not StockMove.objects.filter(commission=accepted).exists()


def test_no_more_goes_back_than_the_job_has_taken(commission, supplies, owner):
    thread = supplies["thread"]
    stock_use_for(thread, commission=commission, quantity=Decimal(3), by=owner)
    with pytest.raises(ValidationError, match="the job has taken 3 m"):
        stock_use_for(thread, commission=commission, quantity=Decimal("-3.001"), by=owner)
    assert StockMove.objects.filter(commission=commission).count() == 1


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"other_quantity": "2"}, "other"),
        ({"other": "here", "other_quantity": ""}, "other_quantity"),
        ({"other_quantity": "NaN"}, "other_quantity"),
        ({"other_quantity": "1e30"}, "other_quantity"),
        ({"other_quantity": "0.0001"}, "other_quantity"),
        ({"other": "987654", "other_quantity": "1"}, "other"),
    ],
)
def test_faulty_material_has_its_message_by_its_field(
    owner_client, commission, supplies, values, field
):
    values = {**values, **({"other": supplies["box"].pk} if values.get("other") == "here" else {})}
    page = material(owner_client, commission, **values)
    assert field in page.context["material"].errors
    assert not StockMove.objects.filter(commission=commission).exists()
