"""Whether a mesh is one sound foot, in the stated unit, standing where the frame puts it."""

from patterns.errors import FootError
from patterns.mesh.foot_mesh import FootMesh, mesh_fault
from patterns.mesh.pose import (
    MESH_UNITS_MM,
    UNIT_WORDS,
    MeshPose,
    recognise,
    standing_likeness,
    unit_seen,
)
from patterns.mesh.soundness import is_inside_out, opening_problems, surface_problems
from patterns.mesh.standing import axis_angle_deg, foot_span, frame_corner

PLACE_TOLERANCE = 0.03  # of foot length: how far heel and ground may lie from x=0 and z=0
ASIDE_TOLERANCE = 0.10  # of foot length: how far the foot's middle may lie from y=0
LENGTH_TOLERANCE = 0.05  # of foot length: a mesh further off is in another unit or another foot
SWING_MOST_DEG = 12.0  # a foot that points further aside is measured across itself
UPRIGHT_LEAST = 0.30  # likeness of a standing foot below which another way of lying is believed
FOOT_LEAST = 0.02  # likeness of a standing foot below which it is taken for none
CLEARLY_BETTER = 0.30  # by so much another way of lying must be likelier


def check_mesh(mesh: FootMesh, foot_length_mm: float, *, unit_mm: float = 1.0) -> None:
    """Raise FootError unless a mesh in mm is the sound surface of one foot in the foot's frame.

    The first fault is told, in the order in which a maker puts them right: parts, walls and
    facing, which way it lies, its unit and length, its place, then holes.

    Parameters
    ----------
    mesh : FootMesh
    foot_length_mm : float
    unit_mm : float
        What the file's figures have been multiplied by, to tell a wrong unit.

    Raises
    ------
    FootError
        Field ``mesh`` (``mesh_unit`` where the unit is wrong), with a code of its own.
    """
    for problem in surface_problems(mesh):
        raise problem
    _check_pose(mesh, foot_length_mm, unit_mm)
    check_mesh_place(mesh, foot_length_mm)
    for problem in opening_problems(mesh, foot_length_mm):
        raise problem


def _check_pose(mesh: FootMesh, foot_length_mm: float, unit_mm: float) -> None:
    upright, length = standing_likeness(mesh)
    # What stands like a foot is judged by its own length; else by the likeliest way it lies.
    pose = None if upright >= UPRIGHT_LEAST else _pose_or_none(mesh, foot_length_mm)
    lies_otherwise = (
        pose is not None and not pose.is_upright and pose.confidence + upright > CLEARLY_BETTER
    )
    inside_out = is_inside_out(mesh)
    if pose is not None and lies_otherwise:
        raise _lying_fault(pose, inside_out=inside_out)
    length_mm = pose.foot_length_mm / pose.unit_mm if pose else length
    _check_scale(length_mm, foot_length_mm, unit_mm)
    if upright < FOOT_LEAST:
        raise mesh_fault(
            "mesh-no-foot",
            "does not look like a foot: a sole twice to three times as long as wide, low toes, and"
            " a leg that rises over the heel; check that it is the right file",
        )
    if inside_out:
        raise mesh_fault(
            "mesh-inside-out",
            "is inside out: all its faces look inwards, as after mirroring; turn them outwards",
        )


def _pose_or_none(mesh: FootMesh, foot_length_mm: float) -> MeshPose | None:
    try:
        return recognise(mesh, foot_length_mm)
    except FootError:
        return None


def _lying_fault(pose: MeshPose, *, inside_out: bool) -> FootError:
    code, how = "mesh-on-its-side", "lies on its side"
    if pose.up_axis == "+z":
        code, how = "mesh-wrong-way", "points the wrong way"
    elif pose.up_axis == "-z":
        code, how = "mesh-upside-down", "stands upside down"
    elif pose.toe_axis in ("+z", "-z"):
        code, how = "mesh-on-its-back", "lies on its back or front"
    swapped = " and is mirrored, as when two axes are swapped" if inside_out else ""
    return mesh_fault(
        code,
        f"{how}{swapped}: its toes point along {pose.toe_axis} and up is {pose.up_axis}. Turn it so"
        " that the toes point along +x and up is +z",
        toe_axis=pose.toe_axis,
        up_axis=pose.up_axis,
    )


def _check_scale(length_mm: float, foot_length_mm: float, unit_mm: float) -> None:
    """Raise FootError where the length read is the foot's in another unit, or not at all."""
    if abs(length_mm / foot_length_mm - 1) <= LENGTH_TOLERANCE:
        return
    unit = unit_seen(length_mm / unit_mm, foot_length_mm)
    if unit is not None and MESH_UNITS_MM[unit] != unit_mm:
        raise FootError(
            f"The mesh is {length_mm:.4g} mm long but the foot length {foot_length_mm:g} mm: it"
            f" seems to be in {UNIT_WORDS[unit]}; set mesh_unit to {unit!r}.",
            field="mesh_unit",
            code="mesh-unit",
            unit=unit,
            length_mm=length_mm,
        )
    raise mesh_fault(
        "mesh-scale",
        f"is {length_mm:.4g} mm long but the foot length {foot_length_mm:g} mm; check mesh_unit,"
        " the foot length, and that it is this foot",
        length_mm=length_mm,
    )


def check_mesh_place(mesh: FootMesh, foot_length_mm: float) -> None:
    """Raise FootError unless heel, toe and ground of the mesh lie where the frame puts them."""
    points = mesh.points_mm
    _check_scale(foot_span(points).length, foot_length_mm, 1.0)
    heel, middle, ground = frame_corner(points)
    slack = PLACE_TOLERANCE * foot_length_mm
    if abs(heel) > slack or abs(ground) > slack:
        raise mesh_fault(
            "mesh-place",
            f"has its heel at x = {heel:.1f} and its lowest point at z = {ground:.1f} mm; move it"
            " so that the heel touches x = 0 and the sole z = 0",
        )
    if abs(middle) > ASIDE_TOLERANCE * foot_length_mm:
        raise mesh_fault(
            "mesh-aside",
            f"has its middle at y = {middle:.1f} mm; move it so that the foot's axis lies on y = 0",
        )
    angle = axis_angle_deg(points)
    if abs(angle) > SWING_MOST_DEG:
        raise mesh_fault(
            "mesh-swung",
            f"points {abs(angle):.0f} degrees to the {'+' if angle > 0 else '-'}y side; turn it so"
            " that the foot's axis lies along x",
        )
    if points[:, 2].max() < 0.35 * foot_length_mm:
        raise mesh_fault("mesh-low", "ends below the ankle; leave the leg on as high as the boot")
