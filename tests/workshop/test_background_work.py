"""Long work: watched, stopped, failed, run again; run twice it does no harm."""

from datetime import timedelta

import pytest
from django.utils import timezone
from django_q.models import OrmQ

from patterns.errors import LayoutError
from tests.workshop.fixtures_quotes import lay_out_now
from tests.workshop.test_stock_ledger import at_once
from workshop import handing_out, work
from workshop.models import BackgroundJob

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def watched_closely(monkeypatch):
    """Progress and the stop flag are looked at on every step, not a few times a second."""
    monkeypatch.setattr(work, "REPORT_EVERY_S", 0.0)


@pytest.fixture
def counting(monkeypatch):
    """A kind of work that counts to four; `between` is called before each step."""

    class Counting:
        steps: list[int] = []
        runs = 0

        def between(self, step):
            """Do nothing, until a test says otherwise."""

    counting = Counting()
    counting.steps = []

    def do(inputs, report, is_stopped):
        counting.runs += 1
        run = counting.runs
        for step in range(1, 5):
            counting.between(step)
            if is_stopped():
                break
            counting.steps.append(step)
            report(25 * step, f"step {step}")
        return {"run": run}

    monkeypatch.setitem(work.KINDS, "counting", do)
    return counting


def start(owner=None, key="k", **inputs):
    return work.work_start("counting", inputs, key=key, by=owner)


def cut_off_long_ago(job):
    earlier = work.cut_off_before() - timedelta(seconds=1)
    BackgroundJob.objects.filter(pk=job.pk).update(started_at=earlier)


def now(job):
    job.refresh_from_db()
    return job


def test_progress_is_written_while_it_runs(counting):
    job = start()
    seen = []
    counting.between = lambda step: seen.append((now(job).progress_percent, job.progress_text))
    work.run(job.pk)
    assert seen == [(0, ""), (25, "step 1"), (50, "step 2"), (75, "step 3")]
    assert (now(job).state, job.progress_percent, job.result) == ("done", 100, {"run": 1})
    assert job.started_at <= job.ended_at


def test_progress_is_written_a_few_times_a_second_only(counting, monkeypatch):
    monkeypatch.setattr(work, "REPORT_EVERY_S", 3600.0)
    job = start()
    counting.between = lambda step: seen.append(now(job).progress_text)
    seen = []
    work.run(job.pk)
    assert seen == ["", "step 1", "step 1", "step 1"]


def test_stop_is_heeded_at_the_next_step_and_leaves_no_result(counting):
    job = start()
    counting.between = lambda step: work.work_stop(job) if step == 3 else None
    work.run(job.pk)
    assert counting.steps == [1, 2]
    assert (now(job).state, job.result, job.fault) == ("stopped", None, "")
    assert job.ended_at is not None


def test_waiting_work_is_stopped_at_once_and_never_begins(counting):
    job = start()
    work.work_stop(job)
    assert now(job).state == "stopped"
    work.run(job.pk)
    assert (now(job).state, counting.runs) == ("stopped", 0)


def test_work_whose_worker_is_gone_is_stopped_at_once_and_may_be_begun_again(counting, settings):
    job = start()
    long_ago = timezone.now() - timedelta(seconds=settings.Q_CLUSTER["timeout"] + 1)
    BackgroundJob.objects.filter(pk=job.pk).update(state="running", started_at=timezone.now())
    work.work_stop(job)
    assert (now(job).state, job.stop_asked) == ("running", True)  # somebody may be at it
    BackgroundJob.objects.filter(pk=job.pk).update(started_at=long_ago)
    work.work_stop(job)
    assert now(job).state == "stopped"
    assert start() != job


def test_finished_work_is_not_stopped_any_more(counting):
    job = start()
    work.run(job.pk)
    work.work_stop(job)
    assert (now(job).state, job.stop_asked, job.result) == ("done", False, {"run": 1})


