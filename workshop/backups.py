"""Backups: the database as of one moment, the kept files, and a list of what must be there.

A backup is a folder of its own. The database is copied first and the files after it: files are
written before the records that name them and never changed, so every file a record names is there.
What can be made again (caches, compiled code, drawn papers) is left out. The secret key goes along,
or the links sent to customers would stop working: keep a backup as safe as the workshop itself.
"""

import datetime
import hashlib
import os
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection
from django.utils import timezone

from workshop.mesh_files import FOLDER as MESHES
from workshop.photo_files import FOLDER as PHOTOGRAPHS
from workshop.strict_json import JsonError, read_json_object, write_json

KEPT_FOLDERS = (MESHES, PHOTOGRAPHS, "uploads")
SECRET_KEY_FILE = "secret_key"
MANIFEST = "manifest.json"
SQLITE_FILE, POSTGRES_FILE = "database.sqlite3", "database.dump"
DATABASE_NAME = "workshop.sqlite3"
KEEP = 14  # backups of two weeks, one a day: common practice, no source
STAMP = "%Y-%m-%dT%H%M%S"


class BackupError(Exception):
    """A backup cannot be made or used; the text is one line for the user."""


def backup_make(into: Path, *, keep: int = KEEP) -> Path:
    """Make a backup in a new folder under ``into`` and drop all but the newest ``keep``.

    Raises
    ------
    BackupError
        It cannot be written; nothing half-made stays.
    """
    now = timezone.now().astimezone(datetime.UTC)
    folder = into / now.strftime(STAMP)
    unfinished = into / f".{folder.name}.part"
    try:
        into.mkdir(parents=True, exist_ok=True)
        unfinished.mkdir(mode=0o700)
        database = _copy_database(unfinished)
        for name in (*KEPT_FOLDERS, SECRET_KEY_FILE):
            _copy(Path(settings.DATA_DIR) / name, unfinished / "files" / name)
        manifest = {
            "made_at": now.isoformat(),
            "database": database,
            "rows": rows_of_tables(unfinished / database) if database == SQLITE_FILE else {},
            "files": {
                str(path.relative_to(unfinished)): [path.stat().st_size, _sha256(path)]
                for path in sorted(_files_in(unfinished))
            },
        }
        (unfinished / MANIFEST).write_bytes(write_json(manifest))
        os.replace(unfinished, folder)
    except FileExistsError:
        raise BackupError(f"{folder}: a backup of this very second is there already") from None
    except OSError as error:
        shutil.rmtree(unfinished, ignore_errors=True)
        raise BackupError(f"{error.filename or into}: {error.strerror}") from None
    except BackupError:
        shutil.rmtree(unfinished, ignore_errors=True)
        raise
    for old in backups_in(into)[keep:]:
        shutil.rmtree(old)
    return folder


def backups_in(folder: Path) -> list[Path]:
    """Return the finished backups of a folder, the newest first."""
    found = [
        path.parent for path in folder.glob(f"*/{MANIFEST}") if not path.parent.name.startswith(".")
    ]
    return sorted(found, reverse=True)


def backup_check(backup: Path) -> dict[str, Any]:
    """Hold every file of a backup against its list, and its database against itself.

    Returns
    -------
    dict
        The manifest.

    Raises
    ------
    BackupError
        It is no backup, or a file is missing, changed or beside the list.
    """
    try:
        manifest = read_json_object((backup / MANIFEST).read_bytes())
    except OSError as error:
        raise BackupError(f"{backup / MANIFEST}: {error.strerror}") from None
    except JsonError as error:
        raise BackupError(f"{backup / MANIFEST}: {error}") from None
    listed = manifest.get("files")
    if not isinstance(listed, dict) or manifest.get("database") not in (SQLITE_FILE, POSTGRES_FILE):
        raise BackupError(f"{backup / MANIFEST}: this is no list of a backup")
    found = {str(path.relative_to(backup)): path for path in _files_in(backup)}
    for name, said in sorted(listed.items()):
        path = found.pop(name, None)
        if path is None:
            raise BackupError(f"{backup / name}: it is missing")
        if [path.stat().st_size, _sha256(path)] != said:
            raise BackupError(f"{backup / name}: it is not as it was backed up")
    if found:
        raise BackupError(f"{backup / sorted(found)[0]}: it is not on the backup's list")
    if manifest["database"] == SQLITE_FILE:
        rows = rows_of_tables(backup / SQLITE_FILE)
        if rows != manifest.get("rows"):
            raise BackupError(f"{backup / SQLITE_FILE}: its rows are not those that were counted")
    return manifest


