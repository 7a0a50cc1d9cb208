"""Hides and laid pieces as exact shapes; the same rules for searching, checking and measuring."""

import math

import shapely
from shapely.affinity import affine_transform
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from patterns.errors import LayoutError
from patterns.hide import Hide
from patterns.layout.values import LayoutPiece, LayoutRequest, Placement


def usable_shape(hide: Hide) -> BaseGeometry:
    """Return the hide without its defects."""
    outer = Polygon(hide.outline_mm)
    if not hide.defects_mm:
        return outer
    return outer.difference(shapely.union_all([Polygon(ring) for ring in hide.defects_mm]))


def usable_area_mm2(request: LayoutRequest) -> float:
    """Return the area of all hides given, without their defects.

    Raises
    ------
    LayoutError
        Defects leave nothing of a hide.
    """
    total = 0.0
    for index, hide in enumerate(request.hides):
        area = float(usable_shape(hide).area)
        if area <= 0.0:
            raise LayoutError(
                f"The defects of hide {hide.id} leave nothing to cut from. Check their outlines.",
                field=f"containers.{index}.holes",
                code="nothing_usable",
                hide=hide.id,
            )
        total += area
    return total


def laid_shape(piece: LayoutPiece, placement: Placement) -> Polygon:
    """Return the outline of a copy where it lies: mirrored if so, then turned, then moved."""
    angle = math.radians(placement.rotation_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    flip = -1.0 if placement.mirrored else 1.0
    matrix = [cosine * flip, -sine, sine * flip, cosine, placement.x_mm, placement.y_mm]
    return affine_transform(Polygon(piece.outline_mm), matrix)


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons a shape is made of; lines and points are left out."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    if isinstance(shape, MultiPolygon) or hasattr(shape, "geoms"):
        return [part for piece in shape.geoms for part in polygons_of(piece)]
    return []


def piece_areas_mm2(request: LayoutRequest) -> dict[str, float]:
    """Return the area of one copy of each piece by its name."""
    return {piece.id: float(Polygon(piece.outline_mm).area) for piece in request.pieces}
