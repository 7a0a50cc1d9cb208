"""Foot meshes the tests share, ways to spoil them, and plain writers of mesh files."""

import struct
from functools import cache
from pathlib import Path

import numpy as np

from patterns.mesh_in import FootMesh, read_mesh

FEET = Path(__file__).resolve().parent / "data" / "feet"


@cache
def sample_mesh() -> FootMesh:
    return read_mesh((FEET / "sample_foot.obj").read_bytes(), "sample_foot.obj")


@cache
def leg_mesh() -> FootMesh:
    return read_mesh((FEET / "sample_leg.obj").read_bytes(), "sample_leg.obj")


def transformed(mesh: FootMesh, matrix=None, move=(0.0, 0.0, 0.0)) -> FootMesh:
    turned = mesh.vertices_mm @ np.array(np.eye(3) if matrix is None else matrix, dtype=float).T
    return FootMesh(turned + np.array(move), mesh.triangles)


def mirrored(mesh: FootMesh) -> FootMesh:
    """The other foot: y mirrored, faces turned so that they look outwards again."""
    return FootMesh(mesh.vertices_mm * [1.0, -1.0, 1.0], mesh.triangles[:, ::-1])


def without(mesh: FootMesh, drop) -> FootMesh:
    """The mesh without the triangles whose middle `drop` picks."""
    middles = mesh.corners_mm.mean(axis=1)
    return FootMesh(mesh.vertices_mm, mesh.triangles[~drop(middles)])


def joined(*meshes: FootMesh) -> FootMesh:
    points, corners, first = [], [], 0
    for mesh in meshes:
        points.append(mesh.vertices_mm)
        corners.append(mesh.triangles + first)
        first += len(mesh.vertices_mm)
    return FootMesh(np.vstack(points), np.vstack(corners))


def obj_bytes(mesh: FootMesh) -> bytes:
    lines = [f"v {x:.9g} {y:.9g} {z:.9g}" for x, y, z in mesh.vertices_mm]
    lines += [f"f {a + 1} {b + 1} {c + 1}" for a, b, c in mesh.triangles]
    return ("\n".join(lines) + "\n").encode()


def stl_bytes(mesh: FootMesh, header: bytes = b"foot") -> bytes:
    record = np.zeros(
        len(mesh.triangles),
        dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("kept", "<u2")],
    )
    record["corners"] = mesh.corners_mm
    return header.ljust(80, b" ") + struct.pack("<I", len(record)) + record.tobytes()


def stl_text(mesh: FootMesh) -> bytes:
    lines = ["solid foot"]
    for corners in mesh.corners_mm:
        lines += ["facet normal 0 0 0", " outer loop"]
        lines += [f"  vertex {x:.9e} {y:.9e} {z:.9e}" for x, y, z in corners]
        lines += [" endloop", "endfacet"]
    return ("\n".join([*lines, "endsolid foot"]) + "\n").encode()


def ply_bytes(mesh: FootMesh, form: str = "binary_little_endian") -> bytes:
    head = (
        f"ply\nformat {form} 1.0\ncomment a foot\nelement vertex {len(mesh.vertices_mm)}\n"
        "property float x\nproperty float y\nproperty float z\nproperty uchar red\n"
        f"element face {len(mesh.triangles)}\nproperty list uchar int vertex_indices\nend_header\n"
    ).encode()
    if form == "ascii":
        lines = [f"{x:.9g} {y:.9g} {z:.9g} 7" for x, y, z in mesh.vertices_mm]
        lines += [f"3 {a} {b} {c}" for a, b, c in mesh.triangles]
        return head + ("\n".join(lines) + "\n").encode()
    order = "<" if form == "binary_little_endian" else ">"
    points = np.zeros(len(mesh.vertices_mm), dtype=[("p", order + "f4", 3), ("red", "u1")])
    points["p"] = mesh.vertices_mm
    faces = np.zeros(len(mesh.triangles), dtype=[("n", "u1"), ("c", order + "i4", 3)])
    faces["n"], faces["c"] = 3, mesh.triangles
    return head + points.tobytes() + faces.tobytes()
