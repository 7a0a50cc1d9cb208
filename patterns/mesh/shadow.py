"""The shadows of a foot mesh on ground and wall, as outlines."""

from collections.abc import Sequence

import numpy as np
import shapely

from patterns.geometry.curves import Point
from patterns.mesh.foot_mesh import FloatArray, FootMesh

SOLE_SHADOW_HEIGHT = 0.25  # of foot length above the sole: what counts as foot in the outline
TOE_GAP_SHARE = 0.12  # of foot length: hollows between toes that a pencil would go across


def mesh_sole_outline(mesh: FootMesh, foot_length_mm: float, raise_mm: float) -> list[Point]:
    """Return the foot's shadow on the ground, hollows between toes bridged, counter-clockwise."""
    corners = mesh.corners_mm
    share = np.clip((0.66 - corners[:, :, 0] / foot_length_mm) / 0.5, 0.0, 1.0)
    over = corners[:, :, 2] - SOLE_SHADOW_HEIGHT * foot_length_mm - raise_mm * share
    low = corners[(over < 0).all(axis=1)]
    crossing = (over < 0).any(axis=1) & ~(over < 0).all(axis=1)
    shapes = list(shapely.polygons(low[:, :, :2]))
    for triangle, heights in zip(corners[crossing], over[crossing], strict=True):
        shapes.append(shapely.Polygon(_below(triangle[:, :2], heights)))
    return _shadow(shapes, TOE_GAP_SHARE * foot_length_mm)


def _below(triangle: FloatArray, over: FloatArray) -> list[Point]:
    """Return the corners of the part of a triangle whose `over` is negative."""
    kept: list[Point] = []
    for k in range(3):
        a, b, over_a, over_b = triangle[k], triangle[(k + 1) % 3], over[k], over[(k + 1) % 3]
        if over_a < 0:
            kept.append((float(a[0]), float(a[1])))
        if (over_a < 0) != (over_b < 0):
            cut = a + over_a / (over_a - over_b) * (b - a)
            kept.append((float(cut[0]), float(cut[1])))
    return kept


def mesh_side_shadow(mesh: FootMesh) -> list[Point]:
    """Return the shadow of foot and leg on a wall beside them, counter-clockwise (x, z)."""
    return _shadow(list(shapely.polygons(mesh.corners_mm[:, :, [0, 2]])), 0.0)


def _shadow(shapes: Sequence[shapely.Polygon], bridge_mm: float) -> list[Point]:
    solid = [shape for shape in shapes if shape.area > 1e-9]
    union = shapely.union_all(solid, grid_size=1e-4)
    if bridge_mm:
        union = union.buffer(bridge_mm).buffer(-bridge_mm)
    if union.geom_type == "MultiPolygon":
        union = max(union.geoms, key=lambda part: float(part.area))
    ring = shapely.Polygon(union.exterior).simplify(0.005)
    coords = shapely.geometry.polygon.orient(ring).exterior.coords[:-1]
    return [(float(x), float(y)) for x, y in coords]
