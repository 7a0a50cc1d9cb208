"""PIECES.json: all pieces of a pair with how they came about, written and read back."""

from collections.abc import Mapping
from typing import cast, get_args

from patterns.errors import FileError
from patterns.exchange import values
from patterns.pieces.piece import (
    BuiltMeasure,
    Edge,
    EdgeKind,
    EdgeName,
    Face,
    GirthClosure,
    Hole,
    Lasting,
    Level,
    Line,
    LineKind,
    Material,
    Message,
    Notch,
    Piece,
    PieceSet,
    Point,
    Seam,
)

PLACES = 4  # a ten-thousandth of a millimetre: far below any blade, and the same on every machine
PIECES_MAX = 400
ROWS_MAX = 1000

Document = dict[str, object]


def document_from_pieces(piece_set: PieceSet) -> Document:
    """Return the PIECES.json of a piece set: the same pieces give the same document.

    Lengths are rounded to four places. ``checks`` and ``mesh`` are None: pieces drawn flat were
    never stretched, and have no surface.
    """
    return {
        "style": piece_set.style,
        "foot": piece_set.foot,
        "foot_side": piece_set.foot_side,
        "unit": "mm",
        "engine": piece_set.engine,
        "parameters": {key: _rounded(value) for key, value in piece_set.parameters.items()},
        "source": {
            "kind": piece_set.source_kind,
            "measures": [
                {
                    "name": measure.name,
                    "asked": _mm(measure.asked_mm),
                    "built": _mm(measure.built_mm),
                    "residual_pct": _mm(measure.residual_percent),
                    "inferred": measure.inferred,
                }
                for measure in piece_set.measures
            ],
        },
        "girth_closure": [
            {
                "station": girth.station,
                "last_mm": _mm(girth.last_mm),
                "pattern_mm": _mm(girth.pattern_mm),
            }
            for girth in piece_set.girth_closure
        ],
        "lasting": [
            {
                "piece": row.piece,
                "margin_mm": _mm(row.margin_mm),
                "cover_min_mm": _mm(row.cover_min_mm),
                "gather_mm": _mm(row.gather_mm),
                "notches": row.notches,
            }
            for row in piece_set.lasting
        ],
        "seams": [
            {
                "a": f"{seam.a.piece}/{seam.a.edge}",
                "b": f"{seam.b.piece}/{seam.b.edge}",
                "length_a_mm": _mm(seam.length_a_mm),
                "length_b_mm": _mm(seam.length_b_mm),
                "mismatch_mm": _mm(seam.mismatch_mm),
                "drift_mm": _mm(seam.drift_mm),
            }
            for seam in piece_set.seams
        ],
        "messages": [
            {
                "level": message.level,
                "code": message.code,
                "text": message.text,
                "piece": message.piece,
            }
            for message in piece_set.messages
        ],
        "pieces": [_document_from_piece(piece) for piece in piece_set.pieces],
    }


def pieces_from_document(document: Mapping[str, object]) -> PieceSet:
    """Return the piece set a PIECES.json describes, as far as flat pieces have it.

    Raises
    ------
    FileError
        Whatever is wrong; ``field`` names the place, such as ``pieces.2.edges.0.kind``.
    """
    document = values.mapping(document, "the file", FileError)
    source = values.mapping(document.get("source"), "source", FileError)
    parameters = values.mapping(document.get("parameters"), "parameters", FileError)
    return PieceSet(
        style=_text(document, "style", ""),
        foot=_text(document, "foot", ""),
        foot_side=_choice(document, "foot_side", "", ("pair", "left", "right")),  # type: ignore[arg-type]
        engine=_text(document, "engine", ""),
        parameters=_parameters(parameters),
        source_kind=_choice(source, "kind", "source", ("measures", "tracing", "mesh")),  # type: ignore[arg-type]
        measures=tuple(_measure(*row) for row in _rows(source, "measures", "source")),
        girth_closure=tuple(_girth(*row) for row in _rows(document, "girth_closure", "")),
        lasting=tuple(_lasting(*row) for row in _rows(document, "lasting", "")),
        seams=tuple(_seam(*row) for row in _rows(document, "seams", "")),
        messages=tuple(_message(*row) for row in _rows(document, "messages", "")),
        pieces=tuple(_piece(*row) for row in _rows(document, "pieces", "", most=PIECES_MAX)),
    )


