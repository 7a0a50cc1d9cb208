"""Results of the heavy stages kept as files under DATA_DIR, named by what they were made from.

A file's name is the sha256 of the canonical input and the engine's version, so a result can never
be stale; the whole folder may be deleted at any time.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from django.conf import settings

from workshop.strict_json import JsonError, read_json, write_json


def kept(kind: str, source: object, make: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """Return the document made from `source`, from its file or made and kept now."""
    document = found(kind, source)
    if document is None:
        document = make()
        _write(_path(kind, source), write_json(document))
    return document


def found(kind: str, source: object) -> dict[str, Any] | None:
    """Return the document made from `source` if it is kept, or None."""
    try:
        return read_json(_path(kind, source).read_bytes())
    except (OSError, JsonError):
        return None


def is_kept(kind: str, source: object) -> bool:
    """Return whether the document made from `source` is there to be read."""
    return _path(kind, source).is_file()


def note(kind: str, source: object, document: Mapping[str, Any]) -> None:
    """Keep what changes while it is being made, such as how far that is; the newest stays."""
    _write(_path(kind, source), write_json(document))


def _path(kind: str, source: object) -> Path:
    named = kind.encode() + b"\n" + write_json(source, sort_keys=True)
    digest = hashlib.sha256(named).hexdigest()
    return Path(settings.DATA_DIR) / "cache" / kind / digest[:2] / f"{digest}.json"


def _write(path: Path, content: bytes) -> None:
    """Write whole or not at all; a full disk only costs the keeping."""
    temporary = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent)
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        os.replace(temporary, path)
    except OSError:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