def test_a_failed_job_says_why_and_runs_again_as_a_new_record(counting, owner):
    job = start(owner)

    def refuse(step):
        raise LayoutError("The tongue does not fit hide H-0001.", code="no-room")

    counting.between = refuse
    work.run(job.pk)
    assert (now(job).state, job.fault) == ("failed", "The tongue does not fit hide H-0001.")
    counting.between = lambda step: None
    again = work.work_again(job, by=owner)
    assert again.pk != job.pk
    work.run(again.pk)
    assert (now(again).state, again.result) == ("done", {"run": 2})
    assert now(job).state == "failed"  # the first record stays as it ended
    assert work.work_found("counting", "k") == again


def test_a_fault_of_ours_is_told_without_its_inner_words(counting, caplog):
    job = start()

    def break_down(step):
        raise RuntimeError("secret/path/of/the/server")

    counting.between = break_down
    work.run(job.pk)
    assert now(job).state == "failed"
    assert "secret" not in job.fault
    assert "run again" in job.fault
    assert "secret/path" in caplog.text


def test_the_result_is_written_once_however_often_it_is_run(counting):
    job = start()
    work.run(job.pk)
    ended_at = now(job).ended_at
    work.run(job.pk)
    assert (now(job).result, job.ended_at, counting.runs) == ({"run": 1}, ended_at, 1)


def test_a_job_that_is_in_the_queue_many_times_is_done_once(counting):
    job = start()

    def other_workers(step):
        for _worker in range(work.MOST_ATTEMPTS + 1):
            work.run(job.pk)  # while the first stands at this step
        assert (now(job).state, job.attempts) == ("running", 1)

    counting.between = other_workers
    work.run(job.pk)
    assert (counting.runs, counting.steps) == (1, [1, 2, 3, 4])
    assert (now(job).state, job.result) == ("done", {"run": 1})
    assert job.progress_percent == 100


def test_a_run_taken_for_cut_off_that_still_ends_leaves_one_result(counting):
    job = start()

    def late(step):
        if counting.runs == 1 and step == 3:
            cut_off_long_ago(job)
            work.run(job.pk)  # from the start to the end, while the first stands at step 3
            assert now(job).result == {"run": 2}

    counting.between = late
    work.run(job.pk)
    assert counting.runs == 2
    assert (now(job).state, job.result) == ("done", {"run": 2})


@pytest.mark.django_db(transaction=True)
def test_work_that_several_watchers_see_waiting_is_handed_out_and_done_once(monkeypatch):
    given, done = [], []

    def do(inputs, report, is_stopped):
        done.append(inputs["number"])
        return {"done": done.count(inputs["number"])}

    monkeypatch.setitem(work.KINDS, "counting", do)
    monkeypatch.setattr(work, "async_task", lambda _name, job_id: given.append(job_id))
    jobs = [start(number=number) for number in range(5)]
    given.clear()  # the queue has lost them all
    long_ago = timezone.now() - 2 * handing_out.STUCK_AFTER
    BackgroundJob.objects.update(made_at=long_ago)
    monkeypatch.setattr(handing_out, "_is_empty", lambda broker: True)
    at_once(*[handing_out.hand_out_lost] * 4)
    assert sorted(given) == [job.pk for job in jobs]
    # A queue that gives each out twice all the same, to two workers at the same moment.
    at_once(*[lambda: [work.run(job_id) for job_id in given]] * 2)
    assert sorted(done) == [0, 1, 2, 3, 4]
    assert [now(job).result for job in jobs] == [{"done": 1}] * len(jobs)


def test_work_cut_off_with_its_worker_is_done_again_from_the_start(counting):
    job = start()

    def killed(step):
        if step == 3:
            raise SystemExit  # as a worker ends: nothing is written any more

    counting.between = killed
    with pytest.raises(SystemExit):
        work.run(job.pk)
    assert (now(job).state, job.result) == ("running", None)
    counting.between = lambda step: None
    cut_off_long_ago(job)
    work.run(job.pk)
    assert (now(job).state, job.result) == ("done", {"run": 2})