def _document_from_piece(piece: Piece) -> Document:
    return {
        "name": piece.name,
        "quantity": piece.quantity,
        "mirrored_quantity": piece.mirrored_quantity,
        "mirror_free": piece.mirror_free,
        "material": piece.material,
        "net": _points(piece.net_mm),
        "cut": _points(piece.cut_mm),
        "tight_way_deg": _mm(piece.tight_way_deg),
        "rotation_tolerance_deg": _mm(piece.rotation_tolerance_deg),
        "face_up": piece.face_up,
        "edges": [
            {
                "name": edge.name,
                "kind": edge.kind,
                "allowance_mm": _mm(edge.allowance_mm),
                "points": _points(edge.points_mm),
                "partner": (
                    {"piece": edge.partner.piece, "edge": edge.partner.edge}
                    if edge.partner
                    else None
                ),
            }
            for edge in piece.edges
        ],
        "holes": [
            {
                "kind": hole.kind,
                "x": _mm(hole.x_mm),
                "y": _mm(hole.y_mm),
                "diameter_mm": _mm(hole.diameter_mm),
            }
            for hole in piece.holes
        ],
        "notches": [
            {
                "edge": notch.edge,
                "t": _mm(notch.t),
                "angle_deg": _mm(notch.angle_deg),
                "depth_mm": _mm(notch.depth_mm),
            }
            for notch in piece.notches
        ],
        "lines": [{"kind": line.kind, "points": _points(line.points_mm)} for line in piece.lines],
        "checks": None,
        "mesh": None,
        "mesh_edges": [],
    }


def _mm(value: float) -> float:
    # Adding zero turns -0.0 into 0.0, which would otherwise be written with its sign.
    return round(value, PLACES) + 0.0


def _rounded(value: float | str | bool) -> float | str | bool:
    return _mm(value) if isinstance(value, float) else value


def _points(points: tuple[Point, ...]) -> list[list[float]]:
    return [[_mm(x), _mm(y)] for x, y in points]


Row = tuple[Mapping[str, object], str]


def _rows(
    document: Mapping[str, object], key: str, where: str, *, most: int = ROWS_MAX
) -> list[Row]:
    """Return the objects of a list, each with its dotted place."""
    here = f"{where}.{key}" if where else key
    rows = values.array(document.get(key), here, FileError, most=most)
    return [
        (values.mapping(row, f"{here}.{index}", FileError), f"{here}.{index}")
        for index, row in enumerate(rows)
    ]


def _at(where: str, key: str) -> str:
    return f"{where}.{key}" if where else key


def _text(row: Mapping[str, object], key: str, where: str, *, most: int = 200) -> str:
    return values.text(row.get(key), _at(where, key), FileError, most=most)


def _number(row: Mapping[str, object], key: str, where: str) -> float:
    return values.number(row.get(key), _at(where, key), FileError)


def _choice(row: Mapping[str, object], key: str, where: str, allowed: tuple[str, ...]) -> str:
    return values.choice(row.get(key), _at(where, key), FileError, allowed)


def _run(row: Mapping[str, object], key: str, where: str) -> tuple[Point, ...]:
    return values.points(row.get(key), _at(where, key), FileError)


def _whole(row: Mapping[str, object], key: str, where: str) -> int:
    number = _number(row, key, where)
    if number != int(number) or number < 0:
        here = _at(where, key)
        raise FileError(
            f"{here} is {number:g}; it must be a whole number of 0 or more.",
            field=here,
            code="not-a-whole-number",
        )
    return int(number)


def _flag(row: Mapping[str, object], key: str, where: str) -> bool:
    value = row.get(key)
    if not isinstance(value, bool):
        here = _at(where, key)
        raise FileError(f"{here} must be true or false.", field=here, code="not-a-flag")
    return value


def _parameters(row: Mapping[str, object]) -> dict[str, float | str | bool]:
    found: dict[str, float | str | bool] = {}
    for key, value in row.items():
        if isinstance(value, bool | str):
            found[key] = value
        else:
            found[key] = values.number(value, f"parameters.{key}", FileError)
    return found


