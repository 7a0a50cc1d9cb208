"""A full disk, one for reading only, a database that is away: the page says what to do, no harm."""

import errno
import json
import multiprocessing
import os
import resource
import shutil
import sqlite3
import subprocess
from pathlib import Path

import psycopg
import pytest
from django.db import DatabaseError, OperationalError, connection, connections
from django.test import Client
from django.urls import reverse

from tests.workshop.test_order_life import photo_file
from workshop import kept_files, kept_results
from workshop.disk_faults import AWAY, BUSY, FULL, READ_ONLY, disk_fault
from workshop.kept_files import file_keep
from workshop.models import AuditEntry, Customer, JobPhoto

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.every_database]

TITLES = {
    FULL: "The disk is full",
    READ_ONLY: "The disk cannot be written to",
    AWAY: "The database does not answer",
    BUSY: "Busy just now",
}
needs_sqlite = pytest.mark.skipif(
    connection.vendor != "sqlite", reason="SQLite's own limits; PostgreSQL has others"
)


@pytest.fixture
def browser_like(owner):
    client = Client(raise_request_exception=False)
    client.force_login(owner)
    return client


def new_customer(client, name="Somebody", note=""):
    return client.post("/customers/new/", {"name": name, "note": note})


def told(answer, fault):
    assert answer.status_code == 503
    assert answer.headers["Retry-After"]
    text = answer.content.decode()
    assert f"<h1>{TITLES[fault]}</h1>" in text
    assert "Nothing of what you sent was stored" in text
    assert "Traceback" not in text
    return True


def pragma(words):
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA {words}")
        return cursor.fetchall()


@needs_sqlite
def test_a_full_database_says_so_and_keeps_what_was_there(browser_like):
    """SQLite itself refuses: it may not take another page."""
    assert new_customer(browser_like, "Before").status_code == 302
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")  # pages that other tests have left free would take much more
    ((pages,),) = pragma("page_count")
    before = list(Customer.objects.values())
    trail = AuditEntry.objects.count()
    pragma(f"max_page_count={pages}")
    try:
        answers = [new_customer(browser_like, f"N{n}", note="x" * 3900) for n in range(20)]
    finally:
        pragma("max_page_count=1073741823")
    refused = [answer for answer in answers if answer.status_code != 302]
    assert refused
    assert all(told(answer, FULL) for answer in refused)
    assert pragma("integrity_check") == [("ok",)]
    stored = len(answers) - len(refused)
    assert Customer.objects.count() == 1 + stored
    assert AuditEntry.objects.filter(record_kind="customer").count() == 1 + stored
    assert AuditEntry.objects.count() == trail + stored
    assert [row for row in Customer.objects.values() if row["name"] == "Before"] == before
    assert browser_like.get("/customers/").status_code == 200
    assert new_customer(browser_like, "After").status_code == 302


def test_a_database_for_reading_only_shows_pages_and_refuses_forms(browser_like):
    assert browser_like.get("/customers/").status_code == 200
    on, off = (
        ("PRAGMA query_only=1", "PRAGMA query_only=0")
        if connection.vendor == "sqlite"
        else ("SET default_transaction_read_only=on", "SET default_transaction_read_only=off")
    )
    with connection.cursor() as cursor:
        cursor.execute(on)
        try:
            assert told(new_customer(browser_like), READ_ONLY)
            assert browser_like.get("/customers/").status_code == 200
        finally:
            cursor.execute(off)
    assert not Customer.objects.exists()
    assert new_customer(browser_like).status_code == 302


def test_a_database_that_is_away_is_told_and_comes_back(browser_like):
    given = connection.settings_dict
    kept = {**given}
    connection.close()
    try:
        if connection.vendor == "sqlite":
            given["NAME"] = "/no/such/folder/workshop.sqlite3"
        else:
            given["HOST"], given["PORT"] = "127.0.0.1", 1
        assert told(browser_like.get("/customers/"), AWAY)
    finally:
        connection.close()
        given.update(kept)
    assert browser_like.get("/customers/").status_code == 200


def alone(work):
    """Run a function in a process of its own and return what it says."""
    connections.close_all()
    fork = multiprocessing.get_context("fork")
    answer, said = fork.Pipe(duplex=False)

    def run():
        try:
            said.send(work())
        finally:
            os._exit(0)

    child = fork.Process(target=run, daemon=True)
    child.start()
    said.close()
    try:
        return answer.recv() if answer.poll(60) else "no answer"
    finally:
        child.join(60)


def test_a_kept_file_that_does_not_fit_leaves_nothing_behind(tmp_path, settings, db):
    """The system itself refuses: a process may not write files above a size."""
    settings.DATA_DIR = tmp_path

    def write():
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
        file_keep("meshes", ".obj", b"small")
        try:
            file_keep("meshes", ".obj", b"v 0 0 0\n" * 1000)
        except OSError as error:
            return errno.errorcode[error.errno], disk_fault(error)
        return "written"

    assert alone(write) == ("EFBIG", FULL)
    files = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert [path.read_bytes() for path in files] == [b"small"]


