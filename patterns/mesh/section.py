"""Plane sections of a foot mesh, and the measures a tape would take on it."""

from collections.abc import Mapping
from math import hypot

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull, QhullError

from patterns.mesh.foot_mesh import FloatArray, FootMesh, IntArray, mesh_fault

SECTION_TOP = 0.5  # of foot length: the leg above it is left out of instep sections
LEVEL_STEP = 0.01  # of foot length: between the level girths looked at for the ankle
# A level girth this share below what the two below it lead to expect runs out over the top.
RUN_OUT_SHARE = 0.97


def section_points(
    mesh: FootMesh, origin_mm: npt.ArrayLike, unit_normal: npt.ArrayLike
) -> FloatArray:
    """Return the points in which a plane cuts the mesh's edges, shape (n, 3); none if it misses."""
    origin, normal = np.asarray(origin_mm, float), np.asarray(unit_normal, float)
    crossing = _crossed(mesh, origin, normal)
    corners = mesh.vertices_mm[crossing]
    heights = (corners - origin) @ normal
    points = []
    for k in range(3):
        beside = (k + 1) % 3
        a, b = heights[:, k], heights[:, beside]
        cut = (a < 0) != (b < 0)
        share = (a[cut] / (a[cut] - b[cut]))[:, None]
        first, last = corners[cut, k], corners[cut, beside]
        points.append(first + share * (last - first))
    return np.vstack(points)


def _crossed(mesh: FootMesh, origin: FloatArray, normal: FloatArray) -> IntArray:
    """Return the triangles a plane may cut; at once where it is square to an axis."""
    axis = int(np.abs(normal).argmax())
    if abs(normal[axis]) > 1.0 - 1e-12:
        low, high = mesh.spans_mm
        near = (low[axis] <= origin[axis]) & (high[axis] >= origin[axis])
        return np.asarray(mesh.triangles[near], dtype=np.int64)
    below = ((mesh.vertices_mm - origin) @ normal < 0).astype(np.int8)
    first, second, third = mesh.triangles.T
    count = below[first] + below[second] + below[third]
    return np.asarray(mesh.triangles[(count > 0) & (count < 3)], dtype=np.int64)


def section_hull(
    mesh: FootMesh, origin_mm: npt.ArrayLike, normal: npt.ArrayLike, top_mm: float | None = None
) -> tuple[float, FloatArray]:
    """Return what a tape bridges round a plane section, and the section's points.

    Returns
    -------
    (float, array of shape (n, 3))
        Perimeter of the section's convex hull, zero if the plane misses the mesh; its points.
    """
    unit = np.asarray(normal, float) / np.linalg.norm(normal)
    found = section_points(mesh, origin_mm, unit)
    if top_mm is not None:
        found = found[found[:, 2] <= top_mm]
    across = np.cross(unit, [0.0, 0.0, 1.0] if abs(unit[2]) < 0.9 else [1.0, 0.0, 0.0])
    across /= np.linalg.norm(across)
    flat = np.column_stack([found @ across, found @ np.cross(unit, across)])
    return hull_length(flat), found


def hull_length(flat_mm: FloatArray) -> float:
    """Return the length of a taut line round points in a plane, zero if they span no area."""
    if len(flat_mm) < 3:
        return 0.0
    try:
        return float(ConvexHull(flat_mm).area)
    except QhullError:
        return 0.0


def measure_mesh(
    mesh: FootMesh,
    foot_length_mm: float,
    *,
    calf_height_mm: float | None = None,
    lateral_sign: int = 1,
) -> Mapping[str, float]:
    """Return the measures of a foot as taken on its mesh; those it does not reach are left out.

    Each is taken where the measure's own help text puts the tape.

    Parameters
    ----------
    mesh : FootMesh
    foot_length_mm : float
    calf_height_mm : float, optional
        Where the calf girth is taken; one foot length above the raised heel if left out.
    lateral_sign : int
        1 for a left foot, -1 for a right one: the sign of y on the outer side.
    """
    length = foot_length_mm
    points = mesh.points_mm
    along, height = points[:, 0] / length, points[:, 2]
    raise_mm = mesh_heel_raise_mm(mesh, length)
    inner, outer = _ball_points(points * [1.0, float(lateral_sign), 1.0], length)
    inner, outer = inner * [1.0, lateral_sign, 1.0], outer * [1.0, lateral_sign, 1.0]
    direction = outer - inner
    measures = {
        "foot_length": float(np.ptp(points[height < 0.3 * length + raise_mm, 0])),
        "ball_width": hypot(direction[0], direction[1]),
        "ball_girth": section_hull(mesh, inner, (direction[1], -direction[0], 0))[0],
        "heel_raise": raise_mm,
    }
    heel_part = (along < 0.25) & (height < 0.15 * length + raise_mm)
    if heel_part.any():
        measures["heel_width"] = float(np.ptp(points[heel_part, 1]))
    measures |= _instep_measures(mesh, length, raise_mm)
    at_toe = section_hull(mesh, (0.9 * length, 0, 0), (1, 0, 0))[1]
    toe = np.concatenate([points[along > 0.9, 2], at_toe[:, 2]])
    if len(toe):
        measures["toe_height"] = float(toe.max())
    ankle = _smallest_level_girth(mesh, length, raise_mm)
    if ankle is None:
        return measures
    measures |= {"ankle_girth": ankle[0], "ankle_height": ankle[1]}
    calf_height = length + raise_mm if calf_height_mm is None else calf_height_mm
    calf_girth = section_hull(mesh, (0, 0, calf_height), (0, 0, 1))[0]
    if calf_girth > 0 and calf_height > ankle[1]:
        measures |= {"calf_girth": calf_girth, "calf_height": calf_height}
    return measures


