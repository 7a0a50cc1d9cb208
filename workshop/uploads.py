"""The one way in for files: size first, then a child process bound in time and memory.

The page's own process never parses what a stranger wrote. The child turns bytes into plain values
or says what is wrong; a file that makes it run away ends the child and nothing else.
"""

import json
import os
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler, SkipFile
from django.http import HttpRequest
from django.utils.translation import gettext as _

from patterns.mesh_in import mesh_ending
from patterns.units import MM_PER_UNIT
from workshop.fault_words import fault_text
from workshop.faults import fault
from workshop.tokens import random_token, token_hash

SECONDS_MOST = 20
HELD_SECONDS = 3600
TOO_LARGE = "file_too_large"
OUTLINE_ENDINGS = (".csv", ".svg", ".dxf", ".json")
ENDINGS = {"tracing": (".csv", ".json", ".svg", ".dxf"), "library": (".csv", ".json")}


class UploadError(ValueError):
    """A file cannot be used; `messages` says why, one sentence a fault."""

    def __init__(self, messages: list[str]) -> None:
        super().__init__(messages[0])
        self.messages = messages


class SizeBoundHandler(FileUploadHandler):
    """Stops keeping a file once it is larger than the workshop takes."""

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        """Begin counting."""
        super().new_file(*args, **kwargs)
        self.received = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        """Hand the piece on, or drop the rest of the file."""
        self.received += len(raw_data)
        if self.received > settings.UPLOAD_MAX_BYTES:
            setattr(self.request, TOO_LARGE, True)
            raise SkipFile
        return raw_data

    def file_complete(self, file_size: int) -> None:
        """Leave the file to the next handler."""


def upload_given(request: HttpRequest, name: str) -> UploadedFile | None:
    """Return the file sent in a field, None when none was chosen.

    Raises
    ------
    UploadError
        A file was too large to be taken.
    """
    upload = request.FILES.get(name)
    if upload is None and getattr(request, TOO_LARGE, False):
        raise UploadError([_too_large()])
    return upload


def read_upload(upload: UploadedFile, what: str, *, unit: str = "") -> Any:
    """Return the plain values of a file, read in a child process.

    Parameters
    ----------
    upload : UploadedFile
        Its name's ending says how it is written.
    what : str
        "tracing" or "library".
    unit : str
        The unit a tracing is drawn in, where the file does not say it or says it wrongly.

    Raises
    ------
    UploadError
        The file is too large, of another kind, or cannot be read; every fault found is told.
    """
    ending = Path(upload.name or "").suffix.lower()
    if ending not in ENDINGS[what]:
        kind = "outline-kind" if what == "tracing" else "kind"
        raise UploadError([fault_text(fault(kind, name=(upload.name or "")[:80]))])
    if (upload.size or 0) > settings.UPLOAD_MAX_BYTES:
        raise UploadError([_too_large()])
    return read_bytes(upload.read(), f"{what}-{ending[1:]}", {"unit": unit})


def read_bytes(data: bytes, reader: str, options: Mapping[str, Any] | None = None) -> Any:
    """Return what the child makes of the bytes; see `workshop.upload_reader` for the readers."""
    try:
        child = subprocess.run(
            [sys.executable, "-m", "workshop.upload_reader", reader, json.dumps(options or {})],
            input=data,
            capture_output=True,
            timeout=SECONDS_MOST,
            check=False,
            cwd=settings.BASE_DIR,
            # Nothing of the page's own environment: no secret key, no database.
            env={"PATH": os.environ.get("PATH", ""), "OPENBLAS_NUM_THREADS": "1"},
        )
    except subprocess.TimeoutExpired:
        raise UploadError([fault_text(fault("slow", seconds=SECONDS_MOST))]) from None
    if child.returncode != 0:
        raise UploadError([fault_text(fault("unreadable"))])
    answer = json.loads(child.stdout)
    if "faults" in answer:
        raise UploadError([fault_text(found) for found in answer["faults"]])
    return answer["value"]


def mesh_bytes(upload: UploadedFile) -> bytes:
    """Return the content of a file that by its name and size can be a mesh.

    Raises
    ------
    UploadError
        It is too large, or of another kind.
    """
    if mesh_ending(upload.name or "") is None:
        raise UploadError([fault_text(fault("mesh-kind", name=(upload.name or "")[:80]))])
    return upload_bytes(upload)


def upload_bytes(upload: UploadedFile) -> bytes:
    """Return the content of a file of a size that is taken; raises UploadError."""
    if (upload.size or 0) > settings.UPLOAD_MAX_BYTES:
        raise UploadError([_too_large()])
    return bytes(upload.read())


def read_outline_upload(upload: UploadedFile, *, unit: str = "") -> dict[str, Any]:
    """Return the outline and the defects that a CSV, SVG, DXF or JSON file holds, in mm.

    ``unit`` goes before what the file says of its unit.

    Raises
    ------
    UploadError
        The file is too large, of another kind, or cannot be read; the line is told.
    """
    ending = Path(upload.name or "").suffix.lower()
    if ending not in OUTLINE_ENDINGS:
        raise UploadError([fault_text(fault("outline-kind", name=(upload.name or "")[:80]))])
    options = {"ending": ending, "unit": unit}
    read: dict[str, Any] = read_bytes(upload_bytes(upload), "outline", options)
    return read


def unit_asked(data: Mapping[str, Any], name: str) -> str:
    """Return the unit somebody chose for a file, empty for what the file says."""
    unit = str(data.get(name, ""))
    return unit if unit in MM_PER_UNIT else ""


def _too_large() -> str:
    return fault_text(fault("large", most=settings.UPLOAD_MAX_BYTES // (1024 * 1024)))


# --- what was read and waits for a yes -----------------------------------------------------


def hold(value: Any, *, purpose: str, user_id: int) -> str:
    """Keep a read file's values for an hour and return the token they are asked back with."""
    folder = _holding_folder()
    _drop_expired(folder)
    token = random_token()
    text = json.dumps({"purpose": purpose, "user_id": user_id, "value": value})
    with os.fdopen(
        os.open(_held_path(token), os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w"
    ) as stream:
        stream.write(text)
    return token


def held(token: str, *, purpose: str, user_id: int) -> Any:
    """Return what a token stands for, None when it is unknown, old or somebody else's."""
    path = _held_path(token)
    try:
        fresh = time.time() - path.stat().st_mtime < HELD_SECONDS
        kept = json.loads(path.read_text()) if token and fresh else {}
    except (OSError, ValueError):
        return None
    asked = (purpose, user_id)
    return kept.get("value") if (kept.get("purpose"), kept.get("user_id")) == asked else None


def let_go(token: str) -> None:
    """Forget what a token stands for."""
    _held_path(token).unlink(missing_ok=True)


def not_held_text() -> str:
    """Return what to say when a token no longer stands for anything."""
    return _("That file is no longer kept here; choose it again.")


def _holding_folder() -> Path:
    folder: Path = settings.DATA_DIR / "imports"
    folder.mkdir(mode=0o700, exist_ok=True)
    return folder


def _held_path(token: str) -> Path:
    # The name is worked out from the token: whatever was sent, it stays inside the folder.
    return settings.DATA_DIR / "imports" / f"{token_hash(token)}.json"


def _drop_expired(folder: Path) -> None:
    for path in folder.glob("*.json"):
        try:
            if time.time() - path.stat().st_mtime >= HELD_SECONDS:
                path.unlink()
        except FileNotFoundError:
            continue  # another process was quicker
