import io
import struct

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from patterns.errors import FootError
from patterns.mesh_in import FootMesh, read_mesh
from tests.samples_meshes import obj_bytes, ply_bytes, sample_mesh, stl_bytes, stl_text

FILES = {
    "obj": ("foot.obj", obj_bytes),
    "binary stl": ("foot.stl", stl_bytes),
    "text stl": ("FOOT.STL", stl_text),
    "text ply": ("foot.ply", lambda mesh: ply_bytes(mesh, "ascii")),
    "little ply": ("foot.ply", ply_bytes),
    "big ply": ("foot.ply", lambda mesh: ply_bytes(mesh, "binary_big_endian")),
}


def mesh_or_fault(content: bytes, name: str) -> tuple[FootMesh | None, FootError | None]:
    try:
        return read_mesh(content, name), None
    except FootError as error:
        return None, error


def outlook(mesh: FootMesh) -> np.ndarray:
    """Middle and normal of every triangle: the surface, however its points are numbered."""
    corners = mesh.corners_mm
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return np.hstack([corners.mean(axis=1), across])


@pytest.mark.parametrize("kind", FILES)
def test_every_kind_of_file_gives_the_same_surface(kind):
    name, write = FILES[kind]
    mesh = read_mesh(write(sample_mesh()), name)
    assert mesh.vertices_mm.shape == sample_mesh().vertices_mm.shape
    assert mesh.triangles.shape == sample_mesh().triangles.shape
    far, nearest = cKDTree(outlook(mesh)).query(outlook(sample_mesh()))
    assert far.max() < 1e-3
    assert len(set(nearest)) == len(nearest)


@pytest.mark.external
@pytest.mark.parametrize("kind", FILES)
def test_files_are_read_as_a_reference_library_reads_them(kind):
    # Source: trimesh 5.2, load with process=True (which makes equal points one): area and volume.
    trimesh = pytest.importorskip("trimesh")
    name, write = FILES[kind]
    content = write(sample_mesh())
    theirs = trimesh.load(io.BytesIO(content), file_type=name[-3:].lower(), process=True)
    ours = read_mesh(content, name)
    mesh = trimesh.Trimesh(ours.vertices_mm, ours.triangles, process=False)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(theirs.volume, rel=1e-5)
    assert mesh.area == pytest.approx(theirs.area, rel=1e-5)


@pytest.mark.parametrize("kind", FILES)
@settings(deadline=None, max_examples=40)
@given(share=st.floats(0.0, 0.999))
def test_a_file_cut_short_is_refused_or_read_as_fewer_triangles_never_a_crash(kind, share):
    name, write = FILES[kind]
    content = write(FootMesh(sample_mesh().vertices_mm, sample_mesh().triangles[:40]))
    mesh, fault = mesh_or_fault(content[: int(share * len(content))], name)
    if mesh is None:
        assert fault.field == "mesh"
        assert fault.code
    else:
        assert kind == "obj"  # text without a stated number of lines
        assert len(mesh.triangles) <= 40


@pytest.mark.parametrize("name", ["a.obj", "a.stl", "a.ply"])
@settings(deadline=None, max_examples=60)
@given(content=st.binary(max_size=400), head=st.sampled_from([b"", b"solid ", b"ply\nformat "]))
def test_bytes_of_any_kind_are_refused_not_a_crash(name, content, head):
    with pytest.raises(FootError):
        read_mesh(head + content, name)


@settings(deadline=None)
@given(
    place=st.integers(0, 10_000),
    byte=st.integers(0, 255),
    kind=st.sampled_from(sorted(FILES)),
)
def test_one_wrong_byte_is_read_or_refused_not_a_crash(place, byte, kind):
    name, write = FILES[kind]
    content = bytearray(write(FootMesh(sample_mesh().vertices_mm[:30], [[0, 1, 2], [2, 3, 4]])))
    content[place % len(content)] = byte
    mesh, fault = mesh_or_fault(bytes(content), name)
    assert fault.field == "mesh" if mesh is None else np.isfinite(mesh.vertices_mm).all()


