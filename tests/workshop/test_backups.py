"""Backups: made under load, proved, restored row by row; what is damaged or in the way is said."""

import hashlib
import json
import shutil
import sqlite3
import threading
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest
import time_machine
from django.apps import apps
from django.core.management import call_command
from django.db import connection, connections

from workshop.backups import MANIFEST, backup_check, backup_make, backup_restore, backups_in
from workshop.kept_files import file_keep
from workshop.models import Customer, Supply
from workshop.services.stock import stock_count

pytestmark = pytest.mark.django_db(transaction=True)

needs_sqlite = pytest.mark.skipif(
    connection.vendor != "sqlite", reason="reads the copied file row by row, as SQLite alone can"
)


@pytest.fixture(autouse=True)
def own_data(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "data"
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "secret_key").write_text("a key")
    return tmp_path / "data"


def command(*arguments):
    """Return exit status, what was said, and what was complained of."""
    out, err = StringIO(), StringIO()
    try:
        call_command(*arguments, stdout=out, stderr=err, no_color=True)
    except SystemExit as stop:
        return stop.code, out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


def rows_by_hand(path, table):
    with sqlite3.connect(path) as database:
        return sorted(map(str, database.execute(f'SELECT * FROM "{table}"').fetchall()))


def rows_now(table):
    return rows_by_hand(connection.settings_dict["NAME"], table)


@needs_sqlite
def test_what_is_restored_is_what_was_there_row_by_row(own_data, tmp_path, supplies, owner, doll):
    digest = file_keep("meshes", ".obj", b"v 0 0 0\n")
    status, said, _err = command("backup", "--into", str(tmp_path / "kept"))
    assert status == 0
    (backup,) = backups_in(tmp_path / "kept")
    assert str(backup) in said
    status, said, _err = command("restore", str(backup), "--into", str(tmp_path / "new"))
    assert status == 0
    assert f"DATA_DIR={tmp_path / 'new'}" in said
    tables = {model._meta.db_table for model in apps.get_models(include_auto_created=True)}
    assert any(rows_now(table) for table in tables)
    for table in tables:
        assert rows_by_hand(tmp_path / "new" / "workshop.sqlite3", table) == rows_now(table), table
    assert (tmp_path / "new" / "secret_key").read_text() == "a key"
    mesh = tmp_path / "new" / "meshes" / digest[:2] / f"{digest}.obj"
    assert mesh.read_bytes() == b"v 0 0 0\n"


@needs_sqlite
def test_a_backup_under_load_is_of_one_moment(own_data, tmp_path, supplies, owner):
    """Each counting writes a move and its balance together; a backup holds both or neither."""
    supply = Supply.objects.first()
    stop = threading.Event()
    faults = []

    def write():
        try:
            number = 0
            while not stop.is_set():
                number += 1
                stock_count(supply, counted=Decimal(number % 50), reason="test", by=owner)
        except Exception as error:
            faults.append(error)
        finally:
            connections.close_all()

    writer = threading.Thread(target=write)
    writer.start()
    try:
        made = []
        with time_machine.travel(1_800_000_000, tick=False) as clock:
            for _ in range(5):
                made.append(backup_make(tmp_path / "kept"))
                clock.shift(1)
    finally:
        stop.set()
        writer.join()
    assert not faults
    for backup in made:
        backup_check(backup)
        with sqlite3.connect(backup / "database.sqlite3") as database:
            (moved,) = database.execute(
                "SELECT coalesce(sum(on_hand_change), 0)"
                " FROM workshop_stockmove WHERE supply_id = ?",
                (supply.pk,),
            ).fetchone()
            (held,) = database.execute(
                "SELECT on_hand FROM workshop_stockbalance WHERE supply_id = ?", (supply.pk,)
            ).fetchone()
        assert moved == held


def test_only_the_newest_are_kept(own_data, tmp_path):
    with time_machine.travel(1_800_000_000, tick=False) as clock:
        for _ in range(4):
            assert command("backup", "--into", str(tmp_path / "kept"), "--keep", "2")[0] == 0
            clock.shift(3600)
    kept = backups_in(tmp_path / "kept")
    assert len(kept) == 2
    assert kept[0].name > kept[1].name
    assert sorted(p.name for p in (tmp_path / "kept").iterdir()) == sorted(p.name for p in kept)


