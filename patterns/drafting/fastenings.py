"""Straps with their buckle tabs, and what a zip needs: drawn flat, as long as the last asks for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import LinearRing, LineString, Polygon
from shapely import Point as ShapelyPoint

from patterns.drafting.assemble import arrow_on
from patterns.drafting.curves import curve_values
from patterns.drafting.features import drawn_flat
from patterns.drafting.fields import fields_of_last
from patterns.errors import StyleError
from patterns.geometry.curves import Point, polyline_length_mm
from patterns.geometry.runs import contour_runs
from patterns.last import Last
from patterns.pieces.allowances import cut_ring, net_ring
from patterns.pieces.piece import Edge, Hole, Line, Message, Piece
from patterns.style_lines import Feature, StyleLines

TIP_STEPS = 8
HOLE_MOST_SHARE = 0.75  # of the leather it is punched into: what is left beside it must hold
LEAST_OVER_SHARE = 0.02  # of foot length: a shorter strap has nothing to go over


@dataclass(frozen=True, slots=True)
class Way:
    """Where a strap goes: across the top at the station `at_mm`, `length_mm` between its ends."""

    at_mm: float
    length_mm: float


def way_over(
    last: Last, lines: StyleLines, feature: Feature, landmarks: Mapping[str, float]
) -> Way:
    """Return the way of a strap over the top of a last, between the lines it begins and ends at.

    The feature's ``at_mm`` is where along the foot it goes, its edge the curve at its ends.

    Raises
    ------
    StyleError
        The curve leaves nothing open there.
    """
    at = feature.numbers["at_mm"].value(landmarks)
    fields = fields_of_last(last)
    beyond = curve_values(lines.curve(feature.edge), lines, fields, landmarks)
    triangles = last.triangles[(beyond[last.triangles] > 0.0).all(axis=1)]
    runs = contour_runs(last.points_mm, triangles, last.points_mm[:, 0] - at, 1e-4)
    length = max((run.length_mm(last.points_mm) for run in runs), default=0.0)
    if length < LEAST_OVER_SHARE * last.foot_length_mm:
        text = f"The {feature.name} has nothing to go over there: set it further back."
        raise StyleError(text, field="parameters", code="strap-no-room", piece=feature.name)
    return Way(at, length)


def strap_pieces(feature: Feature, landmarks: Mapping[str, float], way: Way) -> list[Piece]:
    """Return a strap, the tab that holds its buckle, and the strap's lining if there are linings.

    The strap begins where it is sewn on, ``sewn_mm`` under the other leather, goes over the top to
    the buckle and ``tail_mm`` beyond it. Its holes stand ``eyelet_pitch_mm`` apart, the middle one
    where the prong comes on the last as it is. The tab goes round the buckle's bar.
    """
    numbers = {key: formula.value(landmarks) for key, formula in feature.numbers.items()}
    reach = numbers["buckle_mm"]
    to_buckle = way.length_mm - reach
    half, end = numbers["width_mm"] / 2, to_buckle + numbers["tail_mm"]
    if to_buckle < half:
        text = f"The {feature.name} is too short for its buckle: lower the topline."
        raise StyleError(text, field="parameters", code="strap-no-room", piece=feature.name)
    corners = (0.0, -half), (0.0, half)
    tip = _tip(end, half)
    edges = [
        Edge("rim", "raw", 0.0, (corners[0], *tip, corners[1])),
        Edge("sewn on", "lap", numbers["sewn_mm"], (corners[1], corners[0])),
    ]
    step = landmarks["eyelet_pitch_mm"]
    inside = Polygon(net_ring(edges)).buffer(-0.6 * numbers["hole_mm"])
    holes = tuple(
        Hole("eyelet", to_buckle + k * step, 0.0, numbers["hole_mm"])
        for k in range(-int(numbers["holes"]) // 2 + 1, int(numbers["holes"]) // 2 + 1)
        if inside.contains(ShapelyPoint(to_buckle + k * step, 0.0))
    )
    inset = min(landmarks["stitch_inset_mm"], 0.4 * half)
    stitch = LineString(edges[0].points_mm).parallel_offset(inset, "left", join_style="mitre")
    lines = (Line("stitch", _points(stitch)), Line("mark", corners))
    strap = _piece(feature.name, feature, edges, lines=lines, holes=holes)
    pieces = [strap, _tab(feature, numbers)]
    inside = Polygon(strap.net_mm).buffer(-landmarks["lining_trim_mm"], join_style="mitre")
    if landmarks["lining"] and not inside.is_empty:
        lined = replace(feature, material="lining")
        pieces.append(drawn_flat(f"{feature.name} lining", _points(inside.exterior)[:-1], lined))
    return pieces


def _tip(end: float, half: float) -> list[Point]:
    """Return the rounded end of a strap, from its lower to its upper edge."""
    turns = np.linspace(-np.pi / 2, np.pi / 2, 2 * TIP_STEPS + 1)
    return [(float(end - half + half * np.cos(t)), float(half * np.sin(t))) for t in turns]


def _tab(feature: Feature, numbers: Mapping[str, float]) -> Piece:
    """Return the tab round a buckle's bar: doubled at its middle, where the prong comes through."""
    half, length = numbers["width_mm"] / 2, 2 * numbers["buckle_mm"]
    hole_mm = numbers["hole_mm"]
    if hole_mm > HOLE_MOST_SHARE * min(2 * half, length):
        text = (
            f"A hole of {hole_mm:g} mm does not fit into the {feature.name}'s buckle tab,"
            f" {2 * half:g} mm wide and {length:g} mm long between its ends. Make the hole smaller,"
            " the strap wider, or set the buckle further above the edge."
        )
        raise StyleError(text, field="parameters", code="strap-no-room", piece=feature.name)
    low, high = ((0.0, -half), (length, -half)), ((length, half), (0.0, half))
    edges = [
        Edge("lower", "raw", 0.0, low),
        Edge("sewn on under", "lap", numbers["sewn_mm"], (low[1], high[0])),
        Edge("upper", "raw", 0.0, high),
        Edge("sewn on over", "lap", numbers["sewn_mm"], (high[1], low[0])),
    ]
    middle = length / 2
    lines = (Line("fold", ((middle, -half), (middle, half))),)
    hole = Hole("eyelet", middle, 0.0, hole_mm)
    return _piece(f"{feature.name} buckle tab", feature, edges, lines=lines, holes=(hole,))


