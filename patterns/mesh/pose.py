"""In which unit a foot mesh is, which way it lies, and how it comes to stand in the foot's frame.

A foot has marks that no other way of laying it shares: a sole about twice to three times as long
as it is wide, a leg that rises over the heel's end of it, toes that stay low. Each of the 24 ways
of setting up a mesh by right angles is scored by these marks.
"""

from dataclasses import dataclass, replace
from functools import cache
from itertools import permutations, product
from math import cos, log, radians, sin, sqrt
from typing import Literal

import numpy as np

from patterns.mesh.foot_mesh import FloatArray, FootMesh, mesh_fault
from patterns.mesh.soundness import is_inside_out
from patterns.mesh.standing import axis_angle_deg, foot_span, frame_corner
from patterns.units import MM_PER_UNIT

MeshUnit = Literal["mm", "cm", "in", "m"]
MESH_UNITS: tuple[MeshUnit, ...] = ("mm", "cm", "in", "m")
MESH_UNITS_MM: dict[MeshUnit, float] = {unit: MM_PER_UNIT[unit] for unit in MESH_UNITS}
UNIT_WORDS = {"mm": "millimetres", "cm": "centimetres", "in": "inches", "m": "metres"}
FOOT_LENGTHS_MM = (25.0, 160.0)  # the feet that can be drawn
UNIT_SLACK = 0.15  # how far a length may be off the foot length and still tell the unit

SAMPLES_MOST = 6_000  # triangles looked at; a foot's marks are coarse
SWING_LEAST_DEG = 3.0  # a foot set straighter than this stays as it is

# The marks: what they are on feet (least, most) and how fast the score falls beyond.
# Common practice, no source; beside each what the sample foot has.
WIDTH_SHARE = (0.28, 0.62, 0.10)  # width of the foot to its length; 0.42
LEG_SLAB = (0.45, 0.80)  # of foot length: where the leg is looked at, above the instep
LEG_PLACE = (-0.10, 0.42, 0.10)  # its middle, from the heel; 0.16
LEG_REACH = (0.20, 0.70, 0.10)  # how far it goes along the foot; 0.42
TOE_TOP = (0.02, 0.17, 0.04)  # height of the foremost tenth; 0.10
MIDDLE_TOP = (0.12, 0.48, 0.08)  # height half way along, below the leg; 0.27
SOLE_SHARE = (0.45, 1.20, 0.10)  # area that faces the ground to length by width; 0.65
TALL = (0.50, 9.9, 0.10)  # height of all; 1.35

Turn = tuple[tuple[int, int, int], tuple[int, int, int], tuple[int, int, int]]
UPRIGHT: Turn = ((1, 0, 0), (0, 1, 0), (0, 0, 1))


@dataclass(frozen=True, slots=True)
class MeshPose:
    """What has to be done to a mesh as it was read so that it stands in the foot's frame.

    Points are multiplied by `unit_mm`, turned by `turn`, swung about the upright axis by
    `swing_deg`, then moved by `shift_mm`.

    Parameters
    ----------
    unit : {"mm", "cm", "in", "m"}
    turn : 3 rows of 3 whole numbers
        One of the 24 turns by right angles; its rows are x, y and z of the frame in the file's
        axes.
    swing_deg : float
        Left over after that, counter-clockwise seen from above.
    shift_mm : (x, y, z)
    foot_length_mm : float
        What the mesh then measures from heel to toe.
    foot_side_seen : {"left", "right"} or None
        Which foot the line of its toes and ball speaks for, None if for neither.
    confidence : float
        0 to 1: how well its marks fit a foot, less how well the next best way of laying it does.
    unit_sure : bool
        Whether only one unit gives a length that can be.
    """

    unit: MeshUnit
    turn: Turn
    swing_deg: float
    shift_mm: tuple[float, float, float]
    foot_length_mm: float
    foot_side_seen: Literal["left", "right"] | None
    confidence: float
    unit_sure: bool

    @property
    def unit_mm(self) -> float:
        """Return the length of the file's unit in mm."""
        return MESH_UNITS_MM[self.unit]

    @property
    def is_upright(self) -> bool:
        """Return whether the mesh lies the right way round already."""
        return self.turn == UPRIGHT

    @property
    def toe_axis(self) -> str:
        """Return the file's axis along which the toes point, such as "+y"."""
        return _axis_word(self.turn[0])

    @property
    def up_axis(self) -> str:
        """Return the file's axis that points up, such as "-z"."""
        return _axis_word(self.turn[2])

    @property
    def words(self) -> tuple[str, ...]:
        """Return what was recognised, one sentence each, to be shown and confirmed."""
        said = [
            f"The mesh is in {UNIT_WORDS[self.unit]}: the foot is {self.foot_length_mm:.1f} mm"
            " long."
            + ("" if self.unit_sure else " Another unit could be meant; check the length."),
            f"Its toes point along {self.toe_axis} of the file and up is {self.up_axis}."
            + (" It stays so." if self.is_upright else " It is turned upright."),
        ]
        if self.swing_deg:
            said.append(f"It is swung by {self.swing_deg:.1f} degrees to point straight ahead.")
        x, y, z = self.shift_mm
        if max(abs(x), abs(y), abs(z)) > 0.05:
            said.append(f"It is moved by {x:.1f}, {y:.1f}, {z:.1f} mm, heel and sole to zero.")
        if self.foot_side_seen is not None:
            said.append(f"By its toes it is a {self.foot_side_seen} foot.")
        if self.confidence < 0.3:
            said.append("Its shape leaves doubt which way it lies; look at the drawing closely.")
        return tuple(said)


