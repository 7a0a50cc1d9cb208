"""The queue in a real Redis: killed, away and back again, no recorded work is lost.

Redis documentation, BLPOP: what is taken from a list is gone from it, so that a queue in Redis
forgets what it gave out; the record in the database does not.
"""

import json
import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import pytest
import redis
from django.conf import settings as site
from django.db import connection
from django.utils import timezone
from django_q.conf import Conf

from workshop.handing_out import STUCK_AFTER, hand_out_lost
from workshop.models import BackgroundJob
from workshop.services.quoting import layout_start, work_out
from workshop.work import work_start

ROOT = Path(__file__).parents[2]
PATIENCE_S = 90
LOOK_S = 0.1
ASK = """
import json, sys, django
django.setup()
from workshop.work import work_start
print(work_start("layout", json.load(sys.stdin), key="k", by=None).pk)
"""


def free_port():
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]


class Server:
    """A Redis of the test's own that keeps nothing on disk."""

    def __init__(self, folder):
        self.folder, self.port = folder, free_port()
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self.process = None

    def start(self):
        """Start it and wait until it answers."""
        options = ["--port", str(self.port), "--save", "", "--dir", str(self.folder)]
        self.process = subprocess.Popen(
            ["redis-server", *options, "--bind", "127.0.0.1"], stdout=subprocess.DEVNULL
        )
        wait_for(self._answers)

    def _answers(self):
        try:
            return redis.from_url(self.url).ping()
        except redis.ConnectionError:
            return False

    def stop(self):
        """Stop it; everything in it is gone."""
        if self.process is not None:
            self.process.terminate()
            self.process.wait(PATIENCE_S)
            self.process = None


def wait_for(is_so):
    end = time.monotonic() + PATIENCE_S
    while not (found := is_so()):
        assert time.monotonic() < end, "it took too long"
        time.sleep(LOOK_S)
    return found


@pytest.fixture
def server(tmp_path):
    if shutil.which("redis-server") is None:
        pytest.skip("redis-server is not installed; on Debian tests/run.sh installs it")
    server = Server(tmp_path)
    yield server
    server.stop()


@pytest.fixture
def in_redis(server, monkeypatch, settings):
    """The site's own queue in that Redis, which is not started yet."""
    monkeypatch.setattr(Conf, "ORM", None)
    monkeypatch.setattr(Conf, "REDIS", server.url)
    cluster = {key: value for key, value in site.Q_CLUSTER.items() if key != "orm"}
    settings.Q_CLUSTER = {**cluster, "redis": server.url}
    return server


def waiting_in(server):
    return redis.from_url(server.url).llen("django_q:workshop:q")


def moved_back(job, **values):
    BackgroundJob.objects.filter(pk=job.pk).update(**values)


@pytest.mark.django_db
def test_work_asked_for_while_redis_is_away_is_kept_and_handed_out_later(
    in_redis, django_capture_on_commit_callbacks, caplog
):
    with django_capture_on_commit_callbacks(execute=True):
        job = work_start("layout", {}, key="k", by=None)
    job.refresh_from_db()
    assert job.state == "waiting"
    assert "the queue cannot be reached" in caplog.text
    hand_out_lost()  # still away: nothing breaks
    in_redis.start()
    hand_out_lost()
    assert waiting_in(in_redis) == 0  # it may be on its way yet
    moved_back(job, made_at=timezone.now() - 2 * STUCK_AFTER)
    hand_out_lost()
    hand_out_lost()  # it is there by now
    assert waiting_in(in_redis) == 1


@pytest.mark.django_db
def test_work_cut_off_longer_ago_than_work_takes_is_handed_out_again(in_redis):
    in_redis.start()
    jobs = BackgroundJob.objects
    job = jobs.create(kind="layout", key="k", inputs={}, state="running")
    longest = timedelta(seconds=site.Q_CLUSTER["timeout"])
    moved_back(job, started_at=timezone.now() - longest)
    hand_out_lost()
    assert waiting_in(in_redis) == 0  # the queue may be about to end it
    moved_back(job, started_at=timezone.now() - longest - timedelta(seconds=10))
    redis.from_url(in_redis.url).rpush("django_q:workshop:q", "other work")
    for _look in range(2):
        hand_out_lost()
        assert waiting_in(in_redis) == 2


