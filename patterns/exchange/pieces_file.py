"""PIECES.json to and from a `PieceSet`; meshes are written on wish and never read back."""

from collections.abc import Mapping, Sequence
from typing import Literal, cast

import numpy as np

from patterns.errors import FileError
from patterns.exchange import pieces_rows as read
from patterns.exchange import values
from patterns.pieces.piece import (
    BuiltMeasure,
    EntryLevel,
    GirthClosure,
    Lasting,
    Level,
    Message,
    Piece,
    PieceChecks,
    PieceMesh,
    PieceSet,
    Point,
    Seam,
)

DECIMALS = 4  # a tenth of a micrometre
MESH_DECIMALS = 6  # rounding must not turn the smallest triangles over
Table = dict[str, object]


def document_from_pieces(pieces: PieceSet, *, with_mesh: bool = False) -> Table:
    """Return the PIECES.json of a set of pieces, numbers rounded to four decimals.

    With `with_mesh` each piece cut from the last's surface carries that part of it, in space and
    flat, to six decimals, so that its stretch can be checked by others.
    """
    return {
        "style": pieces.style,
        "foot": pieces.foot,
        "foot_side": pieces.foot_side,
        "unit": "mm",
        "engine": pieces.engine,
        "parameters": {key: _plain(value) for key, value in pieces.parameters.items()},
        "source": {
            "kind": pieces.source_kind,
            "measures": [_measure_table(measure) for measure in pieces.measures],
        },
        "girth_closure": [
            {
                "station": closure.station,
                "last_mm": _round(closure.last_mm),
                "pattern_mm": _round(closure.pattern_mm),
            }
            for closure in pieces.girth_closure
        ],
        "lasting": [
            {
                "piece": lasting.piece,
                "margin_mm": _round(lasting.margin_mm),
                "cover_min_mm": _round(lasting.cover_min_mm),
                "gather_mm": _round(lasting.gather_mm),
                "notches": lasting.notches,
            }
            for lasting in pieces.lasting
        ],
        "seams": [_seam_table(seam) for seam in pieces.seams],
        "messages": [
            {
                "level": message.level,
                "code": message.code,
                "text": message.text,
                "piece": message.piece,
            }
            for message in pieces.messages
        ],
        "pieces": [_piece_table(piece, with_mesh=with_mesh) for piece in pieces.pieces],
        **_beyond_schema(pieces),
    }


def _beyond_schema(pieces: PieceSet) -> Table:
    """Return what a set may hold besides: how the foot gets in, and a maker's corrections."""
    table: Table = {}
    if pieces.entry:
        table["entry"] = [
            {
                "height_mm": _round(level.height_mm),
                "needs_mm": _round(level.needs_mm),
                "opens_mm": _round(level.opens_mm),
            }
            for level in pieces.entry
        ]
    if pieces.corrections:
        table["corrections"] = {k: _round(change) for k, change in pieces.corrections.items()}
    return table


def _round(number: float) -> float:
    return round(float(number), DECIMALS) + 0.0  # + 0.0 turns -0.0 into 0.0


def _plain(value: float | str | bool) -> float | str | bool:
    return value if isinstance(value, str | bool) else _round(value)


def _measure_table(measure: BuiltMeasure) -> Table:
    rounded = BuiltMeasure(
        measure.name, _round(measure.asked_mm), _round(measure.built_mm), measure.inferred
    )
    return {
        "name": rounded.name,
        "asked": rounded.asked_mm,
        "built": rounded.built_mm,
        "residual_pct": _round(rounded.residual_percent),
        "inferred": rounded.inferred,
    }


def _seam_table(seam: Seam) -> Table:
    length_a, length_b = _round(seam.length_a_mm), _round(seam.length_b_mm)
    return {
        "a": f"{seam.a.piece}/{seam.a.edge}",
        "b": f"{seam.b.piece}/{seam.b.edge}",
        "length_a_mm": length_a,
        "length_b_mm": length_b,
        "mismatch_mm": _round(abs(length_a - length_b)),
        "drift_mm": _round(seam.drift_mm),
    }


def _points(points_mm: Sequence[Point]) -> list[list[float]]:
    # All at once: Python's own rounding of each number took most of a page's time.
    rounded = np.round(np.asarray(points_mm, dtype=float).reshape(-1, 2), DECIMALS) + 0.0
    return cast(list[list[float]], rounded.tolist())


def _piece_table(piece: Piece, *, with_mesh: bool) -> Table:
    return {
        "name": piece.name,
        "quantity": piece.quantity,
        "mirrored_quantity": piece.mirrored_quantity,
        "mirror_free": piece.mirror_free,
        "material": piece.material,
        "net": _points(piece.net_mm),
        "cut": _points(piece.cut_mm),
        "tight_way_deg": _round(piece.tight_way_deg),
        "rotation_tolerance_deg": _round(piece.rotation_tolerance_deg),
        "face_up": piece.face_up,
        **({} if piece.thickness_mm is None else {"thickness_mm": _round(piece.thickness_mm)}),
        **({} if piece.grade is None else {"grade": piece.grade}),
        "edges": [
            {
                "name": edge.name,
                "kind": edge.kind,
                "allowance_mm": _round(edge.allowance_mm),
                "points": _points(edge.points_mm),
                "partner": None
                if edge.partner is None
                else {"piece": edge.partner.piece, "edge": edge.partner.edge},
            }
            for edge in piece.edges
        ],
        "holes": [
            {
                "kind": hole.kind,
                "x": _round(hole.x_mm),
                "y": _round(hole.y_mm),
                "diameter_mm": _round(hole.diameter_mm),
            }
            for hole in piece.holes
        ],
        "notches": [
            {
                "edge": notch.edge,
                "t": _round(notch.t),
                "angle_deg": _round(notch.angle_deg),
                "depth_mm": _round(notch.depth_mm),
            }
            for notch in piece.notches
        ],
        "lines": [{"kind": line.kind, "points": _points(line.points_mm)} for line in piece.lines],
        "checks": None if piece.checks is None else _checks_table(piece.checks),
        "mesh": _mesh_table(piece.mesh) if with_mesh and piece.mesh is not None else None,
        "mesh_edges": _mesh_edges(piece) if with_mesh and piece.mesh is not None else [],
    }