def recognise(mesh: FootMesh, foot_length_mm: float | None = None) -> MeshPose:
    """Return the unit and the pose a mesh seems to have.

    Parameters
    ----------
    mesh : FootMesh
        As read with ``unit_mm=1``; its surface may still have faults.
    foot_length_mm : float, optional
        The foot's length if it is known: it settles the unit.

    Raises
    ------
    FootError
        Field ``mesh``: no unit gives a length that a foot can have.
    """
    ranked = _ranked_turns(mesh)
    # A way of lying whose length fits no unit gives way, but not to one that is no foot at all.
    possible = [
        each
        for each in ranked
        if each[0] > 0.2 * ranked[0][0] and _fitting_units(each[1], foot_length_mm)
    ]
    ranked = possible + [each for each in ranked if each not in possible]
    (score, length, turn), second = ranked[0], max(each[0] for each in ranked[1:])
    unit, sure = _unit_for(length, foot_length_mm)
    return replace(
        pose_as(mesh, unit, turn),
        confidence=max(0.0, min(1.0, score - second)),
        unit_sure=sure,
    )


def pose_as(mesh: FootMesh, unit: MeshUnit, turn: Turn) -> MeshPose:
    """Return the pose of a mesh whose unit and way of lying somebody has settled.

    Parameters
    ----------
    mesh : FootMesh
        As read with ``unit_mm=1``.
    unit : {"mm", "cm", "in", "m"}
    turn : 3 rows of 3 whole numbers
        See `MeshPose`, and `turn_from_axes`.
    """
    points = MESH_UNITS_MM[unit] * mesh.points_mm @ np.array(turn, dtype=float).T
    swing = _straightening_deg(points)
    points = points @ _about_z(swing).T
    length_mm = foot_span(points).length
    corner = frame_corner(points)
    return MeshPose(
        unit=unit,
        turn=turn,
        swing_deg=swing,
        shift_mm=(-corner[0], -corner[1], -corner[2]),
        foot_length_mm=length_mm,
        foot_side_seen=_side_seen(points - np.array(corner), length_mm),
        confidence=1.0,
        unit_sure=True,
    )


def turn_from_axes(toe_axis: str, up_axis: str) -> Turn | None:
    """Return the turn that brings two of a file's axes to toe and up; None if they are one line.

    >>> turn_from_axes("+x", "+z") == UPRIGHT
    True
    >>> turn_from_axes("+x", "-x") is None
    True
    """
    for turn in right_angle_turns():
        if _axis_word(turn[0]) == toe_axis and _axis_word(turn[2]) == up_axis:
            return turn
    return None


def placed(mesh: FootMesh, pose: MeshPose) -> FootMesh:
    """Return a mesh as read with ``unit_mm=1`` in mm and set up in the foot's frame."""
    points = pose.unit_mm * mesh.vertices_mm @ np.array(pose.turn, dtype=float).T
    return FootMesh(points @ _about_z(pose.swing_deg).T + np.array(pose.shift_mm), mesh.triangles)


def unit_seen(length: float, foot_length_mm: float | None) -> MeshUnit | None:
    """Return the unit in which a length read from a file is a foot's; None if in none."""
    fitting = _fitting_units(length, foot_length_mm)
    return fitting[0] if fitting else None


def _fitting_units(length: float, foot_length_mm: float | None) -> list[MeshUnit]:
    """Return the units that fit a length, the likeliest first."""
    if length <= 0.0:
        return []
    if foot_length_mm is not None:
        off = {unit: abs(log(length * mm / foot_length_mm)) for unit, mm in MESH_UNITS_MM.items()}
        return sorted((unit for unit in off if off[unit] < UNIT_SLACK), key=lambda unit: off[unit])
    least, most = FOOT_LENGTHS_MM
    possible = [unit for unit, mm in MESH_UNITS_MM.items() if least <= length * mm <= most]
    usual = sqrt(least * most)
    return sorted(possible, key=lambda unit: abs(log(length * MESH_UNITS_MM[unit] / usual)))


def _unit_for(length: float, foot_length_mm: float | None) -> tuple[MeshUnit, bool]:
    fitting = _fitting_units(length, foot_length_mm)
    if fitting:
        return fitting[0], len(fitting) == 1
    if foot_length_mm is not None:
        raise mesh_fault(
            "mesh-scale",
            f"is {length:.4g} long in its own unit, which is {foot_length_mm:g} mm in none of mm,"
            " cm, inches and metres; check the foot length or scale the mesh",
            length=length,
        )
    least, most = FOOT_LENGTHS_MM
    raise mesh_fault(
        "mesh-scale",
        f"is {length:.4g} long in its own unit; in none of mm, cm, inches and metres is that"
        f" {least:g} to {most:g} mm, the feet that can be drawn. Scale it",
        length=length,
    )


