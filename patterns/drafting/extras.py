"""Pieces drawn flat beside those cut from the last: toe form, tongue, loops."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from shapely import LineString, Point, Polygon, union_all
from shapely.ops import split

from patterns.drafting.assemble import arrow_on
from patterns.drafting.features import drawn_flat
from patterns.geometry.curves import polyline_length_mm
from patterns.geometry.runs import contour_runs
from patterns.last.last import FloatArray
from patterns.pieces.allowances import cut_ring, fold_lines, net_ring, turned_kind
from patterns.pieces.piece import Edge, Piece
from patterns.pieces.tongue import tongue_piece
from patterns.style_lines import Feature


def toe_form_pieces(
    pieces: Sequence[Piece], feature: Feature, landmarks: Mapping[str, float]
) -> list[Piece]:
    """Return the hard part under each toe box: its own shape, short of the laps at its edges."""
    if landmarks["toe_form_mm"] <= 0:
        return []
    back = feature.numbers["back_mm"].value(landmarks)
    found = []
    for piece in pieces:
        if piece.name not in feature.pieces:
            continue
        free = [LineString(e.points_mm) for e in piece.edges
                if e.kind != "lasting" and not e.name.startswith("dart")]  # fmt: skip
        shape = Polygon(piece.net_mm).difference(union_all(free).buffer(back, quad_segs=24))
        if "from_mm" in feature.numbers:
            shape = _ahead_of(shape, piece, feature.numbers["from_mm"].value(landmarks))
        if shape.is_empty:
            continue
        whole = max(getattr(shape, "geoms", [shape]), key=lambda part: float(part.area))
        name = feature.name + piece.name.removeprefix(feature.pieces[0])
        form = drawn_flat(name, list(whole.exterior.coords[:-1]), feature)
        found.append(replace(form, thickness_mm=landmarks["toe_form_mm"]))
    return found


def _ahead_of(shape: Polygon, piece: Piece, from_mm: float) -> Polygon:
    """Return what of a shape on a flat piece lies ahead of a station along the foot."""
    if piece.mesh is None:
        return shape
    flat, along = piece.mesh.flat_mm, piece.mesh.points_mm[:, 0]
    runs = contour_runs(piece.mesh.points_mm, piece.mesh.triangles, along, from_mm)
    if not runs:
        return shape
    line = _longer(runs[0].places_mm(flat))
    tip = Point(flat[int(along.argmax())])
    return min(split(shape, line).geoms, key=lambda part: float(part.distance(tip)))


def _longer(places: FloatArray) -> LineString:
    """Return a line that goes on straight a little beyond both ends, so that it parts a shape."""
    first, last = places[0] - places[1], places[-1] - places[-2]
    ends = [
        place + way / max(float(np.linalg.norm(way)), 1e-9)
        for place, way in ((places[0], first), (places[-1], last))
    ]
    return LineString([ends[0], *places, ends[1]])


def tongue_under(
    pieces: Sequence[Piece], feature: Feature, landmarks: Mapping[str, float]
) -> Piece:
    """Return the tongue that lies under the lace edges, sewn to the pieces the feature names.

    It is as long as the longest lace edge and ``extra_mm`` beyond it.
    """
    numbers = {key: formula.value(landmarks) for key, formula in feature.numbers.items()}
    lace = [e for p in pieces for e in p.edges if e.name == "lace edge" and p.material == "upper"]
    length = max(polyline_length_mm(edge.points_mm) for edge in lace)
    held = [e for p in pieces for e in p.edges if p.name in feature.pieces
            and e.name.startswith(feature.edge)]  # fmt: skip
    base = sum(polyline_length_mm(edge.points_mm) for edge in held) or numbers["width_mm"]
    return tongue_piece(
        length + numbers["extra_mm"],
        width_mm=numbers["width_mm"],
        most_base_mm=base,
        lap_mm=numbers["lap_mm"],
        hem_mm=numbers["fold_mm"],
        stitch_inset_mm=landmarks["stitch_inset_mm"],
    )


def loop_piece(feature: Feature, landmarks: Mapping[str, float]) -> Piece:
    """Return a strip that is folded lengthwise and doubled to a loop."""
    length = feature.numbers["length_mm"].value(landmarks)
    half = feature.numbers["width_mm"].value(landmarks) / 2
    corners = ((0.0, -half), (length, -half), (length, half), (0.0, half))
    edges = [
        Edge("lower", turned_kind(half), half, (corners[0], corners[1])),
        Edge("end", "raw", 0.0, (corners[1], corners[2])),
        Edge("upper", turned_kind(half), half, (corners[2], corners[3])),
        Edge("start", "raw", 0.0, (corners[3], corners[0])),
    ]
    net = net_ring(edges)
    return Piece(
        name=feature.name,
        quantity=2,
        mirrored_quantity=0,
        material=feature.material,
        net_mm=net,
        cut_mm=cut_ring(edges),
        edges=tuple(edges),
        lines=(*fold_lines(edges), arrow_on(net, 0.0)),
        mirror_free=True,
    )
