"""Outlines of hides drawn elsewhere: CSV, SVG or DXF text to closed rings in millimetres.

Every fault names its line. The largest ring is the hide; what lies on it are its defects.
"""

import csv
import json
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely.geometry import Polygon

from patterns.errors import OutlineError
from patterns.exchange import values
from patterns.geometry.outline import COORDINATE_MAX_MM, POINTS_MAX, check_outline
from patterns.pieces.piece import Point, Ring
from patterns.units import MM_PER_UNIT

RINGS_MAX = 201  # a hide and its 200 defects
HEEL_SHARE = 0.2  # of a sole's length from the back
FLAT_MM = 0.1  # how far a curve may lie from the straight pieces it becomes
SAME_POINT_MM = 0.05  # two ends this near are one corner: far below a knife's way
CELL_MOST = 100_000  # characters of a cell; no number is so long
NUMBER = re.compile(r"[-+]?(\d{1,9}(\.\d{0,12})?|\.\d{1,12})(e[-+]?\d{1,2})?", re.ASCII | re.I)


@dataclass(frozen=True, slots=True)
class FileOutlines:
    """What a file holds: the hide's outline and the rings that lie on it, y up."""

    outline_mm: Ring
    defects_mm: tuple[Ring, ...]


def outlines_from_csv(text: str, mm_per_unit: float | None = None) -> FileOutlines:
    r"""Return the outlines of a table of points: ``x,y``, or ``ring,x,y`` for several rings.

    A table says no unit: it is in millimetres unless ``mm_per_unit`` tells another.

    Commas, semicolons or tabs part the cells; with semicolons or tabs a comma in a number is a
    decimal comma. A heading line may stand first. A blank line or another first cell begins the
    next ring.

    Raises
    ------
    OutlineError
        A line cannot be read, or the rings cannot be used; ``line`` is among the parameters.

    Examples
    --------
    >>> outlines_from_csv("x,y\n0,0\n60,0\n60,40\n0,40\n").outline_mm
    ((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0))
    """
    first = text.split("\n", 1)[0]
    mark = max(";\t,", key=first.count)
    rings: list[list[Point]] = [[]]
    name = ""
    count = 0
    for line, cells in _table(text, mark):
        cells = [cell.strip() for cell in cells]
        if not any(cells):
            rings.append([])
            continue
        if line == 1 and not NUMBER.fullmatch(_plain(cells[-1], mark)):
            continue  # the heading
        if len(cells) not in (2, 3):
            raise line_fault(line, f"has {len(cells)} cells; write x, y or ring, x, y")
        if len(cells) == 3 and cells[0] != name:
            rings.append([])
            name = cells[0]
        x, y = _csv_point(cells[-2:], mark, line)
        rings[-1].append((x * (mm_per_unit or 1.0), y * (mm_per_unit or 1.0)))
        count += 1
        if count > POINTS_MAX * 2:
            raise line_fault(
                line, f"is one of more than {2 * POINTS_MAX} points; draw it with fewer"
            )
    return told_apart([tuple(ring) for ring in rings if ring])


def _table(text: str, mark: str) -> Iterator[tuple[int, list[str]]]:
    # No cell of such a table holds a line break, so lines and records are one.
    for number, line in enumerate(text.splitlines(), 1):
        try:
            cells = next(csv.reader((line,), delimiter=mark), [])
        except csv.Error:
            cells = [line]  # the reader's own limit, which others may set
        if any(len(cell) > CELL_MOST for cell in cells):
            raise line_fault(number, "has a cell that is far too long")
        yield number, cells


def _plain(cell: str, mark: str) -> str:
    return cell if mark == "," else cell.replace(",", ".")


def _csv_point(cells: Sequence[str], mark: str, line: int) -> Point:
    numbers = [_plain(cell, mark) for cell in cells]
    if not all(NUMBER.fullmatch(number) for number in numbers):
        raise line_fault(line, f"reads “{mark.join(cells)[:40]}”; write two numbers in mm")
    return float(numbers[0]), float(numbers[1])


def outlines_from_svg(data: bytes, mm_per_unit: float | None = None) -> FileOutlines:
    """Return the closed shapes of an SVG drawing in millimetres; see `outline_svg`.

    ``mm_per_unit`` goes before what the file says of its size.

    Raises
    ------
    OutlineError
        The file cannot be read, has no closed shape, or its size is not given in real units.
    """
    # Loaded here: only this kind of file needs the XML reader.
    from patterns.exchange.outline_svg import svg_rings

    return told_apart(svg_rings(data, mm_per_unit=mm_per_unit))


def outlines_from_dxf(text: str, mm_per_unit: float | None = None) -> FileOutlines:
    """Return the closed shapes of a DXF drawing in millimetres; see `outline_dxf`.

    ``mm_per_unit`` goes before the unit the file names.

    Raises
    ------
    OutlineError
        The file cannot be read or has no closed shape.
    """
    # Loaded here: the DXF package takes longer to load than a table to read.
    from patterns.exchange.outline_dxf import dxf_rings

    return told_apart(dxf_rings(text, mm_per_unit=mm_per_unit))


