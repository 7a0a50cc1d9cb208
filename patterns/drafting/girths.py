"""The places where a tape goes round a last, as functions on its surface that are zero there."""

from collections.abc import Mapping, Sequence

import numpy as np

from patterns.drafting.lay_flat import FlatPart
from patterns.geometry.runs import level_length_mm
from patterns.last.last import FloatArray, IntArray, Last
from patterns.last.measuring import HEEL_CORNER
from patterns.mesh.section import SECTION_TOP
from patterns.pieces.piece import GirthClosure

OFF_STATION_MM = 1e-4  # a level through a whole section of the grid would run along its edges
BALL_INNER = (0.62, 0.80)  # of foot length: where the inner widest point of the forefoot lies
BALL_OUTER = (0.52, 0.75)
BALL_LOW = 0.2  # of foot length: how high the widest points may lie


def girth_functions(
    last: Last, points_mm: FloatArray, levels_mm: Mapping[str, float]
) -> dict[str, FloatArray]:
    """Return for each station its function at the points, infinite where the tape does not go.

    Parameters
    ----------
    last : Last
        The last whose girths they are; ball and instep are found on it.
    points_mm : array of shape (n, 3)
        Where to give the functions, on that last or on a part of it.
    levels_mm : mapping of str to float
        Stations with the tape held level, such as the ankle, with their heights.
    """
    length, lift = last.foot_length_mm, last.heel_raise_mm
    found = last.points_mm
    inner, outer = _ball_points(last)
    across = outer - inner
    instep = last.grid_mm[last.instep_station, last.turn_count // 2]
    heel = np.array([HEEL_CORNER * length, 0.0, lift])
    slant = np.cross(instep - heel, [0.0, 1.0, 0.0])
    low = points_mm[:, 2] <= SECTION_TOP * length + lift
    functions = {
        "ball": _plane(points_mm, inner, np.array([across[1], -across[0], 0.0])),
        "instep": _plane(points_mm, np.array([length / 2, 0.0, 0.0]), np.array([1.0, 0.0, 0.0])),
        "heel_instep": _plane(points_mm, heel, slant),
    }
    functions = {name: np.where(low, values, np.inf) for name, values in functions.items()}
    top = float(found[:, 2].max())
    for name, height in levels_mm.items():
        if height < top:
            functions[name] = points_mm[:, 2] - (height + OFF_STATION_MM)
    return functions


def _plane(points: FloatArray, origin: FloatArray, normal: FloatArray) -> FloatArray:
    return np.asarray((points - origin) @ (normal / np.linalg.norm(normal)))


def _ball_points(last: Last) -> tuple[FloatArray, FloatArray]:
    """Return the widest points of the forefoot, inner and outer."""
    points, length = last.points_mm, last.foot_length_mm
    across = points[:, 1] * last.lateral_sign
    along, low = points[:, 0] / length, points[:, 2] < BALL_LOW * length
    inner = np.flatnonzero(low & (along > BALL_INNER[0]) & (along < BALL_INNER[1]))
    outer = np.flatnonzero(low & (along > BALL_OUTER[0]) & (along < BALL_OUTER[1]))
    return points[inner[across[inner].argmin()]], points[outer[across[outer].argmax()]]


def way_round_mm(points_mm: FloatArray, triangles: IntArray, values: FloatArray) -> float:
    """Return the length of a function's zero line on a surface."""
    inside = np.isfinite(values[triangles]).all(axis=1)
    return level_length_mm(triangles[inside], values, 0.0, points_mm)[0]


def girth_closures(
    last: Last, functions: Mapping[str, FloatArray], parts: Sequence[FlatPart]
) -> list[GirthClosure]:
    """Return for each girth its length on the last, and what the flat pieces make of it.

    `pattern_mm` is the flat length of the same way over every piece between net edges; where no
    piece lies, over the lace gap and under the foot, the way on the last is counted. Laps count
    once. Girths that touch no piece are left out.
    """
    closures = []
    for name, values in functions.items():
        covered = [part.girths[name] for part in parts if name in part.girths]
        if not covered:
            continue
        whole = way_round_mm(last.points_mm, last.triangles, values)
        free = whole - sum(space for space, _ in covered)
        closures.append(GirthClosure(name, whole, free + sum(flat for _, flat in covered)))
    return closures
