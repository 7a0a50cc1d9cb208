"""Results many tests begin with: worked out once in a run, then shared between its processes.

Only what follows from its key alone is shared, and only within one run, so that no result outlives
the code that made it. A test that runs alone works everything out itself.
"""

import hashlib
import os
import pickle
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

_kept: dict[str, bytes] = {}
_folder: Path | None = None


def share_in(folder: Path | None) -> None:
    """Share through a folder that all processes of this run know; None for one process alone."""
    global _folder
    _folder = folder


def shared(kind: str, key: object, make: Callable[[], Any]) -> Any:
    """Return what `make` gives for a key, made by the first that asks; each caller gets a copy."""
    name = f"{kind}-{hashlib.sha256(repr(key).encode()).hexdigest()}"
    if name not in _kept:
        _kept[name] = _read(name) or _written(name, pickle.dumps(make()))
    return pickle.loads(_kept[name])


def _read(name: str) -> bytes | None:
    try:
        return (_folder / name).read_bytes() if _folder else None
    except FileNotFoundError:
        return None


def _written(name: str, content: bytes) -> bytes:
    if _folder:
        handle, temporary = tempfile.mkstemp(dir=_folder)
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        os.replace(temporary, _folder / name)
    return content
