"""Meshes of others' making, read and set up as a foot; runs in the child process of uploads."""

from collections.abc import Mapping
from typing import Any, cast

from patterns.drawing.mesh import draw_mesh
from patterns.drawing.svg import drawing_svg
from patterns.errors import FootError
from patterns.foot import FOOT_LENGTH_LEAST_MM, FOOT_LENGTH_MOST_MM
from patterns.mesh_in import (
    MESH_UNITS_MM,
    FootMesh,
    MeshPose,
    MeshUnit,
    check_mesh,
    measure_mesh,
    placed,
    pose_as,
    read_mesh,
    recognise,
    turn_from_axes,
)
from workshop.faults import FaultyFileError, fault

AXES = ("+x", "-x", "+y", "-y", "+z", "-z")
DECIMALS = 5  # of a mm: a hundredth of a micrometre is finer than any scan


def read_mesh_upload(data: bytes, options: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a mesh file holds, as it is recognised or as somebody has settled it.

    Parameters
    ----------
    data : bytes
        An OBJ, STL or PLY file.
    options : mapping
        ``name`` of the file; ``unit``, ``toes`` and ``up`` where somebody has settled them;
        ``keep`` to get the mesh itself as well; ``side`` of the foot.

    Returns
    -------
    dict
        ``pose``, ``words``, ``problems`` (each code and text), ``measures``, ``svg``, the numbers
        of triangles, and ``obj``, the mesh in mm and in the foot's frame, if it is to be kept.

    Raises
    ------
    FaultyFileError
        The file cannot be read as a mesh at all.
    """
    try:
        mesh = read_mesh(data, str(options["name"]))
        pose = _pose(mesh, options)
    except FootError as error:
        raise FaultyFileError([fault("mesh", said=error.text)]) from None
    foot = placed(mesh, pose)
    problems = _problems(foot, pose.foot_length_mm)
    return {
        "unit": pose.unit,
        "toes": pose.toe_axis,
        "up": pose.up_axis,
        "words": list(pose.words),
        "foot_length_mm": pose.foot_length_mm,
        "foot_side": pose.foot_side_seen,
        "triangles": len(foot.triangles),
        "top_mm": float(foot.points_mm[:, 2].max()),
        "problems": [{"code": problem.code, "text": problem.text} for problem in problems],
        "measures": {} if problems else _measures(foot, pose, str(options.get("side") or "")),
        "svg": drawing_svg(draw_mesh(foot, pose.foot_length_mm), title=str(options["title"])),
        "obj": _obj(foot) if options.get("keep") and not problems else "",
    }


def _pose(mesh: FootMesh, options: Mapping[str, Any]) -> MeshPose:
    unit, toes, up = (str(options.get(name) or "") for name in ("unit", "toes", "up"))
    if not (unit and toes and up):
        return recognise(mesh)
    turn = turn_from_axes(toes, up)
    if unit not in MESH_UNITS_MM or turn is None:
        raise FaultyFileError([fault("mesh-axes", toes=toes[:2], up=up[:2])])
    return pose_as(mesh, cast(MeshUnit, unit), turn)


def _problems(foot: FootMesh, foot_length_mm: float) -> list[FootError]:
    if not FOOT_LENGTH_LEAST_MM <= foot_length_mm <= FOOT_LENGTH_MOST_MM:
        text = (
            f"The mesh is {foot_length_mm:.1f} mm long in this unit; feet from"
            f" {FOOT_LENGTH_LEAST_MM:g} to {FOOT_LENGTH_MOST_MM:g} mm can be drawn."
            " Choose another unit."
        )
        return [FootError(text, field="mesh", code="mesh-scale")]
    try:
        check_mesh(foot, foot_length_mm)
    except FootError as error:
        return [error]
    return []


def _measures(foot: FootMesh, pose: MeshPose, side: str) -> dict[str, float]:
    """Return the measures a tape would read off, to a hundredth of a mm."""
    sign = -1 if (side or pose.foot_side_seen) == "right" else 1
    found = measure_mesh(foot, pose.foot_length_mm, lateral_sign=sign)
    return {key: round(float(value), 2) for key, value in found.items()}


def _obj(foot: FootMesh) -> str:
    """Return the mesh as OBJ text in mm; the same mesh gives the same text."""
    points = "\n".join(
        f"v {x:.{DECIMALS}f} {y:.{DECIMALS}f} {z:.{DECIMALS}f}" for x, y, z in foot.vertices_mm
    )
    faces = "\n".join(f"f {a} {b} {c}" for a, b, c in foot.triangles + 1)
    return f"{points}\n{faces}\n"