def faulty(change) -> FootMesh:
    points = sample_mesh().vertices_mm.copy()
    points[sample_mesh().triangles[5, 1]] = change
    return FootMesh(points, sample_mesh().triangles)


@pytest.mark.parametrize("kind", FILES)
@pytest.mark.parametrize("value", [np.nan, np.inf, 1e30])
def test_a_point_that_is_no_place_in_space_is_refused(kind, value):
    name, write = FILES[kind]
    with pytest.raises(FootError) as caught:
        read_mesh(write(faulty([1.0, value, 2.0])), name)
    assert caught.value.code in ("mesh-not-finite", "mesh-line")


def many_triangles() -> FootMesh:
    return FootMesh(sample_mesh().vertices_mm, np.tile([[0, 1, 2]], (200_001, 1)))


@pytest.mark.parametrize("kind", ["obj", "binary stl", "text ply", "little ply"])
def test_too_many_triangles_are_refused(kind):
    name, write = FILES[kind]
    with pytest.raises(FootError, match=r"200,?000|200001") as caught:
        read_mesh(write(many_triangles()), name)
    assert caught.value.code == "mesh-triangles"


def test_a_header_that_promises_more_than_the_file_holds_takes_no_memory():
    head = b"ply\nformat binary_little_endian 1.0\nelement vertex 19999999\nproperty double x\n"
    head += b"property double y\nproperty double z\nelement face 2\n"
    head += b"property list uchar int vertex_indices\nend_header\n"
    with pytest.raises(FootError) as caught:
        read_mesh(head + b"\0" * 100, "a.ply")
    assert caught.value.code == "mesh-truncated"
    stl = b"x" * 80 + struct.pack("<I", 150_000) + b"\0" * 50
    with pytest.raises(FootError, match="says 150000 triangles but holds 1") as caught:
        read_mesh(stl, "a.stl")
    assert caught.value.code == "mesh-truncated"


def test_a_file_past_20_mb_or_of_another_kind_is_refused():
    with pytest.raises(FootError, match="20 MB"):
        read_mesh(b"v 0 0 0\n" * 2_600_000, "a.obj")
    with pytest.raises(FootError, match="OBJ, STL or PLY"):
        read_mesh(b"glTF", "a.glb")


def test_a_binary_stl_may_begin_with_the_word_solid():
    mesh = read_mesh(stl_bytes(sample_mesh(), b"solid foot"), "a.stl")
    assert len(mesh.triangles) == len(sample_mesh().triangles)


def test_a_ply_with_quads_other_lists_and_other_elements_is_read():
    head = b"ply\nformat binary_big_endian 1.0\nelement edge 1\nproperty list uchar int ends\n"
    head += b"element vertex 4\nproperty double z\nproperty double y\nproperty double x\n"
    head += b"element face 1\nproperty list uchar float uv\n"
    head += b"property list uchar uint vertex_index\nproperty uchar kept\nend_header\n"
    body = struct.pack(">Bii", 2, 0, 1)
    for x, y, z in ((0, 0, 5), (1, 0, 5), (1, 1, 5), (0, 1, 5)):
        body += struct.pack(">ddd", z, y, x)
    body += struct.pack(">BffBIIIIB", 2, 0.5, 0.5, 4, 0, 1, 2, 3, 9)
    mesh = read_mesh(head + body, "a.ply", unit_mm=10.0)
    assert mesh.triangles.tolist() == [[0, 1, 2], [0, 2, 3]]
    assert mesh.vertices_mm[2].tolist() == [10.0, 10.0, 50.0]


def test_equal_points_are_made_one_and_useless_triangles_left_out():
    text = b"v 9 9 9\nv 0 0 0\nv 1 0 0\nv 0 1 0\nv -0.0 0 0\nv 1 0 0\nv 0 0 1\n"
    mesh = read_mesh(text + b"f 2 3 4\nf 5 7 6\nf 2 5 3\n", "a.obj")
    assert mesh.triangles.tolist() == [[0, 1, 2], [0, 3, 1]]
    assert len(mesh.vertices_mm) == 4  # the stray first point is gone too
