"""Closed shapes of a DXF drawing as rings in millimetres.

Read from the model space: polylines, lines, arcs, circles, ellipses and splines. What is not closed
by itself is joined to what it meets. ``$INSUNITS`` tells the unit; a file without one is read only
if somebody says it.
"""

from io import StringIO

from ezdxf import path
from ezdxf.document import Drawing as DxfDocument
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.filemanagement import read
from ezdxf.lldxf.const import DXFError
from ezdxf.math import Vec3

from patterns.errors import OutlineError
from patterns.exchange.outline_file import (
    FLAT_MM,
    checked_far,
    joined_loops,
    line_fault,
)
from patterns.geometry.outline import COORDINATE_MAX_MM, POINTS_MAX
from patterns.pieces.piece import Point, Ring

DRAWN = ("LWPOLYLINE", "POLYLINE", "LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE")
ENTITIES_MAX = 20_000
ROUND = {"ARC": ("start_angle", "end_angle"), "ELLIPSE": ("start_param", "end_param")}
TURNED_MAX_DEG = 3600.0  # files say angles beyond a turn, never beyond ten: common practice
# DXF Reference, HEADER section, $INSUNITS: inches, feet, mm, cm, m, decimetres.
MM_PER_INSUNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 14: 100.0}


def dxf_rings(text: str, *, mm_per_unit: float | None = None) -> list[Ring]:
    """Return every closed shape of a DXF file.

    ``mm_per_unit`` goes before the unit the file names.

    Raises
    ------
    OutlineError
        No DXF that can be read, a unit that is no length, or far too many lines.
    """
    _check_tags(text)
    try:
        document = read(StringIO(text))
    except (DXFError, ValueError, KeyError, IndexError, TypeError, AttributeError):
        raise OutlineError(
            "The file is no DXF that can be read. Save it again as ASCII DXF, 2000 or later.",
            field="outline",
            code="unreadable",
        ) from None
    scale = mm_per_unit or _mm_per_unit(document)
    entities = [entity for entity in document.modelspace() if entity.dxftype() in DRAWN]
    if len(entities) > ENTITIES_MAX:
        raise OutlineError(
            f"The drawing has {len(entities)} lines; at most {ENTITIES_MAX} can be read. "
            "Leave out what is no outline.",
            field="outline",
            code="too_many_outlines",
            outlines=len(entities),
        )
    chains = [_points(entity, scale) for entity in entities]
    if sum(map(len, chains)) > 4 * POINTS_MAX:
        raise OutlineError(
            f"The drawing has more than {4 * POINTS_MAX} points. Draw it with fewer.",
            field="outline",
            code="too_many_points",
        )
    closed = [tuple(chain[:-1]) for chain in chains if len(chain) > 3 and chain[0] == chain[-1]]
    return [*closed, *joined_loops(chains)]


def _check_tags(text: str) -> None:
    """Look that codes and values take turns, so that a fault can be told by its line."""
    lines = text.splitlines()
    if not lines or not lines[0].strip().isdigit():
        raise line_fault(1, "does not begin an ASCII DXF drawing")
    for number in range(0, len(lines), 2):
        code = lines[number].strip()
        if not code.lstrip("-").isdigit():
            if any(line.strip() for line in lines[number:]):
                raise line_fault(number + 1, f"has “{code[:20]}” where a group code belongs")
            return
        value = lines[number + 1].strip() if number + 1 < len(lines) else ""
        if 10 <= int(code) <= 39 and not _is_number(value):
            raise line_fault(number + 2, f"has “{value[:20]}” where a coordinate belongs")


def _is_number(text: str) -> bool:
    try:
        return abs(float(text)) < float("inf")
    except ValueError:
        return False


def _mm_per_unit(document: DxfDocument) -> float:
    scale = MM_PER_INSUNITS.get(document.units)
    if not document.units:
        raise OutlineError(
            "The DXF file does not say its unit. Choose the unit it is drawn in, or save it with"
            " $INSUNITS.",
            field="outline",
            code="unit_missing",
        )
    if scale is None:
        raise OutlineError(
            "The drawing's unit ($INSUNITS) is none a hide is drawn in. Save it in millimetres.",
            field="outline",
            code="unit_unknown",
            unit=document.units,
        )
    return scale


def _check_round(entity: DXFEntity, scale: float) -> None:
    """Refuse curves without end: an arc is drawn once for every turn its angles tell."""
    names = ROUND.get(entity.dxftype(), ())
    turned = max((abs(float(entity.dxf.get(name, 0.0))) for name in names), default=0.0)
    reach = scale * _radius(entity)
    # Written so that a NaN fails it too.
    if not (turned <= TURNED_MAX_DEG and reach <= COORDINATE_MAX_MM):
        raise OutlineError(
            f"The drawing has a curve ({entity.dxftype()}) with a radius or an angle that no hide"
            " has. Check the unit, or draw that curve anew.",
            field="outline",
            code="curve_too_large",
        )


def _radius(entity: DXFEntity) -> float:
    match entity.dxftype():
        case "ARC" | "CIRCLE":
            return abs(float(entity.dxf.get("radius", 0.0)))
        case "ELLIPSE":
            return float(entity.dxf.get("major_axis", Vec3(1, 0, 0)).magnitude)
    return 0.0


def _points(entity: DXFEntity, scale: float) -> list[Point]:
    _check_round(entity, scale)
    try:
        way = path.make_path(entity)
    except (TypeError, ValueError, DXFError):
        return []
    flat = [(p.x * scale, p.y * scale) for p in way.flattening(FLAT_MM / scale)]
    if flat:
        checked_far(flat, 1)
    if flat and way.is_closed:
        flat[-1] = flat[0]
    return flat
