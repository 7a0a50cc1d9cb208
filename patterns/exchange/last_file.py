"""A last to and from plain values, so that a foot's fit is worked out once and kept."""

from collections.abc import Mapping
from typing import Literal, cast

import numpy as np

from patterns.errors import FileError
from patterns.exchange import values
from patterns.last.last import Last
from patterns.pieces.piece import BuiltMeasure

Table = dict[str, object]
KINDS = ("measures", "tracing", "mesh")


def document_from_last(last: Last) -> Table:
    """Return a last as plain values, every number whole, so that it comes back the same."""
    return {
        "stations": last.station_count,
        "turns": last.turn_count,
        "grid": last.grid_mm.ravel().tolist(),
        "sole": last.sole_mm.ravel().tolist(),
        "instep_station": last.instep_station,
        "ankle_station": last.ankle_station,
        "foot_length_mm": last.foot_length_mm,
        "heel_raise_mm": last.heel_raise_mm,
        "lateral_sign": last.lateral_sign,
        "measures": [[m.name, m.asked_mm, m.built_mm, m.inferred] for m in last.measures],
        "source_kind": last.source_kind,
        "thickness_mm": last.thickness_mm,
    }


def last_from_document(document: Mapping[str, object]) -> Last:
    """Return the last that `document_from_last` wrote.

    Raises
    ------
    FileError
        A key is missing or holds something else than it should.
    """
    try:
        stations, turns = int(str(document["stations"])), int(str(document["turns"]))
        grid = np.array(document["grid"], dtype=float).reshape(stations, turns, 3)
        sole = np.array(document["sole"], dtype=float).reshape(-1, 2)
        kind = values.choice(document["source_kind"], "source_kind", FileError, KINDS)
        rows = cast("list[tuple[str, float, float, bool]]", document["measures"])
        return Last(
            grid_mm=grid,
            instep_station=int(str(document["instep_station"])),
            ankle_station=int(str(document["ankle_station"])),
            sole_mm=sole,
            foot_length_mm=float(str(document["foot_length_mm"])),
            heel_raise_mm=float(str(document["heel_raise_mm"])),
            lateral_sign=int(str(document["lateral_sign"])),
            measures=tuple(BuiltMeasure(*row) for row in rows),
            source_kind=cast(Literal["measures", "tracing", "mesh"], kind),
            thickness_mm=float(str(document["thickness_mm"])),
        )
    except (KeyError, TypeError, ValueError) as error:
        if isinstance(error, FileError):
            raise
        text = f"The last cannot be read: {error}."
        raise FileError(text, field="last", code="last-file") from None
