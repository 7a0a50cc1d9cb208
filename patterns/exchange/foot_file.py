"""FOOT.json and tracing files to and from a `Foot`; text and documents in, values out."""

import csv
import io
import json
from collections.abc import Mapping
from dataclasses import replace
from math import isfinite

from patterns.errors import FootError
from patterns.exchange import values
from patterns.foot import MEASURE_KEYS, Foot, FootSide, LevelGirth
from patterns.geometry.curves import Point
from patterns.mesh_in import MESH_UNITS_MM, FootMesh, check_mesh, mesh_ending, read_mesh
from patterns.tracing import POINTS_MOST

CURVES = ("sole_outline", "side_profile")
NAME_FORBIDDEN = ("/", "\\", ":", "\0")


def foot_from_document(
    document: Mapping[str, object],
    *,
    mesh_content: bytes | None = None,
    mesh_text: str | None = None,
) -> Foot:
    """Return the foot a FOOT.json describes.

    Parameters
    ----------
    document : mapping
        The file as read; unknown keys on its top level are passed over.
    mesh_content : bytes or None
        The OBJ, STL or PLY file that the document names as its mesh, read by the caller.
    mesh_text : str or None
        The same as text, if it is text.

    Raises
    ------
    FootError
        Whatever is wrong, `field` naming the place such as ``measures.ball_girth``. A mesh must
        be the sound surface of one foot and stand in the foot's frame, see `check_mesh`.
    """
    if not isinstance(document, Mapping):
        raise FootError("The foot file must be an object of names and values.", code="foot-file")
    _check_unit(document.get("unit", "mm"), "unit")
    named_mesh = mesh_name(document)
    unit_mm = _mesh_unit_mm(document.get("mesh_unit", "mm")) if named_mesh is not None else 1.0
    foot = Foot(
        name=values.text(document.get("name", "foot"), "name", FootError),
        measures_mm=_measures(document.get("measures")),
        foot_side=_foot_side(document.get("foot_side", "left")),
        level_girths=_level_girths(document.get("level_girths", [])),
        knee_clearance_mm=_optional_length(document.get("knee_clearance_mm"), "knee_clearance_mm"),
        sole_outline_mm=_optional_points(document.get("sole_outline"), "sole_outline"),
        side_profile_mm=_optional_points(document.get("side_profile"), "side_profile"),
    )
    if named_mesh is None:
        return foot
    if mesh_content is None and mesh_text is not None:
        mesh_content = mesh_text.encode()
    return replace(foot, mesh=_mesh(named_mesh, mesh_content, unit_mm, foot.foot_length_mm))


def _mesh(name: str, content: bytes | None, unit_mm: float, foot_length_mm: float) -> FootMesh:
    if content is None:
        text = f"The mesh file {name!r} was not handed in with the foot."
        raise FootError(text, field="mesh", code="mesh-missing")
    mesh = read_mesh(content, name, unit_mm=unit_mm)
    check_mesh(mesh, foot_length_mm, unit_mm=unit_mm)
    return mesh


def _mesh_unit_mm(unit: object) -> float:
    for known, length_mm in MESH_UNITS_MM.items():
        if unit == known:
            return length_mm
    text = f"mesh_unit is {str(unit)[:20]!r}; it must be one of {', '.join(MESH_UNITS_MM)}."
    raise FootError(text, field="mesh_unit", code="unit-unknown")


def mesh_name(document: Mapping[str, object]) -> str | None:
    """Return the plain file name of the document's mesh, None if it names none.

    Raises
    ------
    FootError
        The name is a path, is empty, or does not end as OBJ, STL and PLY files do.
    """
    name = document.get("mesh")
    if name is None:
        return None
    plain = isinstance(name, str) and 0 < len(name) <= 200 and not name.startswith(".")
    if not plain or any(sign in str(name) for sign in NAME_FORBIDDEN):
        text = f"mesh is {str(name)[:60]!r}; it must be a plain file name beside the foot's file."
        raise FootError(text, field="mesh", code="mesh-name")
    if mesh_ending(str(name)) is None:
        text = f"The mesh {str(name)[:60]!r} is no OBJ, STL or PLY file; save it as one of these."
        raise FootError(text, field="mesh", code="mesh-kind")
    return str(name)


def document_from_foot(foot: Foot, *, mesh: str | None = None) -> dict[str, object]:
    """Return the FOOT.json of a foot; `mesh` is the name its mesh file is saved under."""
    document: dict[str, object] = {
        "name": foot.name,
        "unit": "mm",
        "foot_side": foot.foot_side,
        "measures": {key: foot.measures_mm[key] for key in MEASURE_KEYS if key in foot.measures_mm},
    }
    if foot.level_girths:
        document["level_girths"] = [
            {"height_mm": level.height_mm, "girth_mm": level.girth_mm}
            for level in foot.level_girths
        ]
    if foot.knee_clearance_mm is not None:
        document["knee_clearance_mm"] = foot.knee_clearance_mm
    for key, points in (("sole_outline", foot.sole_outline_mm),
                        ("side_profile", foot.side_profile_mm)):  # fmt: skip
        if points is not None:
            document[key] = [[x, y] for x, y in points]
    if mesh is not None:
        document |= {"mesh": mesh, "mesh_unit": "mm"}
    return document


