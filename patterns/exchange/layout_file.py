"""INSTANCE.json and LAYOUT.json: what to lay out, and where everything lies."""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from typing import TypeVar

from patterns.errors import LayoutError, PatternError
from patterns.exchange import values
from patterns.geometry.outline import COORDINATE_MAX_MM
from patterns.hide import DEFECTS_MAX, GradedArea, Hide
from patterns.hide_area import check_on_hide
from patterns.layout.values import (
    COPIES_MAX,
    HIDES_MAX,
    Layout,
    LayoutPiece,
    LayoutRequest,
    Placement,
)
from patterns.pieces.piece import Ring

ONLY_HIDE = "hide"  # name of the hide in a file with a single "container" that has none
ROTATIONS_MAX = 360
AREA_DECIMALS = 4
DENSITY_DECIMALS = 6
AREA_MAX_MM2 = 1e9

# Keys known inside the lists of a file; a slip of the pen there would change the layout unseen.
_NOTES = {"name", "note"}
_CONTAINER_KEYS = {"id", "outer", "holes", "areas", "cost"} | _NOTES
_AREA_KEYS = {"grade", "outer"} | _NOTES
_PLACEMENT_KEYS = {"id", "container", "x", "y", "rotation_deg", "mirrored"} | _NOTES
_PIECE_KEYS = {
    "id",
    "outer",
    "quantity",
    "allowed_rotations",
    "mirrored_rotations",
    "rotation_tolerance_deg",
    "mirrored_quantity",
    "mirror_free",
    "set",
    "per_set",
    "per_set_mirrored",
    "grade",
} | _NOTES

_Value = TypeVar("_Value")


def request_from_document(document: Mapping[str, object]) -> LayoutRequest:
    """Return the request an INSTANCE.json describes.

    Parameters
    ----------
    document : mapping
        The file as read; unknown keys on its top level are passed over.

    Raises
    ------
    LayoutError, HideError
        Whatever is wrong; ``field`` names the place, such as ``pieces.2.allowed_rotations``.
    """
    document = values.mapping(document, "the file", LayoutError)
    hides = _hides(document)
    only = hides[0].id if len(hides) == 1 else None
    rows = values.array(document.get("pieces"), "pieces", LayoutError, most=COPIES_MAX)
    fixed = values.array(document.get("fixed") or [], "fixed", LayoutError, most=COPIES_MAX)
    return LayoutRequest(
        hides=hides,
        pieces=tuple(_piece(row, f"pieces.{index}") for index, row in enumerate(rows)),
        fixed=tuple(_placement(row, f"fixed.{index}", only) for index, row in enumerate(fixed)),
        spacing_mm=_number(document, "spacing_mm", "", 0.0),
        edge_spacing_mm=_number(document, "edge_spacing_mm", "", 0.0),
    )


def document_from_layout(layout: Layout) -> dict[str, object]:
    """Return the LAYOUT.json of a layout, areas in square millimetres to four places."""
    return {
        "placements": documents_from_placements(layout.placements),
        "placed": layout.placed,
        "requested": layout.requested,
        "complete_sets": layout.complete_sets,
        "used_area_mm2": round(layout.used_area_mm2, AREA_DECIMALS),
        "usable_area_mm2": round(layout.usable_area_mm2, AREA_DECIMALS),
        "density": round(layout.density, DENSITY_DECIMALS),
        "seed": layout.seed,
        "steps": layout.steps,
    }


def documents_from_placements(placements: Sequence[Placement]) -> list[dict[str, object]]:
    """Return placements as LAYOUT.json holds them."""
    return [_document_from_placement(row) for row in placements]


def placements_from_document(rows: Sequence[object]) -> tuple[Placement, ...]:
    """Return the placements of a list of LAYOUT.json.

    Raises
    ------
    LayoutError
        Whatever is wrong; ``field`` names the place.
    """
    return tuple(_placement(row, f"placements.{index}", None) for index, row in enumerate(rows))


def layout_from_document(document: Mapping[str, object]) -> Layout:
    """Return the layout a LAYOUT.json describes.

    Raises
    ------
    LayoutError
        Whatever is wrong; ``field`` names the place.
    """
    document = values.mapping(document, "the file", LayoutError)
    rows = values.array(document.get("placements"), "placements", LayoutError, most=COPIES_MAX)
    return Layout(
        placements=placements_from_document(rows),
        placed=_whole(document, "placed", "layout", None),
        requested=_whole(document, "requested", "layout", None),
        complete_sets=_whole(document, "complete_sets", "layout", None),
        used_area_mm2=values.number(
            document.get("used_area_mm2"), "used_area_mm2", LayoutError, most=AREA_MAX_MM2
        ),
        usable_area_mm2=values.number(
            document.get("usable_area_mm2"), "usable_area_mm2", LayoutError, most=AREA_MAX_MM2
        ),
        seed=_whole(document, "seed", "layout", None),
        steps=_whole(document, "steps", "layout", None),
    )


