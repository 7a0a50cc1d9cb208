"""The one way from a mesh file's bytes to a FootMesh."""

from collections.abc import Callable

from patterns.mesh.foot_mesh import (
    BYTES_MOST,
    FloatArray,
    FootMesh,
    IntArray,
    mesh_fault,
    tidied,
)
from patterns.mesh.obj import obj_arrays
from patterns.mesh.ply import ply_arrays
from patterns.mesh.stl import stl_arrays


def _obj_bytes(content: bytes, unit_mm: float) -> tuple[FloatArray, IntArray]:
    return obj_arrays(content.decode("utf-8", errors="replace"), unit_mm)


_READERS: dict[str, Callable[[bytes, float], tuple[FloatArray, IntArray]]] = {
    ".obj": _obj_bytes,
    ".stl": stl_arrays,
    ".ply": ply_arrays,
}
MESH_ENDINGS = tuple(_READERS)


def mesh_ending(file_name: str) -> str | None:
    """Return which kind of mesh file a name stands for, None for none of ours."""
    lowered = file_name.lower()
    return next((ending for ending in MESH_ENDINGS if lowered.endswith(ending)), None)


def read_mesh(content: bytes, file_name: str, *, unit_mm: float = 1.0) -> FootMesh:
    """Return the mesh of an OBJ, STL or PLY file; points at the same place are made one.

    Parameters
    ----------
    content : bytes
        The file, at most 20 MB.
    file_name : str
        Its ending says which kind it is.
    unit_mm : float
        Length of the file's unit in millimetres.

    Raises
    ------
    FootError
        Field ``mesh``: another kind of file, too large, cut short, a line or figure that cannot
        be read, no triangles or more than 200,000. Whether the surface is sound is for
        `mesh_problems` to say.
    """
    ending = mesh_ending(file_name)
    if ending is None:
        raise mesh_fault(
            "mesh-kind", f"{file_name[:60]!r} is no OBJ, STL or PLY file; save it as one of these"
        )
    if len(content) > BYTES_MOST:
        raise mesh_fault("mesh-size", f"is larger than {BYTES_MOST // 1_000_000} MB; thin it out")
    if not content.strip():
        raise mesh_fault("mesh-empty", "holds no triangles: the file is empty; save it again")
    return tidied(*_READERS[ending](content, unit_mm))


def read_obj(text: str, *, unit_mm: float = 1.0) -> FootMesh:
    """Return the mesh of an OBJ text; see `read_mesh`."""
    return read_mesh(text.encode(), "mesh.obj", unit_mm=unit_mm)
