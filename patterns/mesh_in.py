"""A foot mesh read from OBJ text, its shadows on ground and wall, and measures taken on it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import hypot, isfinite

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import ConvexHull

from patterns.errors import FootError
from patterns.geometry.curves import Point

TRIANGLES_MOST = 200_000
BYTES_MOST = 20_000_000
PLACE_TOLERANCE = 0.03  # of foot length: how far heel and ground may lie from x=0 and z=0
SOLE_SHADOW_HEIGHT = 0.25  # of foot length above the sole: what counts as foot in the outline
TOE_GAP_SHARE = 0.12  # of foot length: hollows between toes that a pencil would go across
SECTION_TOP = 0.5  # of foot length: the leg above it is left out of instep sections

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class FootMesh:
    """A triangle surface of a foot: x heel to toe, y lateral on a left foot, z up, in mm."""

    vertices_mm: tuple[tuple[float, float, float], ...]
    triangles: tuple[tuple[int, int, int], ...]

    @cached_property
    def corners_mm(self) -> Array:
        """Return the corner points of every triangle, shape (triangles, 3, 3)."""
        points = np.array(self.vertices_mm, dtype=float)
        return np.asarray(points[np.array(self.triangles)], dtype=float)


def read_obj(text: str, *, unit_mm: float = 1.0) -> FootMesh:
    """Return the mesh of an OBJ text; polygons are fanned into triangles.

    Parameters
    ----------
    text : str
        Lines ``v x y z`` and ``f i j k ...``; everything else is passed over.
    unit_mm : float
        Length of the file's unit in millimetres.

    Raises
    ------
    FootError
        Too large, a line that cannot be read (its number is told), or no triangles.
    """
    if len(text) > BYTES_MOST:
        raise _fault("mesh-size", f"is larger than {BYTES_MOST // 1_000_000} MB; thin it out")
    vertices: list[tuple[float, float, float]] = []
    triangles: list[tuple[int, int, int]] = []
    for number, line in enumerate(text.splitlines(), start=1):
        words = line.split()
        if not words:
            continue
        try:
            if words[0] == "v":
                vertices.append(_vertex(words, unit_mm))
            elif words[0] == "f":
                triangles += _fan(words, len(vertices))
        except ValueError:
            raise _fault("mesh-line", f"cannot be read in line {number}: {line[:40]!r}") from None
        if len(triangles) > TRIANGLES_MOST:
            raise _fault("mesh-triangles", f"has more than {TRIANGLES_MOST} triangles; thin it out")
    if not triangles:
        raise _fault("mesh-empty", "holds no triangles; save it as an OBJ of faces")
    return FootMesh(tuple(vertices), tuple(triangles))


def _vertex(words: Sequence[str], unit_mm: float) -> tuple[float, float, float]:
    x, y, z = (float(word) * unit_mm for word in words[1:4])
    if not all(isfinite(v) and abs(v) < 10_000 for v in (x, y, z)):
        raise ValueError(words)
    return (x, y, z)


def _fan(words: Sequence[str], vertex_count: int) -> list[tuple[int, int, int]]:
    indices = []
    for word in words[1:]:
        index = int(word.split("/")[0])
        index = index - 1 if index > 0 else vertex_count + index
        if not 0 <= index < vertex_count:
            raise ValueError(word)
        indices.append(index)
    if len(indices) < 3:
        raise ValueError(words)
    return [(indices[0], indices[k], indices[k + 1]) for k in range(1, len(indices) - 1)]


def _fault(code: str, text: str) -> FootError:
    return FootError(f"The mesh {text}.", field="mesh", code=code)


def check_mesh_place(mesh: FootMesh, foot_length_mm: float) -> None:
    """Raise FootError unless heel, toe and ground of the mesh lie where the frame puts them."""
    points = mesh.corners_mm.reshape(-1, 3)
    foot = points[points[:, 2] < points[:, 2].min() + 0.3 * foot_length_mm]
    heel, length, ground = foot[:, 0].min(), np.ptp(foot[:, 0]), points[:, 2].min()
    if abs(length / foot_length_mm - 1) > 0.05:
        raise _fault(
            "mesh-scale",
            f"is {length:.1f} mm long but the foot length {foot_length_mm:g} mm; check mesh_unit",
        )
    slack = PLACE_TOLERANCE * foot_length_mm
    if abs(heel) > slack or abs(ground) > slack:
        raise _fault(
            "mesh-place",
            f"has its heel at x = {heel:.1f} and its lowest point at z = {ground:.1f} mm; move it"
            " so that the heel touches x = 0 and the sole z = 0",
        )
    if points[:, 2].max() < 0.35 * foot_length_mm:
        raise _fault("mesh-low", "ends below the ankle; leave the leg on as high as the boot")


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


def _below(triangle: Array, over: Array) -> list[Point]:
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


def section_hull(
    mesh: FootMesh, origin_mm: npt.ArrayLike, normal: npt.ArrayLike, top_mm: float | None = None
) -> tuple[float, Array]:
    """Return what a tape bridges round a plane section, and the section's points.

    Returns
    -------
    (float, array of shape (n, 3))
        Perimeter of the section's convex hull, zero if the plane misses the mesh; its points.
    """
    unit = np.asarray(normal, float) / np.linalg.norm(normal)
    corners = mesh.corners_mm
    height = (corners - np.asarray(origin_mm, float)) @ unit
    points = []
    for k in range(3):
        a, b = height[:, k], height[:, (k + 1) % 3]
        crossing = (a < 0) != (b < 0)
        share = (a[crossing] / (a[crossing] - b[crossing]))[:, None]
        start, end = corners[crossing, k], corners[crossing, (k + 1) % 3]
        points.append(start + share * (end - start))
    found = np.vstack(points)
    if top_mm is not None:
        found = found[found[:, 2] <= top_mm]
    if len(found) < 3:
        return 0.0, found
    across = np.cross(unit, [0.0, 0.0, 1.0] if abs(unit[2]) < 0.9 else [1.0, 0.0, 0.0])
    across /= np.linalg.norm(across)
    flat = np.column_stack([found @ across, found @ np.cross(unit, across)])
    return float(ConvexHull(flat).area), found


def measure_mesh(
    mesh: FootMesh, foot_length_mm: float, *, calf_height_mm: float | None = None
) -> Mapping[str, float]:
    """Return the measures of a foot as taken on its mesh; those it does not reach are left out.

    Each is taken where the measure's own help text puts the tape.
    """
    length = foot_length_mm
    points = mesh.corners_mm.reshape(-1, 3)
    along, height = points[:, 0] / length, points[:, 2]
    seat = points[(along > 0.05) & (along < 0.2), 2]
    raise_mm = float(seat.min()) if seat.min() > 0.03 * length else 0.0
    inner, outer = _ball_points(points, length)
    direction = outer - inner
    half_way, section = section_hull(
        mesh, (length / 2, 0, 0), (1, 0, 0), SECTION_TOP * length + raise_mm
    )
    top = section[section[:, 2].argmax()]
    heel = np.array([0.04 * length, 0.0, raise_mm])
    slant = np.cross(top - heel, [0.0, 1.0, 0.0])
    ankle_girth, ankle_height = _smallest_level_girth(mesh, length, raise_mm)
    at_toe = section_hull(mesh, (0.9 * length, 0, 0), (1, 0, 0))[1]
    heel_part = (along < 0.25) & (height < 0.15 * length + raise_mm)
    measures = {
        "foot_length": float(np.ptp(points[height < 0.3 * length + raise_mm, 0])),
        "ball_width": hypot(direction[0], direction[1]),
        "ball_girth": section_hull(mesh, inner, (direction[1], -direction[0], 0))[0],
        "heel_width": float(np.ptp(points[heel_part, 1])),
        "instep_girth": half_way,
        "instep_height": float(top[2]),
        "heel_instep_girth": section_hull(mesh, heel, slant, SECTION_TOP * length + raise_mm)[0],
        "ankle_girth": ankle_girth,
        "ankle_height": ankle_height,
        "toe_height": float(max(points[along > 0.9, 2].max(), at_toe[:, 2].max())),
        "heel_raise": raise_mm,
    }
    calf_height = length + raise_mm if calf_height_mm is None else calf_height_mm
    calf_girth = section_hull(mesh, (0, 0, calf_height), (0, 0, 1))[0]
    if calf_girth > 0 and calf_height > ankle_height:
        measures |= {"calf_girth": calf_girth, "calf_height": calf_height}
    return measures


def _ball_points(points: Array, length: float) -> tuple[Array, Array]:
    """Return the widest points of the forefoot, inner and outer (of a left foot)."""
    along, low = points[:, 0] / length, points[:, 2] < 0.2 * length
    inner = points[low & (along > 0.62) & (along < 0.80)]
    outer = points[low & (along > 0.52) & (along < 0.75)]
    return inner[inner[:, 1].argmin()], outer[outer[:, 1].argmax()]


def _smallest_level_girth(mesh: FootMesh, length: float, raise_mm: float) -> tuple[float, float]:
    top = mesh.corners_mm[:, :, 2].max()
    heights = [h for k in range(22, 71) if (h := 0.01 * k * length + raise_mm) < top - 0.5]
    girths = [section_hull(mesh, (0, 0, height), (0, 0, 1))[0] for height in heights]
    smallest = min(girths)
    return smallest, heights[girths.index(smallest)]


def mesh_leg_top_mm(mesh: FootMesh) -> float:
    """Return the height up to which the leg is whole: below its open rim, or its very top."""
    triangles = np.array(mesh.triangles)
    edges = np.sort(np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]))
    unique, count = np.unique(edges, axis=0, return_counts=True)
    heights = np.array(mesh.vertices_mm)[:, 2]
    rim = heights[unique[count == 1].ravel()]
    top = float(heights.max())
    high_rim = rim[rim > 0.4 * top]
    return float(high_rim.min()) if len(high_rim) else top