def outlines_from_json(text: str) -> FileOutlines:
    """Return ``{"unit": "mm", "outline": [[x, y], ...], "defects": [[[x, y], ...], ...]}``.

    ``unit`` is one of `MM_PER_UNIT` and must be there; ``defects`` may be left out.

    Raises
    ------
    OutlineError
        Not JSON, an unknown key or unit, or a ring that cannot be used.
    """
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:  # a ValueError alone: a number far too long
        raise line_fault(getattr(error, "lineno", 1), "is not JSON") from None
    row = values.mapping(document, "outline file", OutlineError)
    unknown = sorted(set(row) - {"unit", "outline", "defects"})
    if unknown:
        raise OutlineError(
            f"The outline file has the unknown key {str(unknown[0])[:40]!r}; known are unit,"
            " outline and defects.",
            field="outline",
            code="unknown-key",
        )
    scale = MM_PER_UNIT.get(str(row.get("unit", "")))
    if scale is None:
        raise OutlineError(
            f"The outline file's unit must be one of {', '.join(MM_PER_UNIT)}.",
            field="outline",
            code="unit_unknown",
        )
    holes = row.get("defects", [])
    if not isinstance(holes, list):
        raise OutlineError("defects must be a list of rings.", field="outline", code="not-a-list")
    rings = [values.points(row.get("outline"), "outline", OutlineError)]
    rings += [
        values.points(hole, f"defects.{number}", OutlineError) for number, hole in enumerate(holes)
    ]
    moved = [tuple((x * scale, y * scale) for x, y in ring) for ring in rings]
    for ring in moved:
        checked_far(ring, 1)
    return told_apart([ring[:-1] if ring[0] == ring[-1] else ring for ring in moved])


Reader = Callable[[bytes, float | None], FileOutlines]
READERS: dict[str, Reader] = {
    ".csv": lambda data, unit: outlines_from_csv(data.decode("utf-8-sig"), unit),
    ".svg": outlines_from_svg,
    ".dxf": lambda data, unit: outlines_from_dxf(data.decode("utf-8-sig", errors="replace"), unit),
    ".json": lambda data, _unit: outlines_from_json(data.decode("utf-8-sig")),
}


def sole_outline_from(outlines: FileOutlines) -> Ring:
    """Return the largest outline of a file as a tracing: the heel at x = 0, its middle at y = 0.

    The drawing is taken to be seen from above with the toe towards +x.
    """
    ring = outlines.outline_mm
    left = min(x for x, _ in ring)
    length = max(x for x, _ in ring) - left
    heel = [y for x, y in ring if x - left <= HEEL_SHARE * length]
    middle = (min(heel) + max(heel)) / 2.0
    return tuple((x - left, y - middle) for x, y in ring)


def told_apart(rings: Sequence[Ring]) -> FileOutlines:
    """Return the largest ring as the hide and those that lie on it as its defects.

    Raises
    ------
    OutlineError
        No ring, too many, one that cannot be used, or one that lies beside the largest.
    """
    usable = [_tidy(ring) for ring in rings]
    usable = [ring for ring in usable if len(ring) >= 3]
    if not usable:
        raise OutlineError(
            "The file holds no closed outline of three points or more. Draw the hide as one loop.",
            field="outline",
            code="no_outline",
        )
    if len(usable) > RINGS_MAX:
        raise OutlineError(
            f"The file holds {len(usable)} outlines; a hide and {RINGS_MAX - 1} defects can be "
            "read. Leave the others out.",
            field="outline",
            code="too_many_outlines",
            outlines=len(usable),
        )
    for number, ring in enumerate(usable, 1):
        check_outline(ring, name=f"outline {number} of the file", field="outline")
    usable.sort(key=lambda ring: -float(Polygon(ring).area))
    hide = Polygon(usable[0])
    for ring in usable[1:]:
        if not hide.intersects(Polygon(ring)):
            x, y = ring[0]
            raise OutlineError(
                f"An outline of the file near {x:.0f}, {y:.0f} mm lies beside the largest one, "
                "the hide. Leave it out, or move it onto the hide as a defect.",
                field="outline",
                code="beside_the_hide",
                x_mm=x,
                y_mm=y,
            )
    return FileOutlines(usable[0], tuple(usable[1:]))


def _tidy(ring: Ring) -> Ring:
    """Return a ring without repeated points."""
    points = [p for p, q in pairwise([*ring, ring[0]]) if p != q]
    return tuple(points)


def line_fault(line: int, what: str) -> OutlineError:
    """Return the fault of one line of the file."""
    return OutlineError(
        f"Line {line} of the outline file {what}.", field="outline", code="line", line=line
    )


def joined_loops(chains: Sequence[Sequence[Point]]) -> list[Ring]:
    """Return the closed loops that open chains of points make where their ends meet."""
    lines = [
        shapely.LineString(chain) for chain in chains if len(chain) > 1 and chain[0] != chain[-1]
    ]
    snapped = shapely.set_precision(shapely.MultiLineString(lines), SAME_POINT_MM)
    parts = shapely.polygonize([shapely.unary_union(snapped)])
    return [
        tuple((float(x), float(y)) for x, y in part.exterior.coords[:-1]) for part in parts.geoms
    ]


def checked_far(points: Sequence[Point], line: int) -> None:
    """Raise OutlineError for a point further out than any drawing of a hide."""
    for x, y in points:
        if not max(abs(x), abs(y)) <= COORDINATE_MAX_MM:  # a NaN fails this too
            raise line_fault(line, f"has a point at {x:g}, {y:g} mm; check the unit")