def test_a_fresh_start_of_a_queue_in_the_database_begins_again_what_was_cut_off(counting):
    job = start()
    BackgroundJob.objects.filter(pk=job.pk).update(state="running", started_at=timezone.now())
    work.run(job.pk)
    assert counting.runs == 0  # as far as anybody knows, somebody is at it
    handing_out.hand_out_again()
    work.run(job.pk)
    assert (now(job).state, job.result) == ("done", {"run": 1})


def test_a_job_that_is_gone_or_unknown_does_no_harm(counting):
    work.run(987654)
    job = BackgroundJob.objects.create(kind="no such kind", key="k", inputs={})
    work.run(job.pk)
    assert now(job).state == "failed"


def test_starting_twice_is_one_job_in_the_queue(counting, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        first, second = start(a=1), start(a=1)
    assert first == second
    assert OrmQ.objects.count() == 1
    with django_capture_on_commit_callbacks(execute=True):
        other = start(key="other", a=2)
    assert other != first
    assert OrmQ.objects.count() == 2


def test_work_that_is_over_does_not_hinder_a_new_start(counting):
    first = start()
    work.run(first.pk)
    assert start() != first


def test_equal_inputs_have_equal_keys_whatever_their_order():
    assert work.work_key("layout", {"a": 1, "b": 2}) == work.work_key("layout", {"b": 2, "a": 1})
    assert work.work_key("layout", {"a": 1}) != work.work_key("layout", {"a": 2})
    assert work.work_key("layout", {"a": 1}) != work.work_key("other", {"a": 1})


def test_a_stopped_layout_is_stopped_within_a_try(choice, owner, monkeypatch):
    looks = []

    def stop_at_the_third_look(watch):
        looks.append(1)
        if len(looks) == 3:
            BackgroundJob.objects.update(stop_asked=True)
        return BackgroundJob.objects.filter(pk=watch._job_id, stop_asked=True).exists()

    monkeypatch.setattr(work._Watch, "is_stopped", stop_at_the_third_look)
    job = lay_out_now(choice, owner, seconds=600)
    assert (job.state, job.result) == ("stopped", None)


# the pages of it


def test_a_page_asked_by_script_is_told_when_it_is_over(client, helper, counting):
    client.force_login(helper)
    job = start()
    waiting = client.get(f"/background/{job.pk}/?back=/jobs/", headers=HTMX)
    assert waiting.status_code == 200
    assert "<html" not in waiting.content.decode()
    work.run(job.pk)
    over = client.get(f"/background/{job.pk}/?back=/jobs/", headers=HTMX)
    # The bar gives way to what asks once; asking on would begin a slow page again and again.
    assert 'hx-trigger="load"' in over.content.decode()
    assert "every" not in over.content.decode()
    once = client.get(f"/background/{job.pk}/?over=1", headers=HTMX)
    assert (once.status_code, once.headers["HX-Refresh"]) == (204, "true")


def test_without_script_the_page_stops_it_and_runs_it_again(client, helper, counting):
    client.force_login(helper)
    job = start()
    page = client.get(f"/background/{job.pk}/?back=/jobs/").content.decode()
    assert f'action="/background/{job.pk}/stop/"' in page
    answer = client.post(f"/background/{job.pk}/stop/", {"back": "/jobs/"})
    assert answer.headers["Location"] == "/jobs/"
    assert now(job).state == "stopped"
    page = client.get(f"/background/{job.pk}/").content.decode()
    assert f'action="/background/{job.pk}/again/"' in page
    client.post(f"/background/{job.pk}/again/")
    assert BackgroundJob.objects.filter(state="waiting").get().made_by == helper


@pytest.mark.parametrize(
    "away", ["//elsewhere.example/", "https://elsewhere.example/", "javascript:1", "/\\elsewhere"]
)
def test_the_way_back_leads_nowhere_else(client, helper, counting, away):
    client.force_login(helper)
    job = start()
    answer = client.post(f"/background/{job.pk}/stop/", {"back": away})
    assert answer.headers["Location"] == "/"
    assert "elsewhere" not in client.get(f"/background/{job.pk}/", {"back": away}).content.decode()
