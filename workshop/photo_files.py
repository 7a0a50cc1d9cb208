"""Photographs of hides as files under DATA_DIR: re-drawn as plain JPEG by the uploads' child."""

import base64
from collections.abc import Mapping
from functools import lru_cache
from io import BytesIO
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from PIL import Image

from workshop.kept_files import file_content, file_keep, is_digest
from workshop.uploads import read_bytes, upload_bytes

FOLDER, ENDING = "photographs", ".jpg"


def photo_take(upload: UploadedFile) -> str:
    """Read a photograph in the child process, keep it, and return its sha256.

    Raises
    ------
    UploadError
        It is too large or no photograph that can be read.
    """
    seen: Mapping[str, Any] = read_bytes(upload_bytes(upload), "photograph")
    return file_keep(FOLDER, ENDING, base64.b64decode(seen["jpeg"]))


def photo_content(digest: str) -> bytes | None:
    """Return a kept photograph, or None when it is not there as it was kept."""
    return file_content(FOLDER, ENDING, digest)


@lru_cache(maxsize=256)
def photo_size_px(digest: str) -> tuple[int, int] | None:
    """Return width and height of a kept photograph, None when there is none of that name."""
    content = photo_content(digest) if is_digest(digest) else None
    if content is None:
        return None
    # Our own file, written by the child: its head alone is read.
    with Image.open(BytesIO(content)) as picture:
        return picture.size
