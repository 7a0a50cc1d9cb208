"""A part of a surface laid flat with as little stretch as can be, its seams kept to length.

The start is conformal (Lévy, Petitjean, Ray, Maillot 2002, "Least Squares Conformal Maps for
Automatic Texture Atlas Generation", ACM Transactions on Graphics 21(3)) or, where that turns a
triangle over, convex (Tutte 1963, "How to Draw a Graph", Proceedings of the London Mathematical
Society s3-13). From there triangles are made as rigid as possible, seams held by stiff springs
(`patterns.geometry.rigid`); a last stage presses the greatest stretch down and brings the held
lines to their length (`patterns.geometry.relax`).
"""

from collections.abc import Sequence

import numpy as np
import scipy.sparse as sp
from shapely import LinearRing

from patterns.errors import PatternError
from patterns.geometry.relax import Band, relaxed
from patterns.geometry.rigid import (
    MOST_COTANGENT,
    made_rigid,
    side_cotangents,
    side_matrix,
    symmetric_solver,
)
from patterns.geometry.runs import Run
from patterns.geometry.strain import flipped_count, local_frames
from patterns.geometry.surface import (
    FloatArray,
    IntArray,
    boundary_loops,
    edges_of,
    euler_number,
    triangle_areas_mm2,
)

STRETCH_WEIGHT = 4.0  # of stretching the leather, against 1 for gathering it
STIFFNESS = 2.0  # a seam is as stiff as a strip of leather so many times the part wide
NO_AREA = 1e-12  # share of the mean triangle
RIGID_ROUNDS = 10  # after a conformal start
RIGID_ROUNDS_FROM_CONVEX = 100
LAST_ROUNDS = 10  # two do as a rule
LAST_ROUNDS_FROM_CONVEX = 40


def flatten(
    points_mm: FloatArray,
    triangles: IntArray,
    *,
    stiff_runs: Sequence[Run] = (),
    girth_runs: Sequence[Run] = (),
    bands: Sequence[Band] = (),
    stiffness: float = STIFFNESS,
    stretch_weight: float = STRETCH_WEIGHT,
    start_mm: FloatArray | None = None,
) -> FloatArray:
    """Return the places on the flat of a surface's points.

    Parameters
    ----------
    points_mm : array of shape (n, 3)
        Points of one part, every one used by a triangle.
    triangles : array of shape (m, 3)
        Corner points, counter-clockwise seen from outside; together a disc.
    stiff_runs : sequence of Run
        Seams: they keep their length, as a whole and from place to place.
    girth_runs : sequence of Run
        Girth lines: they keep their length as a whole.
    bands : sequence of (runs, length)
        Lines beside one another and the length in mm they shall have in sum.
    stiffness : float
        From place to place a seam is as stiff as a strip of leather so many times the part's size
        wide, the size being the root of its area.
    stretch_weight : float
        What stretching the leather counts, against 1 for gathering it.
    start_mm : array of shape (n, 2), optional
        Places of the same part laid flat before, with other lines held or another weight.

    Returns
    -------
    array of shape (n, 2)
        Places in mm, counter-clockwise as seen from outside, the grain side, about the middle of
        the part. No triangle is turned over, and the outline does not cross itself. The same input
        gives the same places.

    Raises
    ------
    PatternError
        Code ``part_not_a_disc``: the part has a hole or falls into several;
        ``part_without_area``: triangles without area, or points that are no numbers;
        ``part_will_not_lie``: triangles turn over whatever is tried; ``part_overlaps``: the flat
        outline crosses itself.
    """
    _check_disc(triangles)
    _check_areas(points_mm, triangles)
    rounds = LAST_ROUNDS
    if start_mm is None:
        start_mm, conformal = _start(points_mm, triangles)
        rigid_rounds = RIGID_ROUNDS if conformal else RIGID_ROUNDS_FROM_CONVEX
        start_mm = made_rigid(points_mm, triangles, start_mm, runs=stiff_runs, rounds=rigid_rounds)
        rounds = LAST_ROUNDS if conformal else LAST_ROUNDS_FROM_CONVEX
    flat = relaxed(
        points_mm,
        triangles,
        start_mm,
        stiff_runs=stiff_runs,
        girth_runs=girth_runs,
        bands=bands,
        stiffness=stiffness,
        stretch_weight=stretch_weight,
        rounds=rounds,
    )
    if not np.isfinite(flat).all() or flipped_count(triangles, flat):
        raise PatternError(
            "A piece cannot be laid flat without folds: part it once more or give it a dart.",
            code="part_will_not_lie",
        )
    loop = boundary_loops(triangles, points_mm)[0]
    if not LinearRing(flat[loop]).is_simple:
        raise PatternError(
            "A piece laid flat lies over itself: part it once more.", code="part_overlaps"
        )
    return flat