@pytest.mark.django_db
def test_a_page_that_asks_for_work_while_redis_is_away_opens(
    in_redis, owner_client, choice, owner, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        work = layout_start(work_out(choice), by=owner, seconds=1)
    moved_back(work, made_at=timezone.now() - timedelta(hours=1))
    page = owner_client.get(f"/background/{work.pk}/", headers={"HX-Request": "true"})
    assert page.status_code == 200
    assert "it is not running" in page.content.decode()


@pytest.mark.paper  # its records lie in a SQLite of their own
@pytest.mark.django_db(transaction=True)
def test_a_queue_killed_with_all_its_parts_begins_again_what_it_was_at(
    server, tmp_path, choice, owner
):
    if connection.vendor != "sqlite":
        pytest.skip("the same on any database, and copied in no time from SQLite")
    inputs = layout_start(work_out(choice), by=owner, seconds=5).inputs
    BackgroundJob.objects.all().delete()
    server.start()
    kept = tmp_path / "data" / "workshop.sqlite3"
    kept.parent.mkdir()
    with sqlite3.connect(kept) as copy:
        connection.connection.backup(copy)
    given = {
        **os.environ,
        "DATA_DIR": str(kept.parent),
        "REDIS_URL": server.url,
        "ESTIMATE_FIRST": "0",  # nothing but the layout is in the queue
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "workshop.settings",
    }
    asked = subprocess.run(
        [sys.executable, "-c", ASK],
        input=json.dumps(inputs),
        capture_output=True,
        text=True,
        check=True,
        env=given,
    )

    def state():
        with sqlite3.connect(kept) as rows:
            query = "SELECT state, attempts, result FROM workshop_backgroundjob WHERE id = ?"
            return rows.execute(query, [int(asked.stdout)]).fetchone()

    watcher = subprocess.Popen([sys.executable, "manage.py", "work"], cwd=ROOT, env=given)
    try:
        wait_for(lambda: state()[0] == "running")
        parts = Path(f"/proc/{watcher.pid}/task/{watcher.pid}/children").read_text().split()
        for queue in parts:
            os.killpg(int(queue), signal.SIGKILL)
        assert state()[:2] == ("running", 1)
        wait_for(lambda: state()[0] == "done")
    finally:
        watcher.terminate()
        watcher.wait(PATIENCE_S)
    _state, attempts, result = state()
    assert attempts == 2
    assert json.loads(result)["layout"]
    assert waiting_in(server) == 0


@pytest.mark.parametrize("code", [1, -signal.SIGKILL])
def test_the_watch_outlasts_a_redis_that_is_away_and_a_queue_killed_at_once(monkeypatch, code):
    from workshop.management.commands import work as command

    class Ended:
        returncode = code

        def poll(self):
            return code

    watch, begun, answers = command.Command(), [], []
    monkeypatch.setattr(command, "queue_answers", lambda: bool(answers))
    monkeypatch.setattr(watch, "_end", lambda: None)
    monkeypatch.setattr(watch, "_start", lambda: begun.append(1) or Ended())
    watch.queue, watch.stop_by, watch.told, watch.was_away = Ended(), None, None, False
    watch.started_at = watch.ready_at = time.monotonic()
    watch._look()
    watch._look()
    assert not begun  # it waits for the queue to answer
    answers.append(1)
    watch._look()
    assert begun == [1]
    watch.was_away = False
    if code > 0:  # it ended by itself though the queue answers: a fault somebody must see
        with pytest.raises(SystemExit):
            watch._look()
    else:
        watch._look()
        assert begun == [1, 1]


def test_an_address_that_is_no_redis_is_told_at_once():
    told = subprocess.run(
        [sys.executable, "manage.py", "check"],
        cwd=ROOT,
        env={**os.environ, "REDIS_URL": "localhost:6379"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode != 0
    assert "REDIS_URL is 'localhost:6379'; it must begin with redis://" in told.stderr
