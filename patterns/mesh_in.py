"""Foot meshes: read from a file, checked, turned upright, measured; the face of `patterns.mesh`."""

from patterns.errors import FootError
from patterns.mesh.foot_mesh import BYTES_MOST, TRIANGLES_MOST, FootMesh, mesh_fault
from patterns.mesh.place import check_mesh_place
from patterns.mesh.read import MESH_ENDINGS, mesh_ending, read_mesh, read_obj
from patterns.mesh.section import (
    measure_mesh,
    mesh_heel_raise_mm,
    mesh_leg_top_mm,
    section_hull,
    section_points,
)
from patterns.mesh.shadow import mesh_side_shadow, mesh_sole_outline

__all__ = [
    "BYTES_MOST",
    "MESH_ENDINGS",
    "TRIANGLES_MOST",
    "FootError",
    "FootMesh",
    "check_mesh_place",
    "measure_mesh",
    "mesh_ending",
    "mesh_fault",
    "mesh_heel_raise_mm",
    "mesh_leg_top_mm",
    "mesh_side_shadow",
    "mesh_sole_outline",
    "read_mesh",
    "read_obj",
    "section_hull",
    "section_points",
]