def document_from_request(request: LayoutRequest) -> dict[str, object]:
    """Return the INSTANCE.json of a request.

    ``mirrored_rotations`` stands beside ``allowed_rotations`` only where a mirrored copy turns
    otherwise than a copy as drawn.
    """
    return {
        "containers": [_document_from_hide(hide) for hide in request.hides],
        "pieces": [_document_from_piece(piece) for piece in request.pieces],
        "fixed": [_document_from_placement(row) for row in request.fixed],
        "spacing_mm": request.spacing_mm,
        "edge_spacing_mm": request.edge_spacing_mm,
    }


def _document_from_hide(hide: Hide) -> dict[str, object]:
    document: dict[str, object] = {
        "id": hide.id,
        "outer": _points(hide.outline_mm),
        "holes": [_points(defect) for defect in hide.defects_mm],
        "areas": [{"grade": a.grade, "outer": _points(a.outline_mm)} for a in hide.areas],
    }
    return document if hide.cost is None else {**document, "cost": str(hide.cost)}


def _document_from_piece(piece: LayoutPiece) -> dict[str, object]:
    document: dict[str, object] = {
        "id": piece.id,
        "outer": _points(piece.outline_mm),
        "quantity": piece.quantity,
        "allowed_rotations": _turns(piece.allowed_rotations_deg),
        "rotation_tolerance_deg": piece.rotation_tolerance_deg,
        "mirrored_quantity": piece.mirrored_quantity,
        "mirror_free": piece.mirror_free,
        "set": piece.set_name,
        "per_set": piece.per_set,
        "per_set_mirrored": piece.per_set_mirrored,
    }
    mirrored = piece.mirrored_rotations_deg
    if mirrored is not None and mirrored != piece.allowed_rotations_deg:
        document["mirrored_rotations"] = _turns(mirrored)
    return document if piece.grade is None else {**document, "grade": piece.grade}


def _document_from_placement(row: Placement) -> dict[str, object]:
    return {
        "id": row.id,
        "container": row.container,
        "x": row.x_mm,
        "y": row.y_mm,
        "rotation_deg": row.rotation_deg,
        "mirrored": row.mirrored,
    }


def _turns(rotations_deg: tuple[float, ...] | None) -> list[float] | str:
    return "free" if rotations_deg is None else list(rotations_deg)


def _points(ring: Ring) -> list[list[float]]:
    return [[x, y] for x, y in ring]


def _hides(document: Mapping[str, object]) -> tuple[Hide, ...]:
    if "container" in document and "containers" not in document:
        row = values.mapping(document["container"], "container", LayoutError)
        return (_hide({"id": ONLY_HIDE, **row}, "container"),)
    if "container" in document:
        raise LayoutError(
            "The file has both container and containers. Leave one out.",
            field="container",
            code="both_given",
        )
    rows = values.array(document.get("containers"), "containers", LayoutError, most=HIDES_MAX)
    return tuple(_hide(row, f"containers.{index}") for index, row in enumerate(rows))


def _hide(value: object, where: str) -> Hide:
    row = _row(value, where, _CONTAINER_KEYS)
    holes = values.array(row.get("holes") or [], f"{where}.holes", LayoutError, most=DEFECTS_MAX)
    areas = values.array(row.get("areas") or [], f"{where}.areas", LayoutError, most=DEFECTS_MAX)
    hide = _made(
        where,
        lambda: Hide(
            id=values.text(row.get("id"), f"{where}.id", LayoutError),
            outline_mm=_ring(row.get("outer"), f"{where}.outer"),
            defects_mm=tuple(
                _ring(hole, f"{where}.holes.{index}") for index, hole in enumerate(holes)
            ),
            areas=tuple(
                _graded_area(area, f"{where}.areas.{index}") for index, area in enumerate(areas)
            ),
            cost=_cost(row.get("cost"), f"{where}.cost"),
        ),
    )
    _made(where, lambda: check_on_hide(hide))
    return hide


def _graded_area(value: object, where: str) -> GradedArea:
    row = _row(value, where, _AREA_KEYS)
    return _made(
        where,
        lambda: GradedArea(
            grade=_whole(row, "grade", where, None),
            outline_mm=_ring(row.get("outer"), f"{where}.outer"),
        ),
    )


