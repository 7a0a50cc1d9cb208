"""Meshes of feet as files under DATA_DIR, named by the sha256 of their content.

A mesh is kept as it was confirmed: an OBJ in mm, standing in the foot's frame, which the `draft`
command reads too. A file is written once and never changed; older feet refer to it.
"""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from django.utils.translation import gettext as _

from patterns.errors import FootError
from patterns.exchange.foot_file import foot_from_document, mesh_name
from patterns.foot import Foot
from patterns.mesh_in import FootMesh, read_mesh
from workshop.kept_files import file_content, file_keep, file_path, is_digest

FOLDER, ENDING = "meshes", ".obj"


def mesh_keep(content: bytes) -> str:
    """Write a mesh whole, or find it written already, and return its sha256."""
    return file_keep(FOLDER, ENDING, content)


def mesh_is_here(digest: str) -> bool:
    """Return whether the file of a mesh is there; `mesh_content` looks whether it is whole."""
    return is_digest(digest) and file_path(FOLDER, ENDING, digest).is_file()


def mesh_content(digest: str) -> bytes:
    """Return the bytes of a kept mesh.

    Raises
    ------
    FootError
        The file is missing, or is not what was kept.
    """
    content = file_content(FOLDER, ENDING, digest)
    if content is None:
        text = _(
            "The mesh of this foot is not in the data folder as it was kept (meshes/%(name)s);"
            " bring the folder back from a backup, or measure the foot again."
        ) % {"name": f"{digest[:12]}…{ENDING}"}
        raise FootError(text, field="mesh", code="mesh-lost")
    return content


@lru_cache(maxsize=4)
def mesh_of(digest: str) -> FootMesh:
    """Return a kept mesh; the last few stay in memory, as their content never changes."""
    return read_mesh(mesh_content(digest), f"mesh{ENDING}")


def mesh_file_name(digest: str) -> str:
    """Return the plain name a foot's file calls its mesh by."""
    return f"{digest}{ENDING}"


def foot_read(document: Mapping[str, Any]) -> Foot:
    """Return the foot of a document that names a kept mesh, or none.

    Raises
    ------
    FootError
        The mesh is lost, or a rule made since refuses the foot.
    """
    name = mesh_name(document)
    content = mesh_content(name.removesuffix(ENDING)) if name is not None else None
    return foot_from_document(document, mesh_content=content)
