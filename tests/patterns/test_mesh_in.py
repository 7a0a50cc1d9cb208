import numpy as np
import pytest
from samples_feet import mesh_foot

from patterns.errors import FootError
from patterns.foot import Foot
from patterns.mesh_in import FootMesh, mesh_leg_top_mm, read_obj
from patterns.projection import shape_of_foot
from patterns.projection.shape import split_profile

BOX = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nf 1 2 3 4\n"


def test_polygons_are_fanned_and_the_unit_is_applied():
    mesh = read_obj(BOX, unit_mm=10.0)
    assert mesh.triangles.tolist() == [[0, 1, 2], [0, 2, 3]]
    assert mesh.vertices_mm[2].tolist() == [10.0, 10.0, 0.0]


def test_indices_may_count_back_and_carry_textures():
    mesh = read_obj(BOX.replace("f 1 2 3 4", "f -4/1 -3/2/1 -2//3"))
    assert mesh.triangles.tolist() == [[0, 1, 2]]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("v 0 0 nan\n", "line 1"),
        ("v 0 0\n", "line 1"),
        ("v 0 0 1e9\n", "line 1"),
        (BOX + "f 1 2 9\n", "line 6"),
        (BOX + "f 1 2\n", "line 6"),
        (BOX + "f a b c\n", "line 6"),
        ("v 0 0 0\n", "no triangles"),
        ("", "no triangles"),
    ],
)
def test_a_mesh_that_cannot_be_read_is_refused_by_line(text, words):
    with pytest.raises(FootError, match=words) as caught:
        read_obj(text)
    assert caught.value.field == "mesh"


def test_a_mesh_of_too_many_triangles_is_refused():
    with pytest.raises(FootError, match="200000 triangles"):
        read_obj(BOX + "f 1 2 3\n" * 200_000)


def moved(by: tuple[float, float, float], scale: float = 1.0) -> FootMesh:
    mesh = mesh_foot().mesh
    return FootMesh(scale * mesh.vertices_mm + np.array(by), mesh.triangles)


@pytest.mark.parametrize(
    ("mesh", "code"),
    [
        (moved((9.0, 0, 0)), "mesh-place"),
        (moved((0, 0, 9.0)), "mesh-place"),
        (moved((0, 0, 0), 0.1), "mesh-unit"),
        (moved((0, 0, 0), 1.2), "mesh-scale"),
    ],
)
def test_a_mesh_out_of_place_or_scale_is_refused(mesh, code):
    with pytest.raises(FootError) as caught:
        shape_of_foot(Foot("moved", {"foot_length": 75.0}, mesh=mesh))
    assert caught.value.code == code


def test_the_leg_is_known_up_to_an_open_rim_or_its_very_top():
    assert mesh_leg_top_mm(mesh_foot().mesh) == pytest.approx(101.25)  # the sample is closed
    mesh = mesh_foot().mesh
    sides = mesh.triangles[mesh.corners_mm[:, :, 2].min(axis=1) < 80.0]  # its upper end cut off
    rim = mesh_leg_top_mm(FootMesh(mesh.vertices_mm, sides))
    assert 78.0 < rim < 101.0


def test_a_leg_cut_off_slantwise_is_used_only_where_it_is_whole():
    shape = shape_of_foot(mesh_foot())
    assert 80.0 < shape.top_mm < 101.25
    assert shape.depth_at(shape.top_mm) > 0.9 * shape.depth_at(0.95 * shape.top_mm)
    slant = [(75.0, 3.0), (37.0, 20.0), (24.0, 40.0), (24.0, 80.0), (0.0, 60.0), (0.0, 1.0)]
    front, back = split_profile(slant, 75.0, 0.0, 80.0)
    assert front[-1][1] == back[0][1] < 62.0