def mesh_heel_raise_mm(mesh: FootMesh, foot_length_mm: float) -> float:
    """Return how high the heel seat stands above the ground; a rounded flat heel counts as 0."""
    along = mesh.points_mm[:, 0] / foot_length_mm
    seat = mesh.points_mm[(along > 0.05) & (along < 0.2), 2]
    lowest = float(seat.min()) if len(seat) else 0.0
    return lowest if lowest > 0.03 * foot_length_mm else 0.0


def _ball_points(points: FloatArray, length: float) -> tuple[FloatArray, FloatArray]:
    """Return the widest points of the forefoot, inner and outer, of a left foot."""
    along, low = points[:, 0] / length, points[:, 2] < 0.2 * length
    inner = points[low & (along > 0.62) & (along < 0.80)]
    outer = points[low & (along > 0.52) & (along < 0.75)]
    if not (len(inner) and len(outer)):
        raise mesh_fault(
            "mesh-coarse",
            "has no points at the ball of the foot; it is too coarse to be measured there",
        )
    return inner[inner[:, 1].argmin()], outer[outer[:, 1].argmax()]


def _instep_measures(mesh: FootMesh, length: float, raise_mm: float) -> dict[str, float]:
    """Return the two girths over the top of the instep and its height."""
    top_mm = SECTION_TOP * length + raise_mm
    half_way, section = section_hull(mesh, (length / 2, 0, 0), (1, 0, 0), top_mm)
    if half_way == 0.0:
        return {}
    top = section[section[:, 2].argmax()]
    heel = np.array([0.04 * length, 0.0, raise_mm])
    slant = np.cross(top - heel, [0.0, 1.0, 0.0])
    return {
        "instep_girth": half_way,
        "instep_height": float(top[2]),
        "heel_instep_girth": section_hull(mesh, heel, slant, top_mm)[0],
    }


def _smallest_level_girth(
    mesh: FootMesh, length: float, raise_mm: float
) -> tuple[float, float] | None:
    top = mesh.points_mm[:, 2].max()
    steps = range(22, 71)
    heights = [h for k in steps if (h := LEVEL_STEP * k * length + raise_mm) < top - 0.5]
    girths = [section_hull(mesh, (0, 0, height), (0, 0, 1))[0] for height in heights]
    if not girths or min(girths) == 0.0:
        return None
    smallest = min(girths)
    return smallest, heights[girths.index(smallest)]


def open_edges(mesh: FootMesh) -> npt.NDArray[np.int64]:
    """Return the edges that only one triangle has, shape (n, 2), as that triangle runs them."""
    table = mesh.edges
    alone = table.order[table.start[table.count == 1]]
    return np.asarray(table.directed[alone], dtype=np.int64)


def mesh_leg_top_mm(mesh: FootMesh) -> float:
    """Return the height up to which the leg is whole.

    That is below its open rim, or, where the leg is closed, below where its rounded or slanting
    end begins and level sections shrink away.
    """
    heights = mesh.vertices_mm[:, 2]
    rim = heights[open_edges(mesh).ravel()]
    top = float(mesh.points_mm[:, 2].max())
    high_rim = rim[rim > 0.4 * top]
    if len(high_rim):
        return float(high_rim.min())
    return _run_out_mm(mesh, top)


def _run_out_mm(mesh: FootMesh, top: float) -> float:
    """Return the highest level whose girth is what those below it lead to expect."""
    levels = top * np.linspace(0.5, 1.0 - 1e-6, 51)
    girths = np.array([section_hull(mesh, (0, 0, z), (0, 0, 1))[0] for z in levels])
    for k in range(4, len(levels)):
        expected = 2 * girths[k - 2] - girths[k - 4]
        if girths[k] < RUN_OUT_SHARE * expected:
            # The end begins somewhere between the two levels looked at last.
            return float(levels[k - 1])
    return top