def _check_disc(triangles: IntArray) -> None:
    euler, loops = euler_number(triangles), len(boundary_loops(triangles))
    if euler != 1 or loops != 1:
        raise PatternError(
            f"A piece must be one patch without holes to be laid flat; this has {loops} closed "
            f"edges (Euler number {euler}). Part it with one more seam.",
            code="part_not_a_disc",
            loops=loops,
            euler=euler,
        )


def _check_areas(points_mm: FloatArray, triangles: IntArray) -> None:
    areas = triangle_areas_mm2(points_mm, triangles)
    empty = int((~(areas > NO_AREA * areas.mean())).sum())
    if empty:
        raise PatternError(
            f"{empty} triangles of a piece have no area; mend the mesh of the foot.",
            code="part_without_area",
            triangles=empty,
        )


def _start(points_mm: FloatArray, triangles: IntArray) -> tuple[FloatArray, bool]:
    """Return first flat places without a triangle turned over, and whether they are conformal."""
    loop = boundary_loops(triangles, points_mm)[0]
    conformal = _scaled(points_mm, triangles, _conformal(points_mm, triangles, loop))
    if np.isfinite(conformal).all() and flipped_count(triangles, conformal) == 0:
        return conformal, True
    return _scaled(points_mm, triangles, _convex(points_mm, triangles, loop)), False


def _scaled(points_mm: FloatArray, triangles: IntArray, flat: FloatArray) -> FloatArray:
    """Return the flat places made as large as the surface, by the edge of middle length."""
    edges = edges_of(triangles)
    on_last = np.linalg.norm(points_mm[edges[:, 0]] - points_mm[edges[:, 1]], axis=1)
    on_flat = np.linalg.norm(flat[edges[:, 0]] - flat[edges[:, 1]], axis=1)
    scaled = flat * float(np.median(on_last / np.maximum(on_flat, 1e-300)))
    return np.asarray(scaled - scaled.mean(axis=0))


def _conformal(points_mm: FloatArray, triangles: IntArray, loop: IntArray) -> FloatArray:
    """Return the map that keeps angles best while two far points of the boundary are held.

    The energy, half of z* (L + i/2 (B - B')) z over complex places z with L the cotangent matrix
    and B the boundary's directed edges, is Dirichlet's less the area: one complex system of n
    unknowns does for both coordinates.
    """
    count = len(points_mm)
    cotangents = side_cotangents(local_frames(points_mm, triangles))
    weights = np.clip(cotangents, -MOST_COTANGENT, MOST_COTANGENT).ravel()
    sides = side_matrix(triangles, count)
    dirichlet = 0.5 * (sides.T @ sp.diags_array(weights) @ sides)
    border = sp.csr_array((np.ones(len(loop)), (loop, np.roll(loop, -1))), shape=(count, count))
    energy = sp.csc_array(dirichlet + 0.5j * (border - border.T))
    held = _far_points(points_mm, loop)
    places = np.zeros(count, dtype=complex)
    places[held[1]] = np.linalg.norm(points_mm[held[1]] - points_mm[held[0]])
    free = np.setdiff1d(np.arange(count), held)
    right = -(energy[free][:, held] @ places[held])
    places[free] = symmetric_solver(energy[free][:, free])(right)
    return np.column_stack([places.real, places.imag])


def _far_points(points_mm: FloatArray, loop: IntArray) -> IntArray:
    border = points_mm[loop]
    second = int(np.argmax(np.linalg.norm(border - border[0], axis=1)))
    first = int(np.argmax(np.linalg.norm(border - border[second], axis=1)))
    return loop[[first, second]]


def _convex(points_mm: FloatArray, triangles: IntArray, loop: IntArray) -> FloatArray:
    """Return the map with the boundary on a circle and each point amid its neighbours."""
    count = len(points_mm)
    border = points_mm[loop]
    steps = np.linalg.norm(np.roll(border, -1, axis=0) - border, axis=1)
    angles = 2.0 * np.pi * (np.cumsum(steps) - steps) / steps.sum()
    flat = np.zeros((count, 2))
    flat[loop] = np.column_stack([np.cos(angles), np.sin(angles)])
    inner = np.setdiff1d(np.arange(count), loop)
    if len(inner):
        edges = edges_of(triangles)
        near = sp.coo_array((np.ones(len(edges)), edges.T), shape=(count, count)).tocsr()
        near = near + near.T
        system = sp.csr_array(sp.diags_array(np.asarray(near.sum(axis=1))) - near)
        right = -(system[inner][:, loop] @ flat[loop])
        flat[inner] = symmetric_solver(system[inner][:, inner])(right)
    return flat
