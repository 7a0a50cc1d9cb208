"""The shoe on its foot as bodies in space: leather where it lies on the last, sole, heel, foot."""

from dataclasses import dataclass, replace
from math import atan2
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import shapely

from patterns.drafting.bottom import sole_ways
from patterns.drawing.worn import LEG_SHARE, Onto
from patterns.drawing.worn_sole import SoleProfile, sole_profile
from patterns.last.last import FloatArray, Last
from patterns.pieces.allowances import net_ring
from patterns.pieces.piece import Piece, PieceSet

SOLID = "solid 1"  # changes whenever the same pieces come to look different
PLACES = 2  # decimals of a mm that are sent
SOLE_STATIONS = 161
END_MM = 0.05  # so far from its two tips an outline still has a breadth
Kind = Literal["leather", "sole", "foot"]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Ring:
    """An eyelet: the middle of its hole, the way it looks, and its diameter."""

    at_mm: tuple[float, float, float]
    facing: tuple[float, float, float]
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class Body:
    """One body with its triangles, seen counter-clockwise from outside, and lines drawn on it.

    ``points_mm`` has shape (n, 3) in the foot's frame, ``triangles`` (m, 3); each line has shape
    (k, 3), the last ``stitch_count`` of them are stitched.
    """

    name: str
    kind: Kind
    points_mm: FloatArray
    triangles: IntArray
    lines_mm: tuple[FloatArray, ...] = ()
    rings: tuple[Ring, ...] = ()
    stitch_count: int = 0


def solid_shoe(pieces: PieceSet, last: Last) -> tuple[Body, ...]:
    """Return the shoe as it is worn: the bare foot, what it stands on, and each piece of leather.

    Parameters
    ----------
    pieces : PieceSet
        As drafted from the last's surface: pieces of upper leather with their meshes.
    last : Last
        The bare foot they were drafted for.
    """
    shown = [piece for piece in pieces.pieces if piece.material == "upper" and piece.mesh]
    profile = sole_profile(pieces.parameters, last)
    outsole = next((piece for piece in pieces.pieces if piece.name == "outsole"), None)
    top = max(
        (float(piece.mesh.points_mm[:, 2].max()) for piece in shown if piece.mesh is not None),
        default=0.0,
    )
    worn = [_foot(last, top), *(_leather(piece) for piece in shown)]
    return (*(_tilted(body, profile) for body in worn), *_under(profile, last, outsole))


def _foot(last: Last, shoe_top_mm: float) -> Body:
    """Return the foot with as much of the leg as stands out of the shoe, closed on top."""
    reach = shoe_top_mm + LEG_SHARE * last.foot_length_mm
    low = last.grid_mm[:, :, 2].max(axis=1) <= reach
    kept = max(int(np.flatnonzero(low)[-1]) + 1, last.ankle_station + 1)
    # The tip is one point, every other section has as many as there are turns.
    count = 1 + (kept - 1) * last.turn_count
    whole = last.triangles[(last.triangles < count).all(axis=1)]
    rim = np.arange(count - last.turn_count, count)
    middle = last.points_mm[rim].mean(axis=0)
    lid = np.column_stack([np.full(len(rim), count), rim, np.roll(rim, -1)])
    if not _faces_up(np.vstack([last.points_mm[:count], middle])[lid[0]]):
        lid = lid[:, ::-1]
    points = np.vstack([last.points_mm[:count], middle])
    return Body("foot", "foot", points, np.vstack([whole, lid]))


def _faces_up(corners: FloatArray) -> bool:
    return bool(np.cross(corners[1] - corners[0], corners[2] - corners[0])[2] > 0.0)


def _leather(piece: Piece) -> Body:
    mesh = piece.mesh
    assert mesh is not None
    onto = Onto(mesh)
    lines = [mesh.points_mm[list(ids)] for _name, ids in mesh.edge_points]
    stitched = [onto.places(line.points_mm) for line in piece.lines if line.kind == "stitch"]
    corners = mesh.points_mm[mesh.triangles]
    facing = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    facing /= np.maximum(np.linalg.norm(facing, axis=1), 1e-12)[:, None]
    middles = corners.mean(axis=1)
    rings = []
    for hole in piece.holes:
        at = onto.places([(hole.x_mm, hole.y_mm)])[0]
        nearest = int(((middles - at) ** 2).sum(axis=1).argmin())
        rings.append(Ring(_three(at), _three(facing[nearest]), hole.diameter_mm))
    return Body(
        piece.name,
        "leather",
        mesh.points_mm,
        mesh.triangles,
        (*lines, *stitched),
        tuple(rings),
        stitch_count=len(stitched),
    )


