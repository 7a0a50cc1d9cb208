"""What is left of a hide once a layout is cut from it: pieces worth keeping, and waste."""

import math
from dataclasses import dataclass

import shapely
from shapely.coords import CoordinateSequence
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from patterns.errors import LayoutError
from patterns.hide import DEFECTS_MAX, GradedArea, Hide
from patterns.layout.ground import laid_shape, polygons_of, usable_shape
from patterns.layout.values import Layout, LayoutRequest
from patterns.pieces.piece import Ring

# Narrower or smaller leather gives no piece of a doll's boot; common practice, no source.
LEAST_WIDTH_MM = 25.0
LEAST_AREA_MM2 = 2_500.0
WIDTH_MAX_MM = 1_000.0
AREA_MAX_MM2 = 9_000_000.0  # three metres square, the largest hide there may be

CUT_OUT = "cut out"  # the kind of a hole that a piece has left
DETAIL_MM = 0.3  # a knife follows no finer; it keeps what is left to some dozen corners
POINTS_PLAIN = 2_000  # a traced outline may have more; what is left of it needs no more
OVERHANG_MM = 0.3  # how far a sliver that was cut off may still stick out
SPECK_MM2 = 1.0  # parts of graded areas below this are rounding


@dataclass(frozen=True, slots=True)
class Leftovers:
    """What a cut hide comes to; the three areas add up to its usable area.

    ``remnants`` are hides of their own, largest first, in the frame of the layout: outline,
    defects (holes that pieces have left among them) and graded areas. ``pieces_mm2`` is what was
    laid, ``waste_mm2`` everything else: gaps, slivers and what is too small to keep.
    """

    remnants: tuple[Hide, ...]
    pieces_mm2: float
    remnants_mm2: float
    waste_mm2: float


def leftovers(
    hide: Hide,
    request: LayoutRequest,
    layout: Layout,
    *,
    least_width_mm: float = LEAST_WIDTH_MM,
    least_area_mm2: float = LEAST_AREA_MM2,
) -> Leftovers:
    """Return what is left of one hide of a layout.

    The placed pieces, grown by the gap between pieces, are taken off the usable leather. What is
    narrower than the smallest useful width is cut off what remains, and what is then smaller
    than the smallest useful area is waste.

    Parameters
    ----------
    hide : Hide
        One of the request's, tight way along x.
    request : LayoutRequest
    layout : Layout
    least_width_mm : float
        A disc of this width passes everywhere through what is kept, 0 to 1000.
    least_area_mm2 : float
        Of usable leather, 0 to 9,000,000.

    Raises
    ------
    LayoutError
        A width or an area out of range; ``field`` names it.
    """
    _check_range("least_width_mm", least_width_mm, WIDTH_MAX_MM, "mm")
    _check_range("least_area_mm2", least_area_mm2, AREA_MAX_MM2, "mm²")
    usable = usable_shape(hide)
    laid = shapely.union_all(
        [
            laid_shape(piece, row)
            for row in layout.placements
            for piece in request.pieces
            if row.container == hide.id and piece.id == row.id
        ]
    )
    free = usable.difference(_taken(laid, request.spacing_mm))
    kept = [
        part
        for whole in polygons_of(_roomy(free, least_width_mm))
        for part in _plain(whole)
        if part.area >= least_area_mm2
    ]
    kept.sort(key=lambda part: (-part.area, part.bounds))
    rest = usable.difference(shapely.union_all([laid, *kept]))
    return Leftovers(
        remnants=tuple(_remnant(hide, part, number) for number, part in enumerate(kept, 1)),
        pieces_mm2=float(laid.area),
        remnants_mm2=float(sum(part.area for part in kept)),
        waste_mm2=float(rest.area),
    )


def _check_range(field: str, value: float, most: float, unit: str) -> None:
    if not (math.isfinite(value) and 0.0 <= value <= most):
        what = "width" if field == "least_width_mm" else "area"
        raise LayoutError(
            f"The smallest useful {what} is {value:g} {unit}; it must be from 0 to {most:g}.",
            field=field,
            code="out_of_range",
            value=value,
            least=0.0,
            most=most,
        )


def _taken(laid: BaseGeometry, spacing_mm: float) -> BaseGeometry:
    """Return the laid pieces grown by the gap, with few corners and nowhere less than the gap."""
    return laid.buffer(spacing_mm + DETAIL_MM, quad_segs=6).simplify(DETAIL_MM)


def _roomy(free: BaseGeometry, least_width_mm: float) -> BaseGeometry:
    """Return the parts of a shape that a disc of such a width can reach, corners kept."""
    radius = least_width_mm / 2.0
    if radius == 0.0:
        return free
    reached = free.buffer(-radius, quad_segs=16).simplify(DETAIL_MM)
    # Grown back with sharp corners and a little more, then held inside: where nothing was cut off
    # the edge is exactly what it was.
    grown = reached.buffer(radius + OVERHANG_MM, join_style="mitre", mitre_limit=5.0)
    return free.intersection(grown)


def _plain(part: Polygon) -> list[Polygon]:
    """Return a part with no more points and holes than a hide may have, nowhere outside it.

    One with more holes is cut straight through the middle of its longer side.
    """
    if len(part.interiors) > DEFECTS_MAX:
        left, bottom, right, top = part.bounds
        x, y = (left + right) / 2.0, (bottom + top) / 2.0
        halves = (
            (box(left, bottom, x, top), box(x, bottom, right, top))
            if right - left > top - bottom
            else (box(left, bottom, right, y), box(left, y, right, top))
        )
        return [
            plain
            for half in halves
            for piece in polygons_of(part.intersection(half))
            for plain in _plain(piece)
        ]
    if len(part.exterior.coords) > POINTS_PLAIN:
        return polygons_of(part.buffer(-DETAIL_MM, quad_segs=2).simplify(DETAIL_MM))
    return [part]


def _remnant(hide: Hide, part: Polygon, number: int) -> Hide:
    holes = [_ring(interior.coords) for interior in part.interiors]
    outer = Polygon(part.exterior)
    areas = [
        GradedArea(area.grade, _ring(piece.exterior.coords), area.name, area.worth_share)
        for area in hide.areas
        for piece in polygons_of(outer.intersection(Polygon(area.outline_mm)))
        if piece.area > SPECK_MM2
    ]
    return Hide(
        f"{hide.id}/{number}",
        _ring(part.exterior.coords),
        tuple(holes),
        tuple(areas),
        defect_kinds=tuple(_kind(hide, ring) for ring in holes),
    )


def _kind(hide: Hide, ring: Ring) -> str:
    """Return what a hole is: a defect of the hide where it is mostly one, else cut out."""
    hole = Polygon(ring)
    for kind, defect in hide.named_defects:
        if hole.intersection(Polygon(defect)).area > hole.area / 2.0:
            return kind
    return CUT_OUT


def _ring(closed: CoordinateSequence) -> Ring:
    return tuple((float(x), float(y)) for x, y in closed[:-1])
