"""Parts of a picture laid over each other: what a part in front covers is not drawn."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from shapely import LineString, MultiLineString, Polygon, line_merge, union_all
from shapely.geometry.base import BaseGeometry

from patterns.drawing.drawing import Drawing, Fill, FillKind, LineKind, Stroke
from patterns.pieces.piece import Point, Ring

LEAST_LINE_MM = 0.05  # shorter remains of a hidden line are specks
LEAST_AREA_MM2 = 0.02
HAIR_MM = 0.004


@dataclass(frozen=True, slots=True)
class Part:
    """One thing seen: the area it covers, how it is filled, and the lines drawn on it.

    ``edge`` is the kind of line drawn all round the area; None where it has no edge of its own.
    """

    ring_mm: Ring
    fill: FillKind | None = None
    edge: LineKind | None = None
    lines: tuple[Stroke, ...] = ()


def stacked(parts: Iterable[Part]) -> Drawing:
    """Return the drawing of the parts, the foremost first."""
    strokes: list[Stroke] = []
    fills: list[Fill] = []
    covered: BaseGeometry = Polygon()
    for part in parts:
        area = Polygon(part.ring_mm).buffer(0)
        if part.fill is not None:
            fills += _fills(area.difference(covered), part.fill)
        if part.edge is not None:
            ring = (*part.ring_mm, part.ring_mm[0])
            strokes += _seen(Stroke(ring, part.edge), covered)
        for line in part.lines:
            strokes += _seen(line, covered)
        covered = union_all([covered, area])
    return Drawing(tuple(strokes), tuple(fills))


def _seen(stroke: Stroke, covered: BaseGeometry) -> list[Stroke]:
    """Return what is left of a line where nothing lies over it."""
    points = (*stroke.points_mm, stroke.points_mm[0]) if stroke.closed else stroke.points_mm
    left = LineString(points).difference(covered)
    if isinstance(left, MultiLineString):
        left = line_merge(left)
    return [
        Stroke(_points(line.coords), stroke.kind)
        for line in _simple_parts(left)
        if isinstance(line, LineString) and line.length > LEAST_LINE_MM
    ]


def _fills(area: BaseGeometry, kind: FillKind) -> list[Fill]:
    """Return what is seen of an area, without the hairs left where two outlines run along."""
    opened = area.buffer(-HAIR_MM, join_style="mitre").buffer(HAIR_MM, join_style="mitre")
    return [
        Fill(
            _points(part.exterior.coords[:-1]),
            kind,
            tuple(_points(hole.coords[:-1]) for hole in part.interiors),
        )
        for part in _simple_parts(opened)
        if isinstance(part, Polygon) and part.area > LEAST_AREA_MM2
    ]


def _simple_parts(shape: BaseGeometry) -> Iterator[BaseGeometry]:
    yield from getattr(shape, "geoms", [shape])


def _points(coords: Iterable[tuple[float, ...]]) -> tuple[Point, ...]:
    return tuple((float(pair[0]), float(pair[1])) for pair in coords)