def _cost(value: object, where: str) -> Decimal | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, str | int | float | Decimal):
        raise LayoutError(
            f'{where} must be an amount such as "38.50".', field=where, code="not-a-number"
        )
    try:
        return Decimal(str(value))
    except InvalidOperation:
        raise LayoutError(
            f'{where} is {str(value)[:40]!r}; it must be an amount such as "38.50".',
            field=where,
            code="not-a-number",
        ) from None


def _piece(value: object, where: str) -> LayoutPiece:
    row = _row(value, where, _PIECE_KEYS)
    grade = row.get("grade")
    return _made(
        where,
        lambda: LayoutPiece(
            id=values.text(row.get("id"), f"{where}.id", LayoutError),
            outline_mm=_ring(row.get("outer"), f"{where}.outer"),
            quantity=_whole(row, "quantity", where, None),
            mirrored_quantity=_whole(row, "mirrored_quantity", where, 0),
            mirror_free=_flag(row, "mirror_free", where),
            allowed_rotations_deg=_rotations(row, where),
            rotation_tolerance_deg=_number(row, "rotation_tolerance_deg", where, 0.0),
            set_name=values.text(row.get("set", "pair"), f"{where}.set", LayoutError),
            per_set=_whole(row, "per_set", where, 0),
            per_set_mirrored=_whole(row, "per_set_mirrored", where, 0),
            grade=None if grade is None else _whole(row, "grade", where, None),
            mirrored_rotations_deg=_rotations(row, where, "mirrored_rotations")
            if "mirrored_rotations" in row
            else None,
        ),
    )


def _rotations(
    row: Mapping[str, object], where: str, key: str = "allowed_rotations"
) -> tuple[float, ...] | None:
    here = f"{where}.{key}"
    value = row.get(key, [0])
    if value == "free":
        return None
    if isinstance(value, str):
        raise LayoutError(
            f'{here} is {value[:40]!r}; it must be a list of degrees, or "free".',
            field=here,
            code="not-a-list",
        )
    found = values.array(value, here, LayoutError, most=ROTATIONS_MAX)
    return tuple(
        values.number(turn, f"{here}.{index}", LayoutError) for index, turn in enumerate(found)
    )


def _placement(value: object, where: str, only: str | None) -> Placement:
    row = _row(value, where, _PLACEMENT_KEYS)
    return _made(
        where,
        lambda: Placement(
            id=values.text(row.get("id"), f"{where}.id", LayoutError),
            container=values.text(row.get("container", only), f"{where}.container", LayoutError),
            x_mm=_number(row, "x", where, None),
            y_mm=_number(row, "y", where, None),
            rotation_deg=_number(row, "rotation_deg", where, None),
            mirrored=_flag(row, "mirrored", where),
        ),
    )


def _made(where: str, make: Callable[[], _Value]) -> _Value:
    """Return what is made; a fault it finds in itself gets the place in the file put before."""
    try:
        return make()
    except PatternError as error:
        if not error.field.startswith(where):
            error.field = f"{where}.{error.field}" if error.field else where
        raise


def _row(value: object, where: str, known: set[str]) -> Mapping[str, object]:
    row = values.mapping(value, where, LayoutError)
    for key in row:
        if key not in known:
            names = ", ".join(sorted(known - _NOTES))
            raise LayoutError(
                f"{where} has the unknown key {str(key)[:40]!r}; known are {names}.",
                field=f"{where}.{str(key)[:40]}",
                code="unknown-key",
            )
    return row


def _ring(value: object, where: str) -> Ring:
    found = values.points(value, where, LayoutError)
    # Some programs repeat the first point to close a ring.
    return found[:-1] if len(found) > 1 and found[0] == found[-1] else found


def _number(row: Mapping[str, object], key: str, where: str, otherwise: float | None) -> float:
    here = f"{where}.{key}" if where else key
    if key not in row and otherwise is not None:
        return otherwise
    return values.number(row.get(key), here, LayoutError, most=COORDINATE_MAX_MM)


def _whole(row: Mapping[str, object], key: str, where: str, otherwise: int | None) -> int:
    here = f"{where}.{key}"
    if key not in row and otherwise is not None:
        return otherwise
    value = row.get(key)
    if isinstance(value, bool) or not isinstance(value, int):
        raise LayoutError(
            f"{here} must be a whole number, not {str(value)[:40]!r}.",
            field=here,
            code="not-a-whole-number",
        )
    return value


def _flag(row: Mapping[str, object], key: str, where: str) -> bool:
    value = row.get(key, False)
    if not isinstance(value, bool):
        raise LayoutError(
            f"{where}.{key} must be true or false.", field=f"{where}.{key}", code="not-a-flag"
        )
    return value
