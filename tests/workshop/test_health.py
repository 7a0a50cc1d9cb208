"""Whether all is well, for a watcher and for the owner; and the framework's deployment check."""

import datetime
import os
import socket
import subprocess
import sys
from collections import namedtuple
from pathlib import Path

import pytest
from django.db import DatabaseError, connection
from django.utils import timezone
from django_q.conf import Conf

from workshop import settings as site
from workshop.handing_out import STUCK_AFTER, hand_out_lost
from workshop.models import BackgroundJob
from workshop.selectors import health
from workshop.work import work_start

pytestmark = pytest.mark.django_db
ROOT = Path(__file__).parents[2]


def test_a_watcher_is_told_one_word_and_the_owner_what_was_looked_at(client, owner_client):
    answer = client.get("/health/")
    assert (answer.status_code, answer.content) == (200, b"well\n")
    assert answer.headers["Cache-Control"] == "no-store"
    page = owner_client.get("/health/", headers={"Accept": "text/html"})
    for word in ("Database", "Disk", "Background work"):
        assert word in page.content.decode()


def test_work_that_waits_too_long_is_not_well(client, owner_client):
    made = timezone.now() - datetime.timedelta(minutes=25)
    BackgroundJob.objects.create(kind="layout", key="x", inputs={}, made_at=made)
    answer = client.get("/health/")
    assert (answer.status_code, answer.content) == (503, b"unwell\n")
    page = owner_client.get("/health/", headers={"Accept": "text/html"})
    assert page.status_code == 503
    assert "is the worker running?" in page.content.decode()


def test_a_full_or_lost_disk_is_not_well(client, monkeypatch, settings, tmp_path):
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(health.shutil, "disk_usage", lambda _path: usage(10, 10, 0))
    assert client.get("/health/").status_code == 503
    monkeypatch.undo()
    settings.DATA_DIR = tmp_path / "gone"
    assert client.get("/health/").status_code == 503


def test_a_database_that_does_not_answer_is_not_well(client, monkeypatch):
    def broken():
        raise DatabaseError

    monkeypatch.setattr(connection, "cursor", broken)
    signs = health.signs_of_health()
    assert [(sign.name, sign.is_well) for sign in signs][:1] == [("Database", False)]
    assert len(signs) == 2


def test_the_deployment_check_has_nothing_to_say(tmp_path):
    # Source: the Django deployment checklist, as `manage.py check --deploy` holds it.
    environment = {
        **os.environ,
        "DATA_DIR": str(tmp_path),
        "TLS": "1",
        "ALLOWED_HOSTS": "boots.example",
    }
    # The last one is the test run's own, for its browser.
    for name in ("DEBUG", "SECRET_KEY", "DATABASE_URL", "DJANGO_ALLOW_ASYNC_UNSAFE"):
        environment.pop(name, None)
    done = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=ROOT, env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "no issues" in done.stdout
    assert (tmp_path / "secret_key").stat().st_mode & 0o077 == 0


@pytest.fixture
def redis_away(monkeypatch, settings):
    """A queue in Redis at a port where nobody listens."""
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))  # held, so that nobody else begins to listen there
        url = f"redis://127.0.0.1:{held.getsockname()[1]}/0"
        cluster = {key: value for key, value in site.Q_CLUSTER.items() if key != "orm"}
        settings.Q_CLUSTER = {**cluster, "redis": url}
        monkeypatch.setattr(Conf, "ORM", None)
        monkeypatch.setattr(Conf, "REDIS", url)
        yield


def test_a_redis_that_is_away_is_told_and_work_asked_for_waits_in_the_database(
    redis_away, owner_client, client, django_capture_on_commit_callbacks
):
    assert client.get("/health/").status_code == 503
    page = owner_client.get("/health/", headers={"Accept": "text/html"}).content.decode()
    assert "Redis (REDIS_URL) does not answer; new work waits in the database" in page
    with django_capture_on_commit_callbacks(execute=True):
        work = work_start("layout", {}, key="k", by=None)
    work.refresh_from_db()
    assert work.state == "waiting"
    shown = owner_client.get(f"/background/{work.pk}/", headers={"HX-Request": "true"})
    assert "The queue (REDIS_URL) cannot be reached. Nothing is lost" in shown.content.decode()


def test_what_was_said_of_a_queue_away_is_gone_once_work_is_handed_out(
    owner_client, redis_away, monkeypatch, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        work = work_start("layout", {}, key="k", by=None)
    BackgroundJob.objects.update(made_at=timezone.now() - 2 * STUCK_AFTER)
    monkeypatch.setattr("workshop.handing_out._is_empty", lambda broker: True)
    hand_out_lost()  # still away
    work.refresh_from_db()
    assert "cannot be reached" in work.progress_text
    given = []
    BackgroundJob.objects.update(handed_at=timezone.now() - 2 * STUCK_AFTER)
    monkeypatch.setattr("workshop.work.async_task", lambda name, key: given.append(key))
    hand_out_lost()
    work.refresh_from_db()
    assert (given, work.progress_text, work.state) == ([work.pk], "", "waiting")


def test_a_queue_in_the_database_is_no_sign_of_its_own(owner_client):
    assert "Redis" not in owner_client.get("/health/").content.decode()
