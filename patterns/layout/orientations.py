"""Kinds of copies to lay and the ways each may lie, as convex parts ready for the raster."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from patterns.geometry.convex import ConvexStack, FloatArray, convex_parts, grown, stacked
from patterns.layout.ground import polygons_of
from patterns.layout.values import LayoutPiece, LayoutRequest

# Trials on the sample hides: more ways a piece slow every step down more than they gain.
ORIENTATIONS_MAX = 96
FREE_ANGLES_MAX = 12
FREE_ANGLES_MIN = 4
PARTS_MAX = 5  # more convex parts than this: draw the piece a little larger and simpler first
CORNERS_MAX = 48
# How far outward the search may simplify a piece, as shares of its size.
SIMPLER_SHARES = (0.0, 0.0003, 0.0007, 0.0015, 0.003, 0.006)


@dataclass(frozen=True, slots=True)
class Kind:
    """Copies that count alike: the plain or the mirrored ones of a piece, or both if free."""

    piece: LayoutPiece
    mirrorings: tuple[bool, ...]
    quantity: int
    per_set: int
    area_mm2: float


@dataclass(frozen=True, slots=True)
class Orientation:
    """One way a kind may lie, its reference point at the origin.

    ``grown`` is the piece with half the gap around it, ``turned_plain`` and ``turned_grown`` the
    piece without and with it, both mirrored through the origin; ``bounds_mm`` are of the plain
    piece.
    """

    kind: int
    mirrored: bool
    rotation_deg: float
    grown: ConvexStack
    turned_plain: ConvexStack
    turned_grown: ConvexStack
    bounds_mm: tuple[float, float, float, float]


def kinds_of(request: LayoutRequest) -> list[Kind]:
    """Return the kinds of copies asked for."""
    kinds = []
    for piece in request.pieces:
        area = float(Polygon(piece.outline_mm).area)
        if piece.mirror_free:
            kinds.append(Kind(piece, (False, True), piece.quantity, piece.per_set, area))
            continue
        plain = piece.quantity - piece.mirrored_quantity
        plain_per_set = piece.per_set - piece.per_set_mirrored
        if plain:
            kinds.append(Kind(piece, (False,), plain, plain_per_set, area))
        if piece.mirrored_quantity:
            mirrored = piece.mirrored_quantity
            kinds.append(Kind(piece, (True,), mirrored, piece.per_set_mirrored, area))
    return kinds


def orientations_of(request: LayoutRequest, kinds: Sequence[Kind]) -> list[Orientation]:
    """Return the ways the kinds may lie; fewer a kind when there are many kinds."""
    half_gap = request.spacing_mm / 2.0
    parts = {piece.id: search_parts(Polygon(piece.outline_mm)) for piece in request.pieces}
    widened = {name: grown(found, half_gap) for name, found in parts.items()}
    share = ORIENTATIONS_MAX // sum(len(kind.mirrorings) for kind in kinds)
    return [
        _orientation(number, mirrored, angle, parts[kind.piece.id], widened[kind.piece.id], kind)
        for number, kind in enumerate(kinds)
        for mirrored in kind.mirrorings
        for angle in _angles(kind.piece, mirrored, share)
    ]


def laid_ring(points: FloatArray, rotation_deg: float, mirrored: bool) -> FloatArray:
    """Return points mirrored if so, then turned; a ring stays counter-clockwise."""
    angle = math.radians(rotation_deg)
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    if mirrored:
        points = (points * (-1.0, 1.0))[::-1]
    result: FloatArray = points @ turn.T
    return result


def grown_parts(piece: LayoutPiece, half_gap_mm: float) -> list[FloatArray]:
    """Return convex parts that hold a piece and everything within half the gap of it."""
    return grown(search_parts(Polygon(piece.outline_mm)), half_gap_mm)


def _orientation(
    number: int,
    mirrored: bool,
    angle: float,
    parts: Sequence[FloatArray],
    widened: Sequence[FloatArray],
    kind: Kind,
) -> Orientation:
    plain = [laid_ring(part, angle, mirrored) for part in parts]
    wide = [laid_ring(part, angle, mirrored) for part in widened]
    outline = laid_ring(np.array(kind.piece.outline_mm, dtype=float), angle, mirrored)
    (x0, y0), (x1, y1) = outline.min(axis=0).tolist(), outline.max(axis=0).tolist()
    return Orientation(
        kind=number,
        mirrored=mirrored,
        rotation_deg=angle,
        grown=stacked(wide),
        turned_plain=stacked([-part for part in plain]),
        turned_grown=stacked([-part for part in wide]),
        bounds_mm=(x0, y0, x1, y1),
    )


def _angles(piece: LayoutPiece, mirrored: bool, share: int) -> list[float]:
    """Return the angles tried for a piece, about as many as its share of all orientations."""
    allowed = piece.rotations_deg(mirrored)
    if allowed is None:
        count = min(FREE_ANGLES_MAX, max(FREE_ANGLES_MIN, share // 2 * 2))
        return [number * 360.0 / count for number in range(count)]
    exact = _distinct(allowed)
    tolerance = piece.rotation_tolerance_deg
    if not tolerance or 3 * len(exact) > share:
        return exact[: max(1, share)]
    return _distinct(angle + turn for angle in exact for turn in (0.0, tolerance, -tolerance))


def _distinct(angles: Iterable[float]) -> list[float]:
    found: list[float] = []
    for angle in angles:
        turned = round(angle % 360.0, 9) % 360.0
        if turned not in found:
            found.append(turned)
    return found


def search_parts(shape: Polygon) -> list[FloatArray]:
    """Return convex parts of a piece, drawn larger and simpler where it has very many corners."""
    x0, y0, x1, y1 = shape.bounds
    best: list[FloatArray] | None = None
    for share in SIMPLER_SHARES:
        simpler = simpler_around(shape, share * max(x1 - x0, y1 - y0))
        if simpler is None:
            continue
        corners = len(simpler.exterior.coords) - 1
        if corners > 4 * CORNERS_MAX and share != SIMPLER_SHARES[-1] and best is None:
            continue
        parts = convex_parts(simpler)
        if best is None or len(parts) < len(best):
            best = parts
        if len(parts) <= PARTS_MAX and corners <= CORNERS_MAX:
            return parts
    return best if best is not None else convex_parts(shape)


def simpler_around(shape: BaseGeometry, within_mm: float) -> Polygon | None:
    """Return a simpler polygon without holes that holds the whole shape, or None if none is."""
    if within_mm <= 0.0:
        return shape if isinstance(shape, Polygon) else None
    larger = shape.buffer(within_mm, join_style="mitre", mitre_limit=2.0)
    simpler = polygons_of(larger.simplify(within_mm))
    if len(simpler) != 1 or not simpler[0].is_valid:
        return None
    filled = Polygon(simpler[0].exterior)
    return filled if filled.covers(shape) else None