def _three(row: FloatArray) -> tuple[float, float, float]:
    return float(row[0]), float(row[1]), float(row[2])


def _tilted(body: Body, profile: SoleProfile) -> Body:
    """Return a body turned as a foot on a wedge inside is: about the tip of the toes."""
    if profile.tilt_mm == 0.0:
        return body
    angle = atan2(profile.tilt_mm, profile.pivot_mm)
    turn = np.array(
        [
            [np.cos(angle), 0.0, np.sin(angle)],
            [0.0, 1.0, 0.0],
            [-np.sin(angle), 0.0, np.cos(angle)],
        ]
    )
    pivot = np.array([profile.pivot_mm, 0.0, 0.0])

    def moved(points: FloatArray) -> FloatArray:
        return np.asarray((points - pivot) @ turn.T + pivot, dtype=float)

    return replace(
        body,
        points_mm=moved(body.points_mm),
        lines_mm=tuple(moved(line) for line in body.lines_mm),
        rings=tuple(
            replace(
                ring,
                at_mm=_three(moved(np.array([ring.at_mm]))[0]),
                facing=_three(np.array(ring.facing) @ turn.T),
            )
            for ring in body.rings
        ),
    )


def _under(profile: SoleProfile, last: Last, outsole: Piece | None) -> list[Body]:
    """Return outsole and heel: the outsole's own outline, laid along the sole it was drawn for."""
    if outsole is None:
        return []
    plan = shapely.Polygon(net_ring(outsole.edges))
    stations, along = sole_ways(last)
    left, bottom, right, top = plan.bounds
    # Close together at both ends, where the outline turns.
    share = (1.0 - np.cos(np.linspace(0.0, np.pi, SOLE_STATIONS))) / 2.0
    way = left + (right - left) * share
    inside = np.clip(way, left + END_MM, right - END_MM)
    across = shapely.linestrings([[(at, bottom - 1.0), (at, top + 1.0)] for at in inside])
    sides = shapely.bounds(shapely.intersection(across, plan))[:, [1, 3]]
    x = np.interp(way, along, stations)
    upper, under = (np.interp(x, profile.x_mm, row) for row in (profile.top_mm, profile.under_mm))
    bodies = [_slab("outsole", x, sides, upper, under)]
    if profile.back.sum() > 1:
        back = x <= profile.x_mm[profile.back][-1]
        ground = np.full(int(back.sum()), profile.ground_mm)
        bodies.append(_slab("heel", x[back], sides[back], under[back], ground))
    return bodies


def _slab(name: str, x: FloatArray, sides: FloatArray, top: FloatArray, under: FloatArray) -> Body:
    """Return a closed body of upright sections, one at each station."""
    count = len(x)
    sections = np.stack(
        [
            np.column_stack([x, sides[:, 0], top]),
            np.column_stack([x, sides[:, 1], top]),
            np.column_stack([x, sides[:, 1], under]),
            np.column_stack([x, sides[:, 0], under]),
        ],
        axis=1,
    )
    first = 4 * np.arange(count - 1)
    faces = []
    for corner in range(4):
        a, b = first + corner, first + (corner + 1) % 4
        faces += [np.column_stack([a, a + 4, b + 4]), np.column_stack([a, b + 4, b])]
    end = 4 * (count - 1)
    faces.append(np.array([[0, 1, 2], [0, 2, 3], [end, end + 2, end + 1], [end, end + 3, end + 2]]))
    return Body(name, "sole", sections.reshape(-1, 3), np.vstack(faces).astype(np.int64))


def document_from_bodies(bodies: tuple[Body, ...]) -> list[dict[str, Any]]:
    """Return bodies as plain values: points and triangles each in one flat row."""
    return [
        {
            "name": body.name,
            "kind": body.kind,
            "points": _flat(body.points_mm),
            "triangles": body.triangles.ravel().tolist(),
            "lines": [_flat(line) for line in body.lines_mm],
            "rings": [
                {"at": _flat(ring.at_mm), "facing": _flat(ring.facing), "mm": ring.diameter_mm}
                for ring in body.rings
            ],
        }
        for body in bodies
    ]


def _flat(rows: Any) -> list[float]:
    return [float(value) for value in np.round(np.asarray(rows, dtype=float).ravel(), PLACES)]


def volume_mm3(body: Body) -> float:
    """Return what a closed body holds, below zero if its triangles face inwards.

    Sum of the signed volumes of tetrahedra to the origin (divergence theorem).
    """
    a, b, c = np.moveaxis(body.points_mm[body.triangles], 1, 0)
    return float((np.cross(a, b) * c).sum() / 6.0)
