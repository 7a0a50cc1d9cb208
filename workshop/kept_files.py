"""Files under DATA_DIR named by the sha256 of their content: written once, never changed."""

import contextlib
import hashlib
import os
import tempfile
from pathlib import Path

from django.conf import settings

DIGEST_LETTERS = 64


def file_keep(folder: str, ending: str, content: bytes) -> str:
    """Write a file whole, or find it written already, and return its sha256."""
    digest = hashlib.sha256(content).hexdigest()
    path = file_path(folder, ending, digest)
    if path.exists():
        # As new as its next record: what tidies up leaves it alone (`unnamed_files`).
        with contextlib.suppress(OSError):
            os.utime(path)
        return digest
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(temporary, path)
    except OSError:  # a full disk: what was begun must not take up the rest of it
        os.unlink(temporary)
        raise
    return digest


def file_content(folder: str, ending: str, digest: str) -> bytes | None:
    """Return the bytes of a kept file; None when it is missing, or is not what was kept."""
    try:
        content = file_path(folder, ending, digest).read_bytes() if is_digest(digest) else b""
    except OSError:
        return None
    return content if hashlib.sha256(content).hexdigest() == digest else None


def is_digest(text: str) -> bool:
    """Return whether a text can be the name of a kept file: it never leads out of the folder."""
    return len(text) == DIGEST_LETTERS and all(letter in "0123456789abcdef" for letter in text)


def file_path(folder: str, ending: str, digest: str) -> Path:
    """Return where a file is kept."""
    return Path(settings.DATA_DIR) / folder / digest[:2] / f"{digest}{ending}"
