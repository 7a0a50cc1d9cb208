"""What is set into pieces cut from the last's surface: eyelets, hooks, tape along an edge."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely import LineString, Polygon
from shapely.geometry.polygon import orient

from patterns.drafting.assemble import arrow_on
from patterns.errors import StyleError
from patterns.geometry.curves import Point, parallel_run, polyline_length_mm, resample
from patterns.geometry.outline import polygon_of
from patterns.pieces.allowances import cut_ring
from patterns.pieces.eyelets import EyeletRow, eyelet_row
from patterns.pieces.piece import Edge, Hole, Piece
from patterns.pieces.upper import eyelet_edge_mm
from patterns.style_lines import Feature

ROUND = 128  # sides of a quarter of a circle: true to 0.0001 mm


def edge_of(piece: Piece, name: str) -> Edge:
    """Return an edge of a piece by its name.

    Raises
    ------
    StyleError
        The foot and the lines as set leave the piece without that edge.
    """
    for edge in piece.edges:
        if edge.name == name:
            return edge
    text = (
        f"The {piece.name} has no {name} on this foot with the lines as set. Set the lines beside"
        " it nearer their defaults."
    )
    raise StyleError(text, field="parameters", code="piece-no-room", piece=piece.name)


def eyelet_line(piece: Piece, edge_name: str, away_mm: float) -> list[Point]:
    """Return the line parallel to an edge on which eyelets may stand, clear of every other edge."""
    lace = edge_of(piece, edge_name)
    inner = parallel_run(resample(lace.points_mm, 300), -away_mm)
    others = shapely.MultiLineString(
        [edge.points_mm for edge in piece.edges if edge.name != edge_name]
    )
    # Cut where the room ends, not at the nearest point: a row of eyelets more or less hangs on it.
    free = polygon_of(piece.net_mm).difference(others.buffer(away_mm, quad_segs=ROUND))
    whole = LineString(inner)
    lines = [p for p in shapely.get_parts(whole.intersection(free)) if isinstance(p, LineString)]
    if not lines:
        return []
    places = list(max(lines, key=lambda line: line.length).coords)
    first, last = shapely.line_locate_point(whole, shapely.points([places[0], places[-1]]))
    return places if first < last else places[::-1]


def with_eyelets(
    pieces: Sequence[Piece], feature: Feature, landmarks: Mapping[str, float]
) -> tuple[list[Piece], EyeletRow]:
    """Return the pieces with one row of eyelets each: as many on every one, at equal steps.

    Above the height ``hooks_above_mm`` of the feature, where there is one, they are hooks.

    Raises
    ------
    StyleError
        More are asked for than the lace edge has room for at their least distance.
    """
    away = eyelet_edge_mm(landmarks)
    pitch, asked = landmarks["eyelet_pitch_mm"], int(landmarks["eyelet_count"])
    named = [piece for piece in pieces if piece.name in feature.pieces]
    lines = [eyelet_line(piece, feature.edge, away) for piece in named]
    room = bool(named) and all(lines)
    most = min(eyelet_row(line, pitch, 0).most for line in lines) if room else 0
    if asked > most:
        raise _too_many(asked, most, pitch)
    wanted = asked or most
    if wanted == 0:
        return list(pieces), EyeletRow((), 0.0, most)
    rows = [eyelet_row(line, pitch, wanted) for line in lines]
    set_in = {
        piece.name: replace(piece, holes=_holes(piece, row, feature, landmarks))
        for piece, row in zip(named, rows, strict=True)
    }
    shown = replace(rows[0], most=most)
    return [set_in.get(piece.name, piece) for piece in pieces], shown


def _too_many(asked: int, most: int, pitch_mm: float) -> StyleError:
    text = (
        f"{asked} eyelets a side would stand closer than {pitch_mm:g} mm: the lace edge has room"
        f" for {most}. Ask for fewer, set the least eyelet distance lower, or the boot higher."
    )
    return StyleError(
        text,
        field="parameters.eyelet_count",
        code="eyelets-many",
        asked=asked,
        most=most,
        pitch_mm=pitch_mm,
    )


def _holes(
    piece: Piece, row: EyeletRow, feature: Feature, landmarks: Mapping[str, float]
) -> tuple[Hole, ...]:
    diameter = landmarks["eyelet_diameter_mm"]
    hooks_above = feature.numbers.get("hooks_above_mm")
    heights = _heights_mm(piece, row.centres_mm)
    limit = float("inf") if hooks_above is None else hooks_above.value(landmarks)
    return tuple(
        Hole("hook" if height > limit else "eyelet", x, y, diameter)
        for (x, y), height in zip(row.centres_mm, heights, strict=True)
    )


def _heights_mm(piece: Piece, places: Sequence[Point]) -> list[float]:
    """Return how high above the ground places on a piece come to lie on the last."""
    if piece.mesh is None:
        return [0.0 for _ in places]
    nearest = cKDTree(piece.mesh.flat_mm).query(np.asarray(places))[1]
    return [float(height) for height in piece.mesh.points_mm[nearest, 2]]


def tape_along(piece: Piece, feature: Feature, landmarks: Mapping[str, float]) -> Piece | None:
    """Return a band of tape for the inside of a piece along one edge, None if it has no width."""
    width = feature.numbers["width_mm"].value(landmarks)
    if width <= 0:
        return None
    edge = edge_of(piece, feature.edge)
    band = polygon_of(piece.net_mm).intersection(
        LineString(edge.points_mm).buffer(width, quad_segs=24, cap_style="flat")
    )
    if band.is_empty:
        return None
    if band.geom_type != "Polygon":
        band = max(getattr(band, "geoms", [band]), key=lambda part: float(part.area))
    return drawn_flat(
        f"{feature.name} {piece.name.split()[0]}",
        [(float(x), float(y)) for x, y in orient(Polygon(band.exterior)).exterior.coords[:-1]],
        feature,
        tight_way_deg=_direction_deg(edge),
    )


def _direction_deg(edge: Edge) -> float:
    (xa, ya), (xb, yb) = edge.points_mm[0], edge.points_mm[-1]
    return (
        float(np.degrees(np.arctan2(yb - ya, xb - xa)))
        if polyline_length_mm(edge.points_mm)
        else 0.0
    )


def drawn_flat(
    name: str, ring: Sequence[Point], feature: Feature, *, tight_way_deg: float = 0.0
) -> Piece:
    """Return a piece that is drawn flat, without allowances, one of the two turned over."""
    simple = polygon_of(ring).simplify(0.002)
    net = tuple((float(x), float(y)) for x, y in orient(simple).exterior.coords[:-1])
    edges = (Edge("edge", "raw", 0.0, (*net, net[0])),)
    return Piece(
        name=name,
        quantity=2,
        mirrored_quantity=1,
        material=feature.material,
        net_mm=net,
        cut_mm=cut_ring(edges),
        edges=edges,
        lines=(arrow_on(net, tight_way_deg),),
        tight_way_deg=tight_way_deg,
        face_up="flesh" if feature.material == "lining" else "grain",
    )
