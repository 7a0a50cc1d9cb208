"""From a net outline in named edges to a piece: allowances, fold and stitch lines, notches."""

import itertools
from collections.abc import Sequence
from math import atan2, ceil, degrees, dist

from shapely import LineString

from patterns.errors import StyleError
from patterns.geometry.curves import (
    Point,
    parallel_run,
    point_along,
    polyline_length_mm,
    resample,
    thinned,
    turning_deg,
    without_doubles,
)
from patterns.geometry.offset import OffsetEdge, offset_edges
from patterns.geometry.outline import polygon_of
from patterns.pieces.piece import Edge, EdgeKind, Line, Notch, Ring

# Common practice, no source: a turned or gathered edge is notched about every 18 degrees of bend.
TURN_PER_NOTCH_DEG = 18.0
NOTCH_SHARE = 0.55  # of the allowance: a notch must not reach the net line
STRAIGHT_DEG = 25.0  # an edge that bends less than this needs no notches


def net_ring(edges: Sequence[Edge]) -> Ring:
    """Return the net outline the edges make, counter-clockwise."""
    points = [point for edge in edges for point in edge.points_mm[:-1]]
    return tuple(without_doubles(points, 1e-7))


def cut_ring(edges: Sequence[Edge]) -> Ring:
    """Return the line to cut: every edge moved out by its own allowance.

    Raises
    ------
    StyleError
        The net outline the edges make crosses itself: the foot leaves no room for the piece.
    """
    if not polygon_of(net_ring(edges)).is_valid:
        text = (
            "A piece would fold over itself: this foot leaves no room for the lines as set. Set"
            " toe line, boot height, tilts and front corner nearer their defaults."
        )
        raise StyleError(text, field="parameters", code="piece-folds")
    return tuple(
        offset_edges(
            [OffsetEdge(edge.points_mm, edge.allowance_mm, edge.kind == "hem") for edge in edges]
        )
    )


def turned_kind(allowance_mm: float) -> EdgeKind:
    """Return the kind of an edge by whether anything of it is turned in."""
    return "hem" if allowance_mm > 0 else "raw"


def fold_lines(edges: Sequence[Edge]) -> list[Line]:
    """Return the fold line of every edge that is turned in."""
    return [
        Line("fold", edge.points_mm)
        for edge in edges
        if edge.kind == "hem" and edge.allowance_mm > 0
    ]


def stitch_line(edges: Sequence[Edge], name: str, inset_mm: float) -> list[Line]:
    """Return the stitch line along one edge, `inset_mm` inside it and clear of the corners."""
    edge = next(edge for edge in edges if edge.name == name)
    close = resample(edge.points_mm, max(2, ceil(polyline_length_mm(edge.points_mm) / 0.4)))
    inside = thinned(parallel_run(close, -inset_mm))
    net = polygon_of(net_ring(edges)).buffer(-0.9 * inset_mm)
    kept = LineString(inside).intersection(net)
    if kept.is_empty:
        return []
    runs = [run for run in getattr(kept, "geoms", [kept]) if run.geom_type == "LineString"]
    if not runs:
        return []
    longest = max(runs, key=lambda run: float(run.length))
    return [Line("stitch", tuple((float(x), float(y)) for x, y in longest.coords))]


def notches_by_bend(edge: Edge) -> list[Notch]:
    """Return notches for a curved edge, evenly by how far it bends."""
    if edge.allowance_mm <= 0:
        return []
    bend = [abs(angle) for angle in _total_bend(edge.points_mm)]
    if bend[-1] < STRAIGHT_DEG:
        return []
    count = ceil(bend[-1] / TURN_PER_NOTCH_DEG)
    length = polyline_length_mm(edge.points_mm)
    count = min(count, int(length / max(1.5, 0.4 * edge.allowance_mm)))
    steps = map(dist, edge.points_mm, edge.points_mm[1:])
    places = list(itertools.accumulate(steps, initial=0.0))
    found = []
    for k in range(count):
        target = (k + 0.5) / count * bend[-1]
        index = next(i for i, angle in enumerate(bend) if angle >= target)
        found.append(notch_at(edge, min(max(places[index] / length, 0.02), 0.98)))
    return found


def notch_at(edge: Edge, t: float) -> Notch:
    """Return a notch at a share of an edge's length, square to the edge."""
    _, (dx, dy) = point_along(edge.points_mm, t * polyline_length_mm(edge.points_mm))
    depth = NOTCH_SHARE * edge.allowance_mm
    return Notch(edge.name, t, degrees(atan2(-dx, dy)), depth)


def _total_bend(points_mm: Sequence[Point]) -> list[float]:
    """Return the bend added up without sign, corners included, at each point."""
    turned = turning_deg(points_mm)
    total = [0.0]
    for a, b in itertools.pairwise(turned):
        total.append(total[-1] + abs(b - a))
    return total
