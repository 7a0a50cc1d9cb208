import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.errors import FootError
from patterns.mesh.pose import right_angle_turns
from patterns.mesh_in import MESH_UNITS_MM, placed, recognise
from tests.samples_meshes import leg_mesh, mirrored, sample_mesh, transformed

MESHES = {"foot": sample_mesh, "leg": leg_mesh}


def test_there_are_24_turns_and_none_mirrors():
    turns = right_angle_turns()
    assert len(set(turns)) == 24
    assert {round(float(np.linalg.det(turn))) for turn in turns} == {1}


@pytest.mark.parametrize("name", MESHES)
@pytest.mark.parametrize("turn", right_angle_turns())
def test_each_way_of_lying_is_recognised_and_undone(name, turn):
    mesh = MESHES[name]()
    lying = transformed(mesh, np.array(turn).T, (31.0, -12.0, 55.0))
    pose = recognise(lying)
    assert pose.turn == turn
    assert pose.confidence > 0.5
    assert np.abs(placed(lying, pose).vertices_mm - mesh.vertices_mm).max() < 1e-6


@pytest.mark.parametrize("name", MESHES)
@pytest.mark.parametrize("unit", MESH_UNITS_MM)
@pytest.mark.parametrize("length", [None, 75.0])
def test_the_unit_is_recognised(name, unit, length):
    mesh = MESHES[name]()
    pose = recognise(transformed(mesh, np.eye(3) / MESH_UNITS_MM[unit]), length)
    assert pose.unit == unit
    # 75 mm is 2.95 inches, and 2.95 cm would be a foot too, if a small one.
    assert pose.unit_sure == (unit != "in" or length is not None)
    assert pose.foot_length_mm == pytest.approx(75.0)
    assert pose.is_upright


def test_a_length_two_units_allow_is_said_to_be_unsure_until_the_foot_length_is_known():
    mesh = transformed(sample_mesh(), np.eye(3) * 5.0 / 75.0)  # 5: 50 mm in cm, 127 mm in inches
    pose = recognise(mesh)
    assert (pose.unit, pose.unit_sure) == ("cm", False)
    assert "Another unit" in pose.words[0]
    known = recognise(mesh, 127.0)
    assert (known.unit, known.unit_sure) == ("in", True)


@settings(deadline=None, max_examples=30)
@given(degrees=st.floats(-28, 28), scale=st.floats(0.4, 2.0))
def test_a_foot_set_askew_is_swung_straight(degrees, scale):
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    askew = transformed(sample_mesh(), scale * np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]]))
    pose = recognise(askew)
    if abs(degrees) > 6:
        assert pose.swing_deg == pytest.approx(-degrees, abs=4.0)
        assert any("swung" in word for word in pose.words)
    again = recognise(placed(askew, pose))
    assert again.is_upright
    assert abs(again.swing_deg) < 4.0
    assert again.foot_length_mm == pytest.approx(75.0 * scale, rel=0.02)


def test_left_and_right_are_seen_by_the_toes():
    assert recognise(sample_mesh()).foot_side_seen == "left"
    assert recognise(mirrored(sample_mesh())).foot_side_seen == "right"


def test_the_words_name_unit_length_axes_and_foot():
    lying = transformed(leg_mesh(), [[0, 0.1, 0], [0, 0, 0.1], [0.1, 0, 0]])
    words = " ".join(recognise(lying).words)
    for part in ("centimetres", "75.0 mm", "toes point along +z", "up is +y", "left foot"):
        assert part in words


@pytest.mark.parametrize(("scale", "length"), [(1.0, 40.0), (7.0, None)])
def test_a_length_that_fits_no_unit_is_refused(scale, length):
    with pytest.raises(FootError) as caught:
        recognise(transformed(sample_mesh(), scale * np.eye(3)), length)
    assert caught.value.code == "mesh-scale"