def _measure(row: Mapping[str, object], where: str) -> BuiltMeasure:
    return BuiltMeasure(
        name=_text(row, "name", where),
        asked_mm=_number(row, "asked", where),
        built_mm=_number(row, "built", where),
        inferred=_flag(row, "inferred", where),
    )


def _girth(row: Mapping[str, object], where: str) -> GirthClosure:
    return GirthClosure(
        _text(row, "station", where),
        _number(row, "last_mm", where),
        _number(row, "pattern_mm", where),
    )


def _lasting(row: Mapping[str, object], where: str) -> Lasting:
    return Lasting(
        piece=_text(row, "piece", where),
        margin_mm=_number(row, "margin_mm", where),
        cover_min_mm=_number(row, "cover_min_mm", where),
        gather_mm=_number(row, "gather_mm", where),
        notches=_whole(row, "notches", where),
    )


def _seam(row: Mapping[str, object], where: str) -> Seam:
    return Seam(
        a=_edge_name(_text(row, "a", where), _at(where, "a")),
        b=_edge_name(_text(row, "b", where), _at(where, "b")),
        length_a_mm=_number(row, "length_a_mm", where),
        length_b_mm=_number(row, "length_b_mm", where),
        drift_mm=_number(row, "drift_mm", where),
    )


def _edge_name(text: str, where: str) -> EdgeName:
    piece, slash, edge = text.partition("/")
    if not slash:
        raise FileError(
            f"{where} must be written piece/edge.", field=where, code="not-an-edge-name"
        )
    return EdgeName(piece, edge)


def _message(row: Mapping[str, object], where: str) -> Message:
    return Message(
        level=cast(Level, _choice(row, "level", where, get_args(Level))),
        code=_text(row, "code", where),
        text=_text(row, "text", where, most=2000),
        piece=_text(row, "piece", where),
    )


def _piece(row: Mapping[str, object], where: str) -> Piece:
    return Piece(
        name=_text(row, "name", where),
        quantity=_whole(row, "quantity", where),
        mirrored_quantity=_whole(row, "mirrored_quantity", where),
        mirror_free=_flag(row, "mirror_free", where),
        material=cast(Material, _choice(row, "material", where, get_args(Material))),
        net_mm=_run(row, "net", where),
        cut_mm=_run(row, "cut", where),
        tight_way_deg=_number(row, "tight_way_deg", where),
        rotation_tolerance_deg=_number(row, "rotation_tolerance_deg", where),
        face_up=cast(Face, _choice(row, "face_up", where, get_args(Face))),
        edges=tuple(_edge(*edge) for edge in _rows(row, "edges", where)),
        holes=tuple(_hole(*hole) for hole in _rows(row, "holes", where)),
        notches=tuple(_notch(*notch) for notch in _rows(row, "notches", where)),
        lines=tuple(_line(*line) for line in _rows(row, "lines", where)),
    )


def _edge(row: Mapping[str, object], where: str) -> Edge:
    partner = row.get("partner")
    place = _at(where, "partner")
    named = None if partner is None else values.mapping(partner, place, FileError)
    return Edge(
        name=_text(row, "name", where),
        kind=cast(EdgeKind, _choice(row, "kind", where, get_args(EdgeKind))),
        allowance_mm=_number(row, "allowance_mm", where),
        points_mm=_run(row, "points", where),
        partner=None
        if named is None
        else EdgeName(_text(named, "piece", place), _text(named, "edge", place)),
    )


def _hole(row: Mapping[str, object], where: str) -> Hole:
    return Hole(
        kind="eyelet" if _choice(row, "kind", where, ("eyelet", "hook")) == "eyelet" else "hook",
        x_mm=_number(row, "x", where),
        y_mm=_number(row, "y", where),
        diameter_mm=_number(row, "diameter_mm", where),
    )


def _notch(row: Mapping[str, object], where: str) -> Notch:
    return Notch(
        edge=_text(row, "edge", where),
        t=_number(row, "t", where),
        angle_deg=_number(row, "angle_deg", where),
        depth_mm=_number(row, "depth_mm", where),
    )


def _line(row: Mapping[str, object], where: str) -> Line:
    return Line(
        kind=cast(LineKind, _choice(row, "kind", where, get_args(LineKind))),
        points_mm=_run(row, "points", where),
    )
