"""Files that no record names: listed by check_records, removed by --tidy when they are old."""

import io
import os
import time
from pathlib import Path

import pytest
from django.core.management import call_command

from workshop import mesh_files, paper_work, photo_files
from workshop.kept_files import file_keep, file_path
from workshop.models import BackgroundJob, FootVersion, JobPhoto
from workshop.services.orders import commission_take_in
from workshop.work import SHEETS

pytestmark = pytest.mark.django_db
TWO_HOURS_S = 7200
MESH = (mesh_files.FOLDER, mesh_files.ENDING)
PHOTOGRAPH = (photo_files.FOLDER, photo_files.ENDING)
PAPER = (paper_work.FOLDER, paper_work.PDF)


@pytest.fixture
def folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path


def kept(kind: tuple[str, str], content: bytes) -> tuple[str, Path]:
    """Keep a file as if two hours ago."""
    digest = file_keep(*kind, content)
    path = file_path(*kind, digest)
    return digest, older(path)


def older(path: Path) -> Path:
    then = time.time() - TWO_HOURS_S
    os.utime(path, (then, then))
    return path


def check(*options: str) -> str:
    out = io.StringIO()
    call_command("check_records", *options, stdout=out)
    return out.getvalue()


def sheets(state: str, **values: object) -> BackgroundJob:
    return BackgroundJob.objects.create(kind=SHEETS, key="a", inputs={}, state=state, **values)


def test_only_old_files_that_no_record_names_are_removed_and_named(folder, foot_version, owner):
    mesh, named_mesh = kept(MESH, b"v 0 0 0")
    FootVersion._base_manager.filter(pk=foot_version.pk).update(mesh={"sha256": mesh})
    photograph, named_photograph = kept(PHOTOGRAPH, b"a picture")
    doll = foot_version.doll
    job = commission_take_in(customer=doll.customer, doll=doll, note="", by=owner)
    JobPhoto.objects.create(commission=job, sha256=photograph, width_px=1, height_px=1)
    paper, named_paper = kept(PAPER, b"all sheets")
    done, sheet_done = kept(PAPER, b"one sheet, joined already")
    begun, sheet_begun = kept(PAPER, b"one sheet to go on from")
    sheets("done", result={"file": paper, "count": 1}, so_far={"made": {"1": done}})
    sheets("stopped", so_far={"made": {"2": begun}})
    _digest, left = kept(MESH, b"v 1 1 1")
    (folder / "uploads").mkdir()
    by_hand = folder / "uploads" / "list.csv"
    by_hand.write_bytes(b"12 bytes ...")
    older(by_hand)
    new = file_path(*PHOTOGRAPH, file_keep(*PHOTOGRAPH, b"sent just now"))
    listed = check()
    for path in (left, by_hand, sheet_done, new):
        assert f"{path.relative_to(folder)}: no record names it" in listed
        assert path.exists()
    assert f"{new.relative_to(folder)}: no record names it (13 bytes, less than" in listed
    assert "4 files" in listed
    said = check("--tidy")
    assert "list.csv: removed (12 bytes)" in said
    assert "3 files" in said
    assert not any(path.exists() for path in (left, by_hand, sheet_done))
    for path in (named_mesh, named_photograph, named_paper, sheet_begun, new):
        assert path.exists()
    assert "0 files (0 bytes) removed" in check("--tidy")


def test_a_file_kept_anew_counts_as_new(folder):
    _digest, path = kept(PHOTOGRAPH, b"sent again")
    file_keep(*PHOTOGRAPH, b"sent again")
    check("--tidy")
    assert path.exists()


def test_nothing_is_removed_while_a_named_file_is_lost(folder, foot_version):
    FootVersion._base_manager.filter(pk=foot_version.pk).update(mesh={"sha256": "0" * 64})
    _digest, left = kept(MESH, b"v 1 1 1")
    err = io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("check_records", "--tidy", stderr=err, stdout=io.StringIO())
    assert ended.value.code == 1
    assert "nothing is removed" in err.getvalue()
    assert left.exists()
