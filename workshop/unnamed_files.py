"""Kept files that no record names any more, or never did: found, and removed once old enough.

A file is written before the record that names it, so a form that was left, a fault, or a worker cut
off leaves one behind. A new file may still get its record: only old ones are removed.
"""

import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from workshop import mesh_files, paper_work, photo_files
from workshop.kept_files import file_path
from workshop.models import BackgroundJob, FootVersion, Hide, JobPhoto
from workshop.work import ORDER_PAPERS, SHEETS

UPLOADS = "uploads"  # of no record of ours; what lies there was put there by hand
FOLDERS = (mesh_files.FOLDER, photo_files.FOLDER, paper_work.FOLDER, UPLOADS)
OLD_AFTER_S = 3600.0  # longer than anybody keeps a form open between its file and its record


@dataclass(frozen=True, slots=True)
class UnnamedFile:
    """A file that no record names: where it lies in the data folder, and how large it is."""

    name: str
    size_bytes: int
    is_old: bool


def unnamed_files() -> list[UnnamedFile]:
    """Return the files of the kept folders that no record names, by their names."""
    there = sorted(_files())
    # Asked after the folders: a file that has got its record meanwhile is named.
    named = _named()
    return [found for path in there if path not in named and (found := _looked_at(path))]


def unnamed_remove(found: UnnamedFile) -> bool:
    """Remove a file unless it is new, or was kept anew meanwhile; return whether it is gone."""
    path = Path(settings.DATA_DIR) / found.name
    now = _looked_at(path)
    if now is None or not now.is_old:
        return False
    path.unlink(missing_ok=True)
    return True


def _files() -> Iterator[Path]:
    for folder in FOLDERS:
        for path in (Path(settings.DATA_DIR) / folder).rglob("*"):
            if path.is_file() or path.is_symlink():
                yield path


def _looked_at(path: Path) -> UnnamedFile | None:
    try:
        seen = path.lstat()
    except FileNotFoundError:
        return None
    name = path.relative_to(settings.DATA_DIR).as_posix()
    return UnnamedFile(name, seen.st_size, time.time() - seen.st_mtime >= OLD_AFTER_S)


def _named() -> set[Path]:
    """Return where every file lies that a record names."""
    meshes = FootVersion.objects.exclude(mesh={}).values_list("mesh__sha256", flat=True)
    photographs = {
        *Hide.objects.exclude(photograph={}).values_list("photograph__sha256", flat=True),
        *JobPhoto.objects.values_list("sha256", flat=True),
    }
    return {
        *(file_path(mesh_files.FOLDER, mesh_files.ENDING, digest) for digest in meshes),
        *(file_path(photo_files.FOLDER, photo_files.ENDING, digest) for digest in photographs),
        *_papers(),
    }


def _papers() -> Iterator[Path]:
    """Yield the papers of finished work, and the sheets that unfinished work goes on from."""
    works = BackgroundJob.objects.filter(kind__in=(ORDER_PAPERS, SHEETS))
    for kind, state, result, so_far in works.values_list("kind", "state", "result", "so_far"):
        ending = paper_work.ZIP if kind == ORDER_PAPERS else paper_work.PDF
        made = {} if state == BackgroundJob.State.DONE else (so_far or {}).get("made", {})
        for digest in ((result or {}).get("file"), *made.values()):
            if digest:
                yield file_path(paper_work.FOLDER, ending, digest)
