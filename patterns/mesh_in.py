"""Foot meshes: read from a file, checked, turned upright, measured; the face of `patterns.mesh`."""

from patterns.errors import FootError
from patterns.mesh.foot_mesh import BYTES_MOST, TRIANGLES_MOST, FootMesh, mesh_fault
from patterns.mesh.place import LENGTH_TOLERANCE, check_mesh, check_mesh_place
from patterns.mesh.pose import (
    MESH_UNITS_MM,
    MeshPose,
    MeshUnit,
    placed,
    pose_as,
    recognise,
    turn_from_axes,
)
from patterns.mesh.read import MESH_ENDINGS, mesh_ending, read_mesh, read_obj
from patterns.mesh.section import (
    measure_mesh,
    mesh_heel_raise_mm,
    mesh_leg_top_mm,
    section_hull,
    section_points,
)
from patterns.mesh.shadow import mesh_side_shadow, mesh_sole_outline
from patterns.mesh.soundness import (
    Opening,
    is_inside_out,
    opening_problems,
    openings,
    surface_problems,
)

__all__ = [
    "BYTES_MOST",
    "LENGTH_TOLERANCE",
    "MESH_ENDINGS",
    "MESH_UNITS_MM",
    "TRIANGLES_MOST",
    "FootError",
    "FootMesh",
    "MeshPose",
    "MeshUnit",
    "Opening",
    "check_mesh",
    "check_mesh_place",
    "is_inside_out",
    "measure_mesh",
    "mesh_ending",
    "mesh_fault",
    "mesh_heel_raise_mm",
    "mesh_leg_top_mm",
    "mesh_side_shadow",
    "mesh_sole_outline",
    "opening_problems",
    "openings",
    "placed",
    "pose_as",
    "read_mesh",
    "read_obj",
    "recognise",
    "section_hull",
    "section_points",
    "surface_problems",
    "turn_from_axes",
]
