"""Outlines of hides and soles from others' files; runs in the child process of uploads."""

from collections.abc import Mapping
from typing import Any

from patterns.errors import OutlineError
from patterns.exchange.outline_file import READERS, FileOutlines, sole_outline_from
from patterns.units import MM_PER_UNIT
from workshop.faults import FaultyFileError, fault


def read_outlines(data: bytes, options: Mapping[str, Any]) -> FileOutlines:
    """Return the largest outline and those on it; ``ending`` among the options tells the kind.

    ``unit`` among them, one of `patterns.units.MM_PER_UNIT`, goes before what the file says.

    Raises
    ------
    FaultyFileError
        The file cannot be read as outlines; the fault names its line where there is one.
    """
    if not data.strip():
        raise FaultyFileError([fault("empty")])
    try:
        read = READERS[str(options["ending"])](data, MM_PER_UNIT.get(str(options.get("unit"))))
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FaultyFileError([fault("encoding", ("line", line))]) from None
    except OutlineError as error:
        raise FaultyFileError([fault("outline", said=error.text)]) from None
    return read


def read_hide(data: bytes, options: Mapping[str, Any]) -> dict[str, Any]:
    """Return the outline and the defects of a hide as plain values; see `read_outlines`."""
    read = read_outlines(data, options)
    return {"outline": read.outline_mm, "defects": read.defects_mm}


def read_sole(data: bytes, options: Mapping[str, Any]) -> dict[str, Any]:
    """Return the largest outline as a foot's tracing; see `read_outlines`."""
    return {"sole_outline": sole_outline_from(read_outlines(data, options))}
