"""Rows of a PIECES.json read into values; every fault is a `FileError` that names its place."""

from collections.abc import Mapping, Sequence
from typing import Literal, cast

from patterns.errors import FileError
from patterns.exchange import values
from patterns.pieces.piece import (
    Edge,
    EdgeKind,
    EdgeName,
    Face,
    Hole,
    Line,
    LineKind,
    Material,
    Notch,
    Piece,
    PieceChecks,
    Point,
)


def piece(at: str, row: Mapping[str, object]) -> Piece:
    """Return the piece a row describes."""
    return Piece(
        name=text(row, "name", at),
        quantity=whole(row, "quantity", at),
        mirrored_quantity=whole(row, "mirrored_quantity", at),
        material=cast(Material, choice(row, "material", at, ("upper", "lining", "card", "sole"))),
        net_mm=run(row, "net", at, least=3),
        cut_mm=run(row, "cut", at, least=3),
        edges=tuple(_edge(where, edge) for where, edge in rows(row, "edges", f"{at}.edges")),
        holes=tuple(
            Hole(
                cast(Literal["eyelet", "hook"], choice(hole, "kind", where, ("eyelet", "hook"))),
                number(hole, "x", where),
                number(hole, "y", where),
                number(hole, "diameter_mm", where),
            )
            for where, hole in rows(row, "holes", f"{at}.holes")
        ),
        notches=tuple(
            Notch(
                text(notch, "edge", where),
                number(notch, "t", where),
                number(notch, "angle_deg", where),
                number(notch, "depth_mm", where),
            )
            for where, notch in rows(row, "notches", f"{at}.notches")
        ),
        lines=tuple(
            Line(
                cast(
                    LineKind, choice(line, "kind", where, ("fold", "stitch", "mark", "tight way"))
                ),
                run(line, "points", where, least=2),
            )
            for where, line in rows(row, "lines", f"{at}.lines")
        ),
        mirror_free=row.get("mirror_free") is True,
        tight_way_deg=number(row, "tight_way_deg", at),
        rotation_tolerance_deg=number(row, "rotation_tolerance_deg", at),
        face_up=cast(Face, choice(row, "face_up", at, ("grain", "flesh"))),
        thickness_mm=number(row, "thickness_mm", at) if "thickness_mm" in row else None,
        grade=whole(row, "grade", at) if "grade" in row else None,
        checks=None if row.get("checks") is None else _checks(f"{at}.checks", row),
    )


def _checks(at: str, row: Mapping[str, object]) -> PieceChecks:
    table = table_at(row, "checks", at)
    return PieceChecks(
        stretch_p95_pct=number(table, "stretch_p95_pct", at),
        stretch_p99_pct=number(table, "stretch_p99_pct", at),
        gather_p99_pct=number(table, "gather_p99_pct", at),
        area_ratio=number(table, "area_ratio", at),
        flips=whole(table, "flips", at),
        stretch_p95_off_band_pct=number(table, "stretch_p95_off_band_pct", at),
        stretch_p99_off_band_pct=number(table, "stretch_p99_off_band_pct", at),
    )


def _edge(at: str, row: Mapping[str, object]) -> Edge:
    partner = row.get("partner")
    named = None
    if partner is not None:
        table = values.mapping(partner, f"{at}.partner", FileError)
        named = EdgeName(text(table, "piece", at), text(table, "edge", at))
    kinds = ("lasting", "seam", "lap", "hem", "raw")
    return Edge(
        text(row, "name", at),
        cast(EdgeKind, choice(row, "kind", at, kinds)),
        number(row, "allowance_mm", at),
        run(row, "points", at, least=2),
        named,
    )


def table_at(row: Mapping[str, object], key: str, at: str) -> Mapping[str, object]:
    """Return the table under a key."""
    return values.mapping(row.get(key), at, FileError)


def rows(row: Mapping[str, object], key: str, at: str) -> list[tuple[str, Mapping[str, object]]]:
    """Return the rows under a key, each with the place that names it in a fault."""
    entries = values.array(row.get(key), at, FileError)
    return [
        (f"{at}.{k}", values.mapping(entry, f"{at}.{k}", FileError))
        for k, entry in enumerate(entries)
    ]


def optional_rows(row: Mapping[str, object], key: str) -> list[tuple[str, Mapping[str, object]]]:
    """Return the rows under a key that may be missing."""
    return rows(row, key, key) if key in row else []


def text(row: Mapping[str, object], key: str, at: str) -> str:
    """Return the text under a key."""
    return values.text(row.get(key), f"{at}.{key}" if at != key else key, FileError)


def number(row: Mapping[str, object], key: str, at: str) -> float:
    """Return the number under a key."""
    return values.number(row.get(key), f"{at}.{key}", FileError, most=1e6)


def whole(row: Mapping[str, object], key: str, at: str) -> int:
    """Return the whole number, 1 or more, under a key."""
    number = values.positive(row.get(key), f"{at}.{key}", FileError, most=1e6)
    if number != int(number):
        raise FileError(f"{at}.{key} must be a whole number.", field=f"{at}.{key}", code="number")
    return int(number)


def choice(row: Mapping[str, object], key: str, at: str, allowed: Sequence[str]) -> str:
    """Return the word under a key, one of those allowed."""
    return values.choice(row.get(key), f"{at}.{key}" if at != key else key, FileError, allowed)


def run(row: Mapping[str, object], key: str, at: str, *, least: int) -> tuple[Point, ...]:
    """Return the points under a key, so many at least."""
    where = f"{at}.{key}"
    points = values.points(row.get(key), where, FileError)
    if len(points) < least:
        raise FileError(f"{where} needs {least} points.", field=where, code="points-few")
    return points


def edge_name(row: Mapping[str, object], key: str, at: str) -> EdgeName:
    """Return the piece and edge named ``piece/edge`` under a key."""
    piece, slash, edge = text(row, key, at).partition("/")
    if not slash:
        raise FileError(f"{at}.{key} must read piece/edge.", field=f"{at}.{key}", code="edge-name")
    return EdgeName(piece, edge)


def parameters(table: Mapping[str, object]) -> dict[str, float | str | bool]:
    """Return the values of a table of parameters."""
    return {
        str(key): value
        if isinstance(value, str | bool)
        else values.number(value, f"parameters.{key}", FileError, most=1e6)
        for key, value in table.items()
    }