def _piece(
    name: str,
    feature: Feature,
    edges: Sequence[Edge],
    *,
    lines: tuple[Line, ...],
    holes: tuple[Hole, ...],
) -> Piece:
    net = net_ring(edges)
    return Piece(
        name=name,
        quantity=2,
        mirrored_quantity=1,
        material=feature.material,
        net_mm=net,
        cut_mm=cut_ring(edges),
        edges=tuple(edges),
        holes=holes,
        lines=(*lines, arrow_on(net, 0.0)),
    )


def _points(line: LineString | LinearRing) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in line.coords)


def with_strap_marks(pieces: Sequence[Piece], feature: Feature, way: Way) -> list[Piece]:
    """Return the pieces with a mark on those the strap is sewn to: where its middle comes."""
    return [
        replace(piece, lines=(*piece.lines, *_mark(piece, feature, way)))
        if piece.name in feature.pieces
        else piece
        for piece in pieces
    ]


def _mark(piece: Piece, feature: Feature, way: Way) -> list[Line]:
    mesh = piece.mesh
    rims = [edge for edge in piece.edges if edge.name.startswith(feature.edge)]
    if mesh is None or not rims:
        return []
    runs = contour_runs(mesh.points_mm, mesh.triangles, mesh.points_mm[:, 0] - way.at_mm, 1e-4)
    near = Polygon(piece.net_mm).intersection(
        LineString(rims[0].points_mm).buffer(0.5 * polyline_length_mm(rims[0].points_mm) / 6)
    )
    for run in runs:
        line = LineString(run.places_mm(mesh.flat_mm)).intersection(near)
        if line.geom_type == "LineString" and line.length > 0:
            return [Line("mark", _points(line))]
    return []


def zip_guards(
    pieces: Sequence[Piece], feature: Feature, landmarks: Mapping[str, float]
) -> tuple[list[Piece], list[Message]]:
    """Return the strip behind a zip, and how long a zip is needed.

    The strip is as long as the edge the zip goes along, and as wide as the feature says.
    """
    width = feature.numbers["width_mm"].value(landmarks)
    named = (piece for piece in pieces if piece.name in feature.pieces)
    edge = next((e for piece in named for e in piece.edges if e.name == feature.edge), None)
    if edge is None:
        text = "The zip would end above the topline: set its lower end lower, or the boot higher."
        raise StyleError(text, field="parameters.zip_end_mm", code="zip-no-room")
    length = polyline_length_mm(edge.points_mm)
    where = feature.pieces[0]
    text = f"A zip of {length:.0f} mm between its stops goes into the {edge.name} of the {where}."
    said = Message("info", "zip-length", text, where, {"length_mm": round(length, 2)})
    if width <= 0:
        return [], [said]
    ring = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    return [drawn_flat(feature.name, ring, feature)], [said]
