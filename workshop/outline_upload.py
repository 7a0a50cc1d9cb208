"""Outlines of hides from files of others' making; runs in the child process of uploads."""

from collections.abc import Mapping
from typing import Any

from patterns.errors import OutlineError
from patterns.exchange.outline_file import READERS
from workshop.faults import FaultyFileError, fault


def read_outline(data: bytes, options: Mapping[str, Any]) -> dict[str, Any]:
    """Return the hide's outline and its defects; ``ending`` among the options tells the kind.

    Raises
    ------
    FaultyFileError
        The file cannot be read as outlines; the fault names its line where there is one.
    """
    if not data.strip():
        raise FaultyFileError([fault("empty")])
    try:
        read = READERS[str(options["ending"])](data)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FaultyFileError([fault("encoding", ("line", line))]) from None
    except OutlineError as error:
        raise FaultyFileError([fault("outline", said=error.text)]) from None
    return {"outline": read.outline_mm, "defects": read.defects_mm}
