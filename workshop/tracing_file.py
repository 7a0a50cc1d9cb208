"""Tracings of others' making, read strictly; runs in the child process of uploads."""

import csv
from collections.abc import Callable

from patterns.errors import FootError
from patterns.exchange.foot_file import tracing_from_csv, tracing_from_json
from patterns.tracing import check_sole_outline
from patterns.units import MM_PER_UNIT
from workshop.faults import FaultyFileError, fault
from workshop.library_file import decoded
from workshop.strict_json import JsonError, read_json

Point = tuple[float, float]
Curves = dict[str, tuple[Point, ...]]


def read_tracing_csv(data: bytes, *, unit: str = "") -> Curves:
    """Return the curves of a table of points; commas or, as some spreadsheets write, semicolons.

    The table is in millimetres unless ``unit``, one of `patterns.units.MM_PER_UNIT`, is another.

    Raises
    ------
    FaultyFileError
        What cannot be read, with its line.
    """
    text = decoded(data)
    if ";" in text.split("\n", 1)[0]:
        text = text.replace(",", ".").replace(";", ",")
    scale = MM_PER_UNIT.get(unit, 1.0)

    def read(table: str) -> Curves:
        curves = tracing_from_csv(table)
        return {
            name: tuple((x * scale, y * scale) for x, y in points)
            for name, points in curves.items()
        }

    return _curves(read, text)


def read_tracing_json(data: bytes) -> Curves:
    """Return the curves of a JSON tracing; raises FaultyFileError."""
    text = decoded(data)
    try:
        read_json(data)
    except JsonError as error:
        raise FaultyFileError([fault("json", said=str(error))]) from None
    return _curves(tracing_from_json, text)


def _curves(read: Callable[[str], Curves], text: str) -> Curves:
    try:
        curves = read(text)
        for outline in (curves[name] for name in ("sole_outline",) if name in curves):
            # Against its own length: what is wrong with the shape alone is told at once.
            check_sole_outline(outline, max(x for x, _ in outline) - min(x for x, _ in outline))
    except csv.Error as error:
        raise FaultyFileError([fault("csv", ("line", 1), said=str(error))]) from None
    except FootError as error:
        raise FaultyFileError([fault("tracing", said=error.text)]) from None
    return curves