@pytest.fixture
def backup(own_data, tmp_path, owner):
    Customer.objects.create(number=1, name="Somebody")
    file_keep("photographs", ".jpg", b"picture")
    return backup_make(tmp_path / "kept")


def damage_missing(backup):
    next(backup.glob("files/photographs/*/*.jpg")).unlink()


def damage_changed(backup):
    next(backup.glob("files/photographs/*/*.jpg")).write_bytes(b"another")


def damage_beside(backup):
    (backup / "files" / "more.txt").write_text("x")


def damage_list(backup):
    (backup / MANIFEST).write_text("{")


def damage_no_list(backup):
    (backup / MANIFEST).unlink()


def damage_other_list(backup):
    (backup / MANIFEST).write_text(json.dumps({"files": [], "database": "database.sqlite3"}))


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (damage_missing, "it is missing"),
        (damage_changed, "not as it was backed up"),
        (damage_beside, "not on the backup's list"),
        (damage_list, MANIFEST),
        (damage_no_list, "No such file"),
        (damage_other_list, "no list of a backup"),
    ],
)
def test_a_damaged_backup_is_refused_and_nothing_is_written(backup, tmp_path, damage, words):
    damage(backup)
    for way in (("--check",), ("--into", str(tmp_path / "new"))):
        status, said, complaint = command("restore", str(backup), *way)
        assert status == 2
        assert words in complaint
        assert len(complaint.strip().splitlines()) == 1
        assert not said
    assert not (tmp_path / "new").exists()


@needs_sqlite
def test_a_database_that_is_none_is_refused(backup, tmp_path):
    path = backup / "database.sqlite3"
    path.write_bytes(path.read_bytes()[:4096] + b"\0" * 9000)
    listed = json.loads((backup / MANIFEST).read_text())

    listed["files"]["database.sqlite3"] = [
        path.stat().st_size,
        hashlib.sha256(path.read_bytes()).hexdigest(),
    ]
    (backup / MANIFEST).write_text(json.dumps(listed))
    status, _said, complaint = command("restore", str(backup), "--check")
    assert status == 2
    assert "database.sqlite3" in complaint


def test_nothing_is_restored_over_something(backup, tmp_path):
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / "workshop.sqlite3").write_text("mine")
    status, _said, complaint = command("restore", str(backup), "--into", str(tmp_path / "new"))
    assert status == 2
    assert "not empty" in complaint
    assert (tmp_path / "new" / "workshop.sqlite3").read_text() == "mine"


@pytest.mark.parametrize(
    "arguments",
    [
        ("backup", "--keep", "0"),
        ("backup", "--keep", "many"),
        ("backup", "--into", "/proc/none/of/it"),
        ("restore", "/nowhere", "--check"),
        ("restore", "/nowhere"),
        ("restore", "/nowhere", "--check", "--into", "/elsewhere"),
    ],
)
def test_what_cannot_be_is_one_line_and_status_2(own_data, arguments):
    status, _said, complaint = command(*arguments)
    assert status == 2
    assert len(complaint.strip().splitlines()) == 1


def test_a_full_disk_leaves_no_half_of_a_backup(own_data, tmp_path, monkeypatch):
    def full(_source, _target, **_options):
        raise OSError(28, "No space left on device", str(tmp_path / "kept"))

    file_keep("meshes", ".obj", b"v 0 0 0\n")
    monkeypatch.setattr(shutil, "copytree", full)
    status, _said, complaint = command("backup", "--into", str(tmp_path / "kept"))
    assert status == 2
    assert "No space left" in complaint
    assert list((tmp_path / "kept").iterdir()) == []


@pytest.mark.every_database
def test_backup_and_restore_on_whatever_database_is_in_use(backup, tmp_path):
    manifest = backup_check(backup)
    assert Path(backup / manifest["database"]).stat().st_size > 0
    if connection.vendor == "sqlite":
        assert backup_restore(backup, tmp_path / "new")["files"] == manifest["files"]
    else:
        # The database in use is not empty: nothing is put over it.
        status, _said, complaint = command("restore", str(backup), "--into", str(tmp_path / "n"))
        assert status == 2
        assert "not empty" in complaint
