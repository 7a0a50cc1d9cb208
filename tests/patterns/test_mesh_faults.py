import json

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from samples_feet import plausible_measures

from patterns.errors import FootError
from patterns.exchange.foot_file import foot_from_document
from patterns.foot import Foot
from patterns.last.build import last_from_measures
from patterns.last.solid import closed_triangles
from patterns.mesh_in import FootMesh, check_mesh, is_inside_out, openings, recognise
from tests.samples_meshes import (
    FEET,
    joined,
    leg_mesh,
    mirrored,
    obj_bytes,
    sample_mesh,
    stl_bytes,
    transformed,
    without,
)

TURNS = {
    "upside down": [[1, 0, 0], [0, -1, 0], [0, 0, -1]],
    "side": [[1, 0, 0], [0, 0, -1], [0, 1, 0]],
    "other side": [[1, 0, 0], [0, 0, 1], [0, -1, 0]],
    "backwards": [[-1, 0, 0], [0, -1, 0], [0, 0, 1]],
    "sideways": [[0, -1, 0], [1, 0, 0], [0, 0, 1]],
    "heel down": [[0, 0, -1], [0, 1, 0], [1, 0, 0]],
    "y up": [[0, 1, 0], [0, 0, 1], [1, 0, 0]],
}


def fault_of(mesh: FootMesh, length: float = 75.0) -> FootError:
    with pytest.raises(FootError) as caught:
        check_mesh(mesh, length)
    assert caught.value.field in ("mesh", "mesh_unit")
    return caught.value


@pytest.mark.parametrize("mesh", [sample_mesh, leg_mesh, lambda: mirrored(sample_mesh())])
def test_a_sound_foot_in_place_passes(mesh):
    check_mesh(mesh(), 75.0)


@pytest.mark.parametrize("height", [45.0, 60.0, 85.0])
def test_a_leg_cut_open_above_the_ankle_passes(height):
    check_mesh(without(sample_mesh(), lambda m: m[:, 2] > height), 75.0)
    check_mesh(without(sample_mesh(), lambda m: m[:, 2] + 0.3 * m[:, 0] > height), 75.0)


def test_a_foot_cut_below_the_ankle_is_refused():
    assert fault_of(without(sample_mesh(), lambda m: m[:, 2] > 24.0)).code == "mesh-low"


@pytest.mark.parametrize(
    ("place", "size"),
    [((40.0, 0.0, 0.0), 5.0), ((70.0, 0.0, 5.0), 5.0), ((0.0, 0.0, 10.0), 6.0), ((5, 8, 60.0), 5)],
)
def test_a_hole_anywhere_but_at_the_leg_s_cut_is_told_with_its_size(place, size):
    nearest = sample_mesh().points_mm
    middle = nearest[np.linalg.norm(nearest - place, axis=1).argmin()]
    holed = without(sample_mesh(), lambda m: np.linalg.norm(m - middle, axis=1) < size)
    fault = fault_of(holed)
    assert fault.code == "mesh-open"
    assert 0.5 * size < fault.parameters["across_mm"] < 5 * size
    assert f"{fault.parameters['across_mm']:.1f} mm across" in fault.text


def test_a_small_hole_beside_an_open_leg_is_told_too():
    cut = without(sample_mesh(), lambda m: m[:, 2] > 90.0)
    middle = cut.points_mm[np.linalg.norm(cut.points_mm - [20, 0, 50], axis=1).argmin()]
    holed = without(cut, lambda m: np.linalg.norm(m - middle, axis=1) < 4.0)
    assert len(openings(holed)) == 2
    assert fault_of(holed).code == "mesh-open"


def test_edges_of_three_triangles_are_told():
    mesh = sample_mesh()
    a, b, _ = mesh.triangles[100]
    wall = np.vstack([mesh.triangles, [[b, a, int(mesh.triangles[900, 0])]]])
    fault = fault_of(FootMesh(mesh.vertices_mm, wall))
    assert fault.code == "mesh-non-manifold"
    doubled = np.vstack([mesh.triangles, mesh.triangles[:7]])
    assert fault_of(FootMesh(mesh.vertices_mm, doubled)).code == "mesh-non-manifold"


@pytest.mark.parametrize("picked", [[7], list(range(40, 90))])
def test_triangles_that_face_the_other_way_are_counted(picked):
    corners = sample_mesh().triangles.copy()
    corners[picked] = corners[picked, ::-1]
    fault = fault_of(FootMesh(sample_mesh().vertices_mm, corners))
    assert (fault.code, fault.parameters["triangles"]) == ("mesh-mixed-facing", len(picked))


@pytest.mark.parametrize("cut", [200.0, 70.0])
def test_a_foot_inside_out_is_told_open_or_closed(cut):
    mesh = without(sample_mesh(), lambda m: m[:, 2] > cut)
    turned = FootMesh(mesh.vertices_mm, mesh.triangles[:, ::-1])
    assert (is_inside_out(mesh), is_inside_out(turned)) == (False, True)
    assert fault_of(turned).code == "mesh-inside-out"


def test_two_feet_in_one_mesh_are_told():
    other = transformed(mirrored(sample_mesh()), move=(0.0, 60.0, 0.0))
    assert fault_of(joined(sample_mesh(), other)).code == "mesh-two-feet"
    smaller = transformed(sample_mesh(), 0.8 * np.eye(3), (0.0, 60.0, 0.0))
    assert fault_of(joined(sample_mesh(), smaller)).code == "mesh-two-feet"


