"""Bad files sent to every address that takes one: told, nothing stored, memory bounded."""

import hashlib
import os

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.urls import reverse

from tests.workshop.bad_files import bad_files
from tests.workshop.reader_server import ReaderServer
from workshop import uploads
from workshop.models import WorkshopProfile
from workshop.upload_reader import MEMORY_MOST_BYTES

pytestmark = [pytest.mark.django_db, pytest.mark.paper]
LEAST = 200
FILES = bad_files()


@pytest.fixture(scope="module")
def reader():
    given = {"PATH": os.environ["PATH"], "OPENBLAS_NUM_THREADS": "1"}
    server = ReaderServer({**given, "PYTHONPATH": os.pathsep.join([os.getcwd()])})
    yield server
    server.close()


@pytest.fixture
def children(reader, monkeypatch):
    monkeypatch.setattr(uploads.subprocess, "run", reader.run)
    return reader


def row_counts():
    """Return how many rows each table has, asked in one query."""
    models = [m for m in apps.get_models(include_auto_created=True) if not m._meta.proxy]
    tables = [model._meta.db_table for model in models]
    with connection.cursor() as cursor:
        counts = ", ".join(f'(SELECT COUNT(*) FROM "{table}")' for table in tables)
        cursor.execute(f"SELECT {counts}")
        return dict(zip(tables, cursor.fetchone(), strict=True))


def files_kept(folder):
    return {
        path.relative_to(folder): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and path.parent.name != "imports"
    }


def addresses(doll, hide, commission):
    """Return each address that takes a file: its field, what it takes, what goes with it."""
    foot = {"foot_side": "left", "reason": "sent by a test"}
    lot = hide.lot_id
    return {
        "tracing": ("outline", "tracing_file", reverse("tracing-preview", args=[doll.pk]), foot),
        "foot": ("outline", "tracing_file", reverse("foot-new", args=[doll.pk]), foot),
        "library": ("outline", "library_file", reverse("library-import"), {}),
        "hide": ("outline", "outline_file", reverse("hide-new", args=[lot]), {"save": "1"}),
        "hide look": ("outline", "outline_file", reverse("hide-preview", args=[lot]), {}),
        "mesh": ("mesh", "mesh_file", reverse("foot-mesh", args=[doll.pk]), {}),
        "photo": ("picture", "photo_file", reverse("job-photos", args=[commission.pk]), {}),
        "enquiry": ("picture", "photo_file", reverse("job-new"), {"customer": "x", "doll": "y"}),
        "goods": ("picture", "photo_file", reverse("job-kept", args=[commission.pk]), {"what": ""}),
        "hide photo": ("picture", "photo_file", reverse("hide-new", args=[lot]), {"save": "1"}),
    }


def sent_to(places, every):
    """Yield each file with the addresses it is sent to: one after the other in turn, or all."""
    for kind, files in FILES.items():
        here = [(name, *place[1:]) for name, place in places.items() if place[0] == kind]
        for number, file in enumerate(files):
            yield file, here if every else [here[number % len(here)]]


def test_no_bad_file_is_stored_or_breaks_anything(
    children, owner_client, doll, hide, commission, settings, tmp_path
):
    """Every file at one address; with ``BAD_FILES_EVERYWHERE=1`` every file at every address."""
    settings.DATA_DIR = tmp_path
    WorkshopProfile.current()
    owner_client.raise_request_exception = False
    every = os.environ.get("BAD_FILES_EVERYWHERE") == "1"
    before = row_counts()
    sent, faults = 0, []
    for (file_name, content), places in sent_to(addresses(doll, hide, commission), every):
        for name, field, address, more in places:
            upload = SimpleUploadedFile("placeholder", content, "application/octet-stream")
            upload._name = file_name  # as it comes over the wire, not as Django would mend it
            answer = owner_client.post(address, {**more, field: upload})
            sent += 1
            told = (name, file_name[:20], len(content), content[:60])
            if answer.status_code not in (200, 400):
                faults.append((*told, answer.status_code))
            if children.statuses[-1:] == [1]:
                faults.append((*told, "the child broke off"))
    assert not faults, faults
    assert sent >= LEAST
    assert row_counts() == before
    assert files_kept(tmp_path) == {}
    assert children.most_kb * 1024 < MEMORY_MOST_BYTES
    assert set(children.statuses) == {0}, "a child ran into its limit"
    print(f"{sent} files, the largest child {children.most_kb // 1024} MB")
