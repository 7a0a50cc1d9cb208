"""Results of the heavy stages kept as files under DATA_DIR, named by what they were made from.

A file's name is the sha256 of the canonical input and the engine's version, so a result can never
be stale; the whole folder may be deleted at any time.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.conf import settings

from workshop.strict_json import JsonError, read_json, write_json


def kept(kind: str, source: object, make: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """Return the document made from `source`, from its file or made and kept now."""
    named = kind.encode() + b"\n" + write_json(source, sort_keys=True)
    digest = hashlib.sha256(named).hexdigest()
    path = Path(settings.DATA_DIR) / "cache" / kind / digest[:2] / f"{digest}.json"
    try:
        return read_json(path.read_bytes())
    except (OSError, JsonError):
        document = make()
    _write(path, write_json(document))
    return document


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