def test_a_stray_part_is_told_but_a_nail_inside_the_foot_may_stay():
    crumb = transformed(sample_mesh(), 0.05 * np.eye(3), (30.0, 80.0, 5.0))
    assert fault_of(joined(sample_mesh(), crumb)).code == "mesh-parts"
    nail = transformed(sample_mesh(), 0.05 * np.eye(3), (60.0, -8.0, 4.0))
    check_mesh(joined(sample_mesh(), nail), 75.0)


@pytest.mark.parametrize("mesh", [sample_mesh, leg_mesh])
@pytest.mark.parametrize(
    ("turn", "code", "toes", "up"),
    [
        ("upside down", "mesh-upside-down", "+x", "-z"),
        ("side", "mesh-on-its-side", "+x", "-y"),
        ("other side", "mesh-on-its-side", "+x", "+y"),
        ("backwards", "mesh-wrong-way", "-x", "+z"),
        ("sideways", "mesh-wrong-way", "+y", "+z"),
        ("heel down", "mesh-on-its-back", "+z", "-x"),
        ("y up", "mesh-on-its-back", "+z", "+y"),
    ],
)
def test_a_foot_that_lies_another_way_is_told_with_its_axes(mesh, turn, code, toes, up):
    matrix = np.array(TURNS[turn], dtype=float)
    toe, upward = matrix @ [1, 0, 0], matrix @ [0, 0, 1]
    words = ["xyz"[int(abs(v).argmax())] for v in (toe, upward)]
    signs = ["+" if v[abs(v).argmax()] > 0 else "-" for v in (toe, upward)]
    seen = [sign + word for sign, word in zip(signs, words, strict=True)]
    fault = fault_of(transformed(mesh(), matrix))
    assert [fault.parameters["toe_axis"], fault.parameters["up_axis"]] == seen
    assert (fault.code, seen) == (code, [toes, up])
    assert f"toes point along {toes} and up is {up}" in fault.text


def test_two_axes_swapped_are_told_as_mirrored():
    swapped = transformed(sample_mesh(), [[0, 1, 0], [1, 0, 0], [0, 0, 1]])
    fault = fault_of(swapped)
    assert fault.code == "mesh-wrong-way"
    assert "two axes are swapped" in fault.text


@pytest.mark.parametrize(("unit", "size"), [("m", 1000.0), ("in", 25.4), ("cm", 10.0)])
@pytest.mark.parametrize("mesh", [sample_mesh, leg_mesh])
def test_another_unit_is_named(mesh, unit, size):
    fault = fault_of(transformed(mesh(), np.eye(3) / size))
    assert (fault.field, fault.code, fault.parameters["unit"]) == ("mesh_unit", "mesh-unit", unit)


@pytest.mark.parametrize(
    ("move", "code"),
    [
        ((9.0, 0, 0), "mesh-place"),
        ((0, 0, -9.0), "mesh-place"),
        ((0, 30.0, 0), "mesh-aside"),
    ],
)
def test_a_foot_out_of_place_is_told(move, code):
    assert fault_of(transformed(sample_mesh(), move=move)).code == code


def test_another_foot_s_mesh_and_a_foot_swung_aside_are_told():
    assert fault_of(sample_mesh(), 60.0).code == "mesh-scale"
    c, s = np.cos(np.radians(20)), np.sin(np.radians(20))
    swung = transformed(sample_mesh(), [[c, -s, 0], [s, c, 0], [0, 0, 1]])
    heel = swung.points_mm[swung.points_mm[:, 2] < 22, 0].min()
    assert fault_of(transformed(swung, move=(-heel, -9.0, 0))).code in ("mesh-swung", "mesh-scale")


BOX = [[x, y, z] for x in (0, 75) for y in (-15, 15) for z in (0, 60)]
SIDES = [[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1], [2, 3, 7], [2, 7, 6],
         [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]]  # fmt: skip


def test_a_box_of_a_foot_s_size_is_no_foot():
    assert fault_of(FootMesh(BOX, SIDES)).code == "mesh-no-foot"


@pytest.mark.parametrize("squeeze", [(1, 1, 0), (1, 0, 0), (0, 0, 0), (0, 1, 1)])
def test_a_mesh_without_a_body_is_refused(squeeze):
    fault = fault_of(FootMesh(sample_mesh().vertices_mm * squeeze, sample_mesh().triangles))
    assert fault.code in ("mesh-scale", "mesh-no-foot", "mesh-low")


@settings(deadline=None, max_examples=20)
@given(measures=plausible_measures(), top=st.floats(0.7, 1.6))
def test_feet_of_any_proportion_and_raise_are_taken_for_feet(measures, top):
    length = measures["foot_length"]
    try:
        last = last_from_measures(Foot("drawn", measures), top_mm=top * length)
    except FootError:
        assume(False)
    mesh = FootMesh(*closed_triangles(last))
    check_mesh(mesh, length)
    assert recognise(mesh, length).is_upright


def document(**changes) -> dict:
    return json.loads((FEET / "sample_foot.json").read_text(encoding="utf-8")) | changes


def test_a_foot_file_takes_stl_bytes_and_the_unit_metre():
    foot = foot_from_document(
        document(mesh="foot.stl", mesh_unit="m"),
        mesh_content=stl_bytes(transformed(sample_mesh(), np.eye(3) / 1000)),
    )
    assert foot.mesh is not None
    assert foot.mesh.points_mm[:, 0].max() == pytest.approx(75.0, abs=1e-4)


def test_a_foot_file_whose_mesh_is_in_another_unit_than_it_says_is_refused():
    with pytest.raises(FootError, match="inches") as caught:
        foot_from_document(
            document(mesh_unit="cm"),
            mesh_content=obj_bytes(transformed(sample_mesh(), np.eye(3) / 25.4)),
        )
    assert caught.value.field == "mesh_unit"