def backup_restore(backup: Path, into: Path) -> dict[str, Any]:
    """Put a checked backup into a new data folder, and return its manifest.

    On PostgreSQL the database named by DATABASE_URL must be empty; it is filled.

    Raises
    ------
    BackupError
        The backup does not hold, or there is something in the way; nothing is changed then.
    """
    manifest = backup_check(backup)
    if into.exists() and any(into.iterdir()):
        raise BackupError(f"{into}: it is not empty; name a new folder")
    try:
        into.mkdir(parents=True, exist_ok=True)
        if (backup / "files").is_dir():
            shutil.copytree(backup / "files", into, dirs_exist_ok=True)
        if manifest["database"] == SQLITE_FILE:
            shutil.copy2(backup / SQLITE_FILE, into / DATABASE_NAME)
        else:
            _fill_postgres(backup / POSTGRES_FILE)
    except OSError as error:
        raise BackupError(f"{error.filename or into}: {error.strerror}") from None
    return manifest


def rows_of_tables(path: Path) -> dict[str, int]:
    """Return how many rows each table of an SQLite file holds; a broken one is a BackupError."""
    try:
        with sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True) as database:
            (sound,) = database.execute("PRAGMA integrity_check").fetchone()
            if sound != "ok":
                raise BackupError(f"{path}: the database is broken: {sound}")
            names = database.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
            ).fetchall()
            return {
                name: database.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0]
                for (name,) in names
            }
    except sqlite3.DatabaseError as error:
        raise BackupError(f"{path}: {error}") from None


def _copy_database(into: Path) -> str:
    """Copy the database as of one moment, while others write; return its file's name."""
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        target = sqlite3.connect(into / SQLITE_FILE)
        try:
            # SQLite's own online backup: all pages in one step, so as of one moment.
            connection.connection.backup(target, pages=-1)
        except sqlite3.DatabaseError as error:
            raise BackupError(f"{into / SQLITE_FILE}: {error}") from None
        finally:
            target.close()
        return SQLITE_FILE
    _run_postgres(["pg_dump", "--format=custom", f"--file={into / POSTGRES_FILE}", "--no-owner"])
    return POSTGRES_FILE


def _fill_postgres(dump: Path) -> None:
    if connection.vendor != "postgresql":
        raise BackupError("This backup is of PostgreSQL; set DATABASE_URL to an empty database")
    if connection.introspection.table_names():
        raise BackupError("The database named by DATABASE_URL is not empty; name an empty one")
    connection.close()
    _run_postgres(
        ["pg_restore", "--no-owner", "--exit-on-error", "--single-transaction", str(dump)]
    )


def _run_postgres(command: list[str]) -> None:
    """Run one of PostgreSQL's own programs on our database; the password goes by environment."""
    given = connection.settings_dict
    environment = {
        **os.environ,
        "PGHOST": str(given["HOST"] or ""),
        "PGPORT": str(given["PORT"] or ""),
        "PGUSER": str(given["USER"] or ""),
        "PGPASSWORD": str(given["PASSWORD"] or ""),
    }
    name = "--dbname" if command[0] == "pg_restore" else "-d"
    where = [name, str(given["NAME"])]
    try:
        done = subprocess.run(
            [command[0], *where, *command[1:]],
            env={key: value for key, value in environment.items() if value},
            capture_output=True,
            text=True,
            check=False,
        )
    except FileNotFoundError:
        raise BackupError(
            f"{command[0]} is not installed; it comes with PostgreSQL's client programs"
        ) from None
    if done.returncode:
        raise BackupError(f"{command[0]}: {(done.stderr.strip().splitlines() or ['failed'])[-1]}")


def _copy(source: Path, target: Path) -> None:
    if source.is_dir():
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("tmp*"))
    elif source.is_file():
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(source, target)


def _files_in(folder: Path) -> Iterator[Path]:
    for path in folder.rglob("*"):
        if path.is_file() and path != folder / MANIFEST:
            yield path


def _sha256(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