def test_a_result_that_cannot_be_kept_is_given_all_the_same(tmp_path, settings, monkeypatch):
    settings.DATA_DIR = tmp_path

    def full(_source, _target):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(kept_results.os, "replace", full)
    assert kept_results.kept("test", {"a": 1}, lambda: {"b": 2}) == {"b": 2}
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


@pytest.fixture
def small_disk(tmp_path):
    """A real disk of its own with little room."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = shutil.which("mount")
    command = [mount, "-t", "tmpfs", "-o", "size=6m", "tmpfs", str(place)]
    done = mount and subprocess.run(command, capture_output=True, check=False).returncode == 0
    if not done:
        pytest.skip("only root, and not in every container, may mount a disk of a few megabytes")
    yield place
    subprocess.run(["umount", str(place)], check=False)


@needs_sqlite
def test_a_really_full_disk_damages_nothing(small_disk, owner, settings):
    """The workshop's folder on a disk of 6 MB, filled to the last byte, and given room again."""
    settings.DATA_DIR = small_disk
    path = small_disk / "workshop.sqlite3"
    connection.ensure_connection()
    with sqlite3.connect(path) as copy:
        connection.connection.backup(copy)
        copy.execute("VACUUM")  # pages that other tests have left free would take the rows
    copy.close()

    def work():
        connections["default"].settings_dict["NAME"] = str(path)
        client = Client(raise_request_exception=False)
        client.force_login(owner)
        first = new_customer(client, "Before").status_code
        _fill(small_disk / "filler")
        full = [new_customer(client, f"N{n}", "x" * 3900) for n in range(3)]
        looked_at = client.get("/customers/").status_code
        (small_disk / "filler").unlink()
        after = new_customer(client, "After").status_code
        return json.dumps(
            [first, [(a.status_code, a.content.decode()) for a in full], looked_at, after]
        )

    first, full, looked_at, after = json.loads(alone(work))
    assert (first, looked_at, after) == (302, 200, 302)
    assert [status for status, _text in full] == [503] * 3
    assert all(f"<h1>{TITLES[FULL]}</h1>" in text for _status, text in full)
    with sqlite3.connect(path) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        names = database.execute("SELECT name FROM workshop_customer ORDER BY id").fetchall()
        trail = database.execute(
            "SELECT count(*) FROM workshop_auditentry WHERE record_kind = 'customer'"
        ).fetchone()
    database.close()
    assert names == [("Before",), ("After",)]
    assert trail == (2,)


def _fill(path: Path):
    with path.open("wb", buffering=0) as stream:
        for size in (65536, 4096, 512):
            try:
                while True:
                    stream.write(b"\0" * size)
            except OSError:
                continue


def of_sqlite(code):
    error = sqlite3.OperationalError("told by SQLite")
    error.sqlite_errorcode = code
    return error


@pytest.mark.parametrize(
    ("error", "fault"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), FULL),
        (OSError(errno.EDQUOT, "Disk quota exceeded"), FULL),
        (OSError(errno.EROFS, "Read-only file system"), READ_ONLY),
        (PermissionError(errno.EACCES, "Permission denied"), READ_ONLY),
        (FileNotFoundError(errno.ENOENT, "No such file"), None),
        (of_sqlite(sqlite3.SQLITE_FULL), FULL),
        (of_sqlite(sqlite3.SQLITE_READONLY_DBMOVED), READ_ONLY),
        (of_sqlite(sqlite3.SQLITE_IOERR_WRITE), FULL),
        (of_sqlite(sqlite3.SQLITE_BUSY_SNAPSHOT), BUSY),
        (of_sqlite(sqlite3.SQLITE_CONSTRAINT), None),
        (of_sqlite(sqlite3.SQLITE_ERROR), None),
        (psycopg.errors.DiskFull("x"), FULL),
        (psycopg.errors.ReadOnlySqlTransaction("x"), READ_ONLY),
        (psycopg.errors.AdminShutdown("x"), AWAY),
        (psycopg.errors.ConnectionException("x"), AWAY),
        (psycopg.OperationalError("connection refused"), AWAY),
        (psycopg.errors.TooManyConnections("x"), BUSY),
        (psycopg.errors.UniqueViolation("x"), None),
        (psycopg.errors.UndefinedTable("x"), None),
        (ValueError("x"), None),
        (None, None),
    ],
)
def test_each_fault_is_told_by_its_code(error, fault):
    assert disk_fault(error) == fault


def test_a_fault_within_django_s_own_is_found():
    outer = OperationalError("wrapped")
    outer.__cause__ = of_sqlite(sqlite3.SQLITE_BUSY)
    assert disk_fault(outer) == BUSY
    assert disk_fault(DatabaseError("alone")) is None


def test_a_photograph_on_a_full_disk_is_told_by_the_page(
    browser_like, monkeypatch, commission, settings, tmp_path
):
    settings.DATA_DIR = tmp_path  # where no other test has kept the same photograph

    def full(_handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    address = reverse("job-photos", args=[commission.pk])
    with monkeypatch.context() as patched:
        patched.setattr(kept_files.os, "fsync", full)
        assert told(browser_like.post(address, {"photo_file": photo_file()}), FULL)
    assert not JobPhoto.objects.exists()
    assert browser_like.post(address, {"photo_file": photo_file()}).status_code == 302
    assert JobPhoto.objects.count() == 1