def _checks_table(checks: PieceChecks) -> Table:
    return {
        "stretch_p95_pct": _round(checks.stretch_p95_pct),
        "stretch_p99_pct": _round(checks.stretch_p99_pct),
        "gather_p99_pct": _round(checks.gather_p99_pct),
        "area_ratio": _round(checks.area_ratio),
        "flips": checks.flips,
        "stretch_p95_off_band_pct": _round(checks.stretch_p95_off_band_pct),
        "stretch_p99_off_band_pct": _round(checks.stretch_p99_off_band_pct),
    }


def _mesh_table(mesh: PieceMesh) -> Table:
    return {
        "vertices3d": np.round(mesh.points_mm, MESH_DECIMALS).tolist(),
        "vertices2d": np.round(mesh.flat_mm, MESH_DECIMALS).tolist(),
        "triangles": mesh.triangles.tolist(),
    }


def _mesh_edges(piece: Piece) -> list[Table]:
    assert piece.mesh is not None
    partners = {edge.name: edge.partner for edge in piece.edges}
    tables: list[Table] = []
    for name, ids in piece.mesh.edge_points:
        partner = partners[name]
        named = None if partner is None else {"piece": partner.piece, "edge": partner.edge}
        tables.append({"name": name, "vertex_ids": list(ids), "partner": named})
    return tables


def pieces_from_document(document: Mapping[str, object]) -> PieceSet:
    """Return the set of pieces a PIECES.json describes; meshes in it are passed over.

    Raises
    ------
    FileError
        A key is missing or holds something else than it should; `field` names the place.
    """
    top = values.mapping(document, "pieces file", FileError)
    if top.get("unit") != "mm":
        raise FileError("unit must be mm.", field="unit", code="unit-unknown")
    source = read.table_at(top, "source", "source")
    return PieceSet(
        style=read.text(top, "style", "style"),
        foot=read.text(top, "foot", "foot"),
        foot_side=cast(
            Literal["pair", "left", "right"],
            read.choice(top, "foot_side", "foot_side", ("pair", "left", "right")),
        ),
        engine=read.text(top, "engine", "engine"),
        parameters=read.parameters(read.table_at(top, "parameters", "parameters")),
        source_kind=cast(
            Literal["measures", "tracing", "mesh"],
            read.choice(source, "kind", "source.kind", ("measures", "tracing", "mesh")),
        ),
        measures=tuple(
            BuiltMeasure(
                read.text(row, "name", at),
                read.number(row, "asked", at),
                read.number(row, "built", at),
                row.get("inferred") is True,
            )
            for at, row in read.rows(source, "measures", "source.measures")
        ),
        girth_closure=tuple(
            GirthClosure(
                read.text(row, "station", at),
                read.number(row, "last_mm", at),
                read.number(row, "pattern_mm", at),
            )
            for at, row in read.rows(top, "girth_closure", "girth_closure")
        ),
        lasting=tuple(
            Lasting(
                read.text(row, "piece", at),
                read.number(row, "margin_mm", at),
                read.number(row, "cover_min_mm", at),
                read.number(row, "gather_mm", at),
                read.whole(row, "notches", at),
            )
            for at, row in read.rows(top, "lasting", "lasting")
        ),
        seams=tuple(
            Seam(
                read.edge_name(row, "a", at),
                read.edge_name(row, "b", at),
                read.number(row, "length_a_mm", at),
                read.number(row, "length_b_mm", at),
                read.number(row, "drift_mm", at),
            )
            for at, row in read.rows(top, "seams", "seams")
        ),
        messages=tuple(
            Message(
                cast(Level, read.choice(row, "level", at, ("info", "warning", "stop"))),
                read.text(row, "code", at),
                values.text(row.get("text"), f"{at}.text", FileError, most=2000),
                read.text(row, "piece", at),
            )
            for at, row in read.rows(top, "messages", "messages")
        ),
        pieces=tuple(read.piece(at, row) for at, row in read.rows(top, "pieces", "pieces")),
        entry=tuple(
            EntryLevel(
                read.number(row, "height_mm", at),
                read.number(row, "needs_mm", at),
                read.number(row, "opens_mm", at),
            )
            for at, row in read.optional_rows(top, "entry")
        ),
        corrections={
            str(key): values.number(change, f"corrections.{key}", FileError, most=1e6)
            for key, change in values.mapping(
                top.get("corrections", {}), "corrections", FileError
            ).items()
        },
    )
