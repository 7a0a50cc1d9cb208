"""A part of a surface laid flat with as little stretch as can be, its seams kept to length.

The start is conformal (Lévy, Petitjean, Ray, Maillot 2002, "Least Squares Conformal Maps for
Automatic Texture Atlas Generation", ACM Transactions on Graphics 21(3)) or, where that turns a
triangle over, convex (Tutte 1963, "How to Draw a Graph"). From there triangles are kept as rigid
as possible (Liu, Zhang, Xu, Gotsman, Gortler 2008, "A Local/Global Approach to Mesh
Parameterization", Computer Graphics Forum 27(5)). Runs that must keep their length are stiff
springs inside the same system, which is factorised once.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from patterns.errors import PatternError
from patterns.geometry.runs import Run
from patterns.geometry.strain import flat_areas_mm2, flipped_count, local_frames
from patterns.geometry.surface import FloatArray, IntArray, boundary_loops, edges_of, euler_number

STIFFNESS = 30.0  # of a run's springs; a cotangent weight is about 1
LEAST_COTANGENT = 0.02  # keeps blunt triangles from pushing
MOST_COTANGENT = 50.0  # keeps slivers from ruling their neighbours
STEP_MM = 1e-5  # steps below this share of a millimetre end the search
MOST_ROUNDS = 400
MOST_TRIES = 6  # with ever stiffer triangles where some have turned over
STIFFER = 4.0


def flatten(
    points_mm: FloatArray,
    triangles: IntArray,
    *,
    stiff_runs: Sequence[Run] = (),
    stiffness: float = STIFFNESS,
) -> FloatArray:
    """Return the places on the flat of a surface's points.

    Parameters
    ----------
    points_mm : array of shape (n, 3)
        Points of one part, every one used by a triangle.
    triangles : array of shape (m, 3)
        Corner points, counter-clockwise seen from outside; together a disc.
    stiff_runs : sequence of Run
        Seams and girth lines that must keep their length.
    stiffness : float
        How much a run's springs count against the stretch of the leather.

    Returns
    -------
    array of shape (n, 2)
        Places in mm, counter-clockwise as seen from outside, the grain side, about the middle of
        the part. No triangle is turned over. The same input gives the same places.

    Raises
    ------
    PatternError
        Code ``part_not_a_disc``: the part has a hole or falls into several; ``part_will_not_lie``:
        triangles turn over whatever is tried.
    """
    _check_disc(triangles)
    start = _start(points_mm, triangles)
    rigidity = np.ones(len(triangles))
    flat = start
    for _ in range(MOST_TRIES):
        sheet = _sheet(points_mm, triangles, stiff_runs, stiffness, rigidity)
        flat = _settled(sheet, start)
        over = flat_areas_mm2(triangles, flat) <= 0.0
        if not over.any():
            break
        rigidity[np.isin(triangles, triangles[over]).any(axis=1)] *= STIFFER
    if flipped_count(triangles, flat):
        raise PatternError(
            "A piece cannot be laid flat without folds: part it once more or give it a dart.",
            code="part_will_not_lie",
        )
    return flat


def _check_disc(triangles: IntArray) -> None:
    euler, loops = euler_number(triangles), len(boundary_loops(triangles))
    if euler != 1 or loops != 1:
        raise PatternError(
            f"A piece must be one patch without holes to be laid flat; this has {loops} edges "
            f"all round (Euler number {euler}). Part it with one more seam.",
            code="part_not_a_disc",
            loops=loops,
            euler=euler,
        )


@dataclass(frozen=True)
class _Sheet:
    """What stays the same while a part settles on the flat.

    `sides` takes places of points to the vectors along the triangles' sides, (3 m, n); `rest` are
    these vectors at rest, (3 m, 2), `weights` their stiffness. `springs` takes places of points
    to the steps of the runs, `lengths_mm` are these at rest. `solve` inverts the whole system.
    """

    sides: Any
    rest: FloatArray
    weights: FloatArray
    springs: Any
    lengths_mm: FloatArray
    spring_weights: FloatArray
    solve: Any
    triangles: IntArray


def _sheet(
    points_mm: FloatArray,
    triangles: IntArray,
    runs: Sequence[Run],
    stiffness: float,
    rigidity: FloatArray,
) -> _Sheet:
    count = len(points_mm)
    sides = _side_matrix(triangles, count)
    frames = local_frames(points_mm, triangles)
    rest = (frames[:, [1, 2, 0]] - frames).reshape(-1, 2)
    cotangents = np.clip(_cotangents(frames), LEAST_COTANGENT, MOST_COTANGENT)
    weights = (cotangents[:, [2, 0, 1]] * rigidity[:, None]).ravel()
    springs = _spring_matrix(runs, count)
    lengths = np.concatenate([np.zeros(0), *(run.steps_mm(points_mm) for run in runs)])
    spring_weights = np.full(len(lengths), stiffness)
    system = sides.T @ sp.diags_array(weights) @ sides
    if len(lengths):
        system = system + springs.T @ sp.diags_array(spring_weights) @ springs
    return _Sheet(
        sides, rest, weights, springs, lengths, spring_weights, _solver(system), triangles
    )


def _side_matrix(triangles: IntArray, count: int) -> Any:
    """Return the matrix of shape (3 m, n) from places of points to side vectors."""
    start, end = triangles.ravel(), triangles[:, [1, 2, 0]].ravel()
    rows = np.arange(len(start))
    ones = np.ones(len(start))
    entries = (np.concatenate([ones, -ones]), (np.tile(rows, 2), np.concatenate([end, start])))
    return sp.csr_array(entries, shape=(len(start), count))


def _spring_matrix(runs: Sequence[Run], count: int) -> Any:
    """Return the matrix of shape (steps of all runs, n) from places of points to steps."""
    blocks = [_place_matrix(run, count) for run in runs]
    steps = [block[1:] - block[:-1] for block in blocks]
    return sp.csr_array(sp.vstack(steps)) if steps else sp.csr_array((0, count))


def _place_matrix(run: Run, count: int) -> Any:
    rows = np.arange(len(run.a))
    entries = np.concatenate([1.0 - run.share, run.share])
    places = (np.tile(rows, 2), np.concatenate([run.a, run.b]))
    return sp.csr_array((entries, places), shape=(len(rows), count))


def _cotangents(frames: FloatArray) -> FloatArray:
    """Return the cotangent at each corner of flat triangles, shape (m, 3)."""
    doubled = np.maximum(frames[:, 1, 0] * frames[:, 2, 1], 1e-300)
    values = np.zeros(frames.shape[:2])
    for turn in range(3):
        u = frames[:, (turn + 1) % 3] - frames[:, turn]
        v = frames[:, (turn + 2) % 3] - frames[:, turn]
        values[:, turn] = np.einsum("ij,ij->i", u, v) / doubled
    return values


def _solver(system: Any) -> Any:
    """Return a function that solves a symmetric system which leaves the place as a whole free."""
    diagonal = system.diagonal()
    hold = np.zeros(len(diagonal))
    hold[0] = 1e-6 * float(diagonal.mean())
    held = sp.csc_array(system + sp.diags_array(hold))
    options = {"SymmetricMode": True}
    return splu(held, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options).solve


def _start(points_mm: FloatArray, triangles: IntArray) -> FloatArray:
    """Return a first flat place of the points without any triangle turned over."""
    conformal = _scaled(points_mm, triangles, _conformal(points_mm, triangles))
    if flipped_count(triangles, conformal) == 0:
        return conformal
    return _scaled(points_mm, triangles, _convex(points_mm, triangles))


def _scaled(points_mm: FloatArray, triangles: IntArray, flat: FloatArray) -> FloatArray:
    """Return the flat places made as large as the surface, by the edge of middle length."""
    edges = edges_of(triangles)
    on_last = np.linalg.norm(points_mm[edges[:, 0]] - points_mm[edges[:, 1]], axis=1)
    on_flat = np.linalg.norm(flat[edges[:, 0]] - flat[edges[:, 1]], axis=1)
    scaled = flat * float(np.median(on_last / np.maximum(on_flat, 1e-300)))
    return np.asarray(scaled - scaled.mean(axis=0))


def _conformal(points_mm: FloatArray, triangles: IntArray) -> FloatArray:
    """Return the map that keeps angles best while two far points of the boundary are held.

    The energy, half of z* (L + i/2 (P - P')) z over complex places z with P the boundary's
    directed edges, is Dirichlet's energy less the area, so one complex system of n unknowns does.
    """
    count = len(points_mm)
    frames = local_frames(points_mm, triangles)
    cotangents = np.clip(_cotangents(frames), -MOST_COTANGENT, MOST_COTANGENT)
    sides = _side_matrix(triangles, count)
    dirichlet = 0.5 * (sides.T @ sp.diags_array(cotangents[:, [2, 0, 1]].ravel()) @ sides)
    loop = boundary_loops(triangles, points_mm)[0]
    directed = sp.csr_array((np.ones(len(loop)), (loop, np.roll(loop, -1))), shape=(count, count))
    energy = sp.csc_array(dirichlet + 0.5j * (directed - directed.T))
    first, second = _far_points(points_mm, loop)
    held = np.array([first, second])
    apart = float(np.linalg.norm(points_mm[second] - points_mm[first]))
    places = np.zeros(count, dtype=complex)
    places[held] = [0.0, apart]
    free = np.setdiff1d(np.arange(count), held)
    right = -(energy[free][:, held] @ places[held])
    places[free] = splu(sp.csc_array(energy[free][:, free])).solve(right)
    return np.column_stack([places.real, places.imag])


def _far_points(points_mm: FloatArray, loop: IntArray) -> tuple[int, int]:
    border = points_mm[loop]
    second = int(np.argmax(np.linalg.norm(border - border[0], axis=1)))
    first = int(np.argmax(np.linalg.norm(border - border[second], axis=1)))
    return int(loop[first]), int(loop[second])


def _convex(points_mm: FloatArray, triangles: IntArray) -> FloatArray:
    """Return the map with the boundary on a circle and each point amid its neighbours."""
    count = len(points_mm)
    loop = boundary_loops(triangles, points_mm)[0]
    border = points_mm[loop]
    steps = np.linalg.norm(np.roll(border, -1, axis=0) - border, axis=1)
    angles = 2.0 * np.pi * (np.cumsum(steps) - steps) / steps.sum()
    flat = np.zeros((count, 2))
    flat[loop] = np.column_stack([np.cos(angles), np.sin(angles)])
    inner = np.setdiff1d(np.arange(count), loop)
    if len(inner):
        edges = edges_of(triangles)
        ends = (
            np.concatenate([edges[:, 0], edges[:, 1]]),
            np.concatenate([edges[:, 1], edges[:, 0]]),
        )
        near = sp.csr_array((np.ones(2 * len(edges)), ends), shape=(count, count))
        system = sp.csr_array(sp.diags_array(np.asarray(near.sum(axis=1))) - near)
        right = -(system[inner][:, loop] @ flat[loop])
        flat[inner] = splu(sp.csc_array(system[inner][:, inner])).solve(right)
    return flat


def _settled(sheet: _Sheet, start: FloatArray) -> FloatArray:
    """Return the places at which local and global steps come to rest."""
    flat = start
    for _ in range(MOST_ROUNDS):
        after = sheet.solve(_pull(sheet, flat))
        after -= after.mean(axis=0)
        step = float(np.abs(after - flat).max())
        flat = after
        if step < STEP_MM:
            break
    return flat


def _pull(sheet: _Sheet, flat: FloatArray) -> FloatArray:
    """Return the right side of the global step: every triangle turned as it lies best."""
    laid = (sheet.sides @ flat).reshape(-1, 3, 2)
    rest = sheet.rest.reshape(-1, 3, 2)
    weights = sheet.weights.reshape(-1, 3)
    cosine = np.einsum("ij,ijk,ijk->i", weights, laid, rest)
    sine = np.einsum("ij,ij->i", weights, laid[..., 1] * rest[..., 0] - laid[..., 0] * rest[..., 1])
    size = np.maximum(np.hypot(cosine, sine), 1e-300)
    cosine, sine = (cosine / size)[:, None], (sine / size)[:, None]
    x = cosine * rest[..., 0] - sine * rest[..., 1]
    y = sine * rest[..., 0] + cosine * rest[..., 1]
    wanted = (np.stack([x, y], axis=2) * weights[..., None]).reshape(-1, 2)
    pull = sheet.sides.T @ wanted
    if len(sheet.lengths_mm):
        steps = sheet.springs @ flat
        scale = sheet.lengths_mm / np.maximum(np.linalg.norm(steps, axis=1), 1e-300)
        pull = pull + sheet.springs.T @ (steps * (scale * sheet.spring_weights)[:, None])
    return np.asarray(pull)