# --- which way it lies ---------------------------------------------------------------------


@cache
def right_angle_turns() -> tuple[Turn, ...]:
    """Return the 24 turns that take axes to axes without mirroring; upright comes first."""
    turns = []
    for order in permutations(range(3)):
        for signs in product((1, -1), repeat=3):
            rows = np.zeros((3, 3), dtype=int)
            for row, (axis, sign) in enumerate(zip(order, signs, strict=True)):
                rows[row, axis] = sign
            if round(float(np.linalg.det(rows))) == 1:
                x, y, z = (tuple(int(v) for v in row) for row in rows)
                turns.append((x, y, z))
    return tuple(sorted(turns, key=lambda turn: turn != UPRIGHT))  # type: ignore[arg-type]


def _ranked_turns(mesh: FootMesh) -> list[tuple[float, float, Turn]]:
    """Return score, foot length in the file's unit and turn of every way to lay it, best first."""
    corners, normals = _sampled(mesh)
    scored = []
    for turn in right_angle_turns():
        axes = np.array(turn, dtype=float).T
        score, length = _foot_likeness(corners @ axes, normals @ axes)
        scored.append((score, length, turn))
    return sorted(scored, key=lambda each: -each[0])


def standing_likeness(mesh: FootMesh) -> tuple[float, float]:
    """Return 0 to 1 for how much a mesh as it lies looks like a standing foot, and its length."""
    return _foot_likeness(*_sampled(mesh))


def _sampled(mesh: FootMesh) -> tuple[FloatArray, FloatArray]:
    """Return corners of some triangles and their normals, outward, as long as all are large."""
    step = max(1, len(mesh.triangles) // SAMPLES_MOST)
    corners = mesh.corners_mm[::step]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2
    return corners, (-step if is_inside_out(mesh) else step) * normals


def _foot_likeness(corners: FloatArray, normals: FloatArray) -> tuple[float, float]:
    """Return 0 to 1 for how much triangles look like a foot that stands, and its length.

    `normals` are as long as their triangles are large.
    """
    points = corners.reshape(-1, 3) - corners.reshape(-1, 3).min(axis=0)
    span = foot_span(points)
    length = span.length
    if length <= 0.0:
        return 0.0, length
    low = span.low(points)
    along = (points[:, 0] - span.heel) / length
    height = points[:, 2] / length
    over_seat = height - span.lift / length
    leg = (over_seat > LEG_SLAB[0]) & (over_seat < LEG_SLAB[1])
    if not leg.any():
        leg = height >= 0.8 * height.max()
    middle = height[(along > 0.45) & (along < 0.55) & (height < 0.5)]
    faces_down = (normals[:, 2] < -0.6 * np.linalg.norm(normals, axis=1)) & low.reshape(-1, 3).all(
        axis=1
    )
    width = float(np.ptp(points[low, 1])) / length
    marks = (
        (width, WIDTH_SHARE),
        (float(along[leg].mean()), LEG_PLACE),
        (float(np.ptp(along[leg])), LEG_REACH),
        (float(height[along > 0.9].max(initial=0.0)), TOE_TOP),
        (float(middle.max(initial=0.0)), MIDDLE_TOP),
        (float(-normals[faces_down, 2].sum()) / max(width * length**2, 1e-300), SOLE_SHARE),
        (float(height.max()), TALL),
    )
    off = sum(_beyond(value, *limits) ** 2 for value, limits in marks)
    return float(np.exp(-off / 2)), length


def _beyond(value: float, least: float, most: float, softness: float) -> float:
    return max(0.0, least - value, value - most) / softness


def _straightening_deg(points: FloatArray) -> float:
    """Return the swing that lays the foot's axis along x, 0 where it does so well enough."""
    swing = 0.0
    for _ in range(4):  # heel and ball are found better with every turn
        turned = points @ _about_z(swing).T
        swing -= axis_angle_deg(turned)
    return swing if abs(swing) >= SWING_LEAST_DEG else 0.0


def _about_z(angle_deg: float) -> FloatArray:
    c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def _side_seen(points: FloatArray, length: float) -> Literal["left", "right"] | None:
    """Return the foot that toes and ball speak for.

    The longest toe stands on the inner side and the inner ball lies further forward.
    """
    along = points[:, 0] / length
    low = points[:, 2] < 0.2 * length
    toe = points[low & (along > 0.985), 1]
    fore = points[low & (along > 0.5) & (along < 0.85)]
    if not (len(fore) and len(toe)):
        return None
    tip = float(toe.mean()) / length
    lead = float(fore[fore[:, 1].argmin(), 0] - fore[fore[:, 1].argmax(), 0]) / length
    if tip < -0.02 and lead > 0.01:
        return "left"
    if tip > 0.02 and lead < -0.01:
        return "right"
    return None


def _axis_word(row: tuple[int, int, int]) -> str:
    axis = next(k for k in range(3) if row[k])
    return f"{'+' if row[axis] > 0 else '-'}{'xyz'[axis]}"