def tracing_from_csv(text: str) -> dict[str, tuple[Point, ...]]:
    """Return the curves of a tracing file with the columns curve, x and y (in mm).

    Parameters
    ----------
    text : str
        First line ``curve,x,y``; curve is ``sole_outline`` or ``side_profile``; for a side
        profile y is the height.

    Returns
    -------
    dict of str to tuple of (x, y)
        The curves the file holds, one or both.

    Raises
    ------
    FootError
        A line that cannot be read, told by its number.
    """
    rows = csv.reader(io.StringIO(text))
    curves: dict[str, list[Point]] = {}
    for row in rows:
        line = rows.line_num
        if line == 1:
            if [cell.strip().lower() for cell in row] != ["curve", "x", "y"]:
                raise _line_fault(1, "must read curve,x,y")
            continue
        if not row:
            continue
        if len(row) != 3 or row[0].strip() not in CURVES:
            raise _line_fault(line, "must hold sole_outline or side_profile, x and y")
        try:
            point = (float(row[1]), float(row[2]))
        except ValueError:
            raise _line_fault(line, "holds something that is not a number") from None
        if not all(isfinite(value) and abs(value) <= values.LARGEST_MM for value in point):
            raise _line_fault(line, "holds a number that is not a length in mm")
        curve = curves.setdefault(row[0].strip(), [])
        curve.append(point)
        if len(curve) > POINTS_MOST:
            raise _line_fault(line, f"is past the {POINTS_MOST} points a curve may have")
    if not curves:
        raise FootError("The tracing holds no points.", field="tracing", code="tracing-empty")
    return {name: tuple(points) for name, points in curves.items()}


def tracing_from_json(text: str) -> dict[str, tuple[Point, ...]]:
    """Return the curves of a tracing file ``{"unit": "mm", "sole_outline": [[x, y], ...]}``.

    Raises
    ------
    FootError
        Not JSON, another unit than mm, or a point that cannot be used.
    """
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:  # a ValueError alone: a number far too long
        line = getattr(error, "lineno", 1)
        raise _line_fault(line, "is not JSON") from None
    document = values.mapping(document, "tracing", FootError)
    _check_unit(document.get("unit", "mm"), "unit")
    curves = {
        name: values.points(document[name], name, FootError, most=POINTS_MOST)
        for name in CURVES
        if document.get(name) is not None
    }
    if not curves:
        raise FootError("The tracing holds no points.", field="tracing", code="tracing-empty")
    return curves


def _line_fault(line: int, what: str) -> FootError:
    text = f"Line {line} of the tracing {what}."
    return FootError(text, field="tracing", code="tracing-line", line=line)


def _check_unit(unit: object, where: str) -> None:
    if unit != "mm":
        text = f"{where} is {str(unit)[:20]!r}; foot files are in millimetres (mm)."
        raise FootError(text, field=where, code="unit-unknown")


def _foot_side(value: object) -> FootSide:
    side = values.choice(value, "foot_side", FootError, ("left", "right"))
    return "left" if side == "left" else "right"


def _measures(value: object) -> dict[str, float]:
    measures = values.mapping(value, "measures", FootError)
    result = {}
    for key, given in measures.items():
        where = f"measures.{key}"
        if key not in MEASURE_KEYS:
            text = f'"{str(key)[:40]}" is not a measure of a foot; use {", ".join(MEASURE_KEYS)}.'
            raise FootError(text, field=where, code="measure-unknown")
        result[str(key)] = values.positive(given, where, FootError)
    return result


def _level_girths(value: object) -> tuple[LevelGirth, ...]:
    levels = []
    for index, entry in enumerate(values.array(value, "level_girths", FootError, most=60)):
        where = f"level_girths.{index}"
        level = values.mapping(entry, where, FootError)
        levels.append(
            LevelGirth(
                values.positive(level.get("height_mm"), f"{where}.height_mm", FootError),
                values.positive(level.get("girth_mm"), f"{where}.girth_mm", FootError),
            )
        )
    return tuple(levels)


def _optional_length(value: object, where: str) -> float | None:
    return None if value is None else values.positive(value, where, FootError)


def _optional_points(value: object, where: str) -> tuple[Point, ...] | None:
    return None if value is None else values.points(value, where, FootError, most=POINTS_MOST)
