"""A last measures what was asked, by our own tape and by one that knows nothing of lasts."""

from random import Random

import pytest

from patterns.errors import FootError
from patterns.exchange.foot_file import foot_from_document
from patterns.foot import MEASURE_KEYS, Foot, LevelGirth
from patterns.last import build_last, measure_last
from patterns.mesh_in import FootMesh, measure_mesh
from tests.patterns.random_feet import random_feet, random_foot, with_leg
from tests.patterns.samples_feet import document, sample_foot, sample_measures

SLANT = "heel_instep_girth"
# Percent, from the figures the engine has to reach: usual sets, odd sets; the slanting girth apart.
USUAL, USUAL_SLANT = 0.02, 0.5
ODD, ODD_SLANT = 2.0, 2.0


def residuals(foot: Foot) -> dict[str, float]:
    return {entry.name: abs(entry.residual_percent) for entry in build_last(foot).measures}


def test_sample_foot_is_rebuilt():
    found = residuals(sample_foot())
    assert set(found) == set(MEASURE_KEYS)
    assert max(found.values()) < USUAL


@pytest.mark.parametrize("foot", random_feet(15), ids=lambda foot: foot.name)
def test_usual_feet_are_rebuilt(foot):
    found = residuals(foot)
    assert found.pop(SLANT) < USUAL_SLANT
    assert max(found.values()) < USUAL


@pytest.mark.parametrize("foot", random_feet(10, odd=True), ids=lambda foot: foot.name)
def test_odd_feet_are_rebuilt_within_the_wider_limit(foot):
    found = residuals(foot)
    assert found.pop(SLANT) < ODD_SLANT
    assert max(found.values()) < ODD


@pytest.mark.parametrize("foot", random_feet(5, seed=7), ids=lambda foot: foot.name)
def test_measures_taken_as_on_any_mesh_agree(foot):
    last = build_last(foot)
    mesh = FootMesh(last.points_mm, last.triangles)
    calf = foot.measures_mm["calf_height"] * (1 - 1e-9)
    found = measure_mesh(mesh, foot.foot_length_mm, calf_height_mm=calf)
    for key, asked in foot.measures_mm.items():
        if key == "ankle_height":  # by definition looked for in steps of 0.01 of the length
            assert found[key] == pytest.approx(asked, abs=0.0051 * foot.foot_length_mm)
        else:
            assert found[key] == pytest.approx(asked, rel=1e-3, abs=1e-9), key


def test_last_measured_again_gives_the_measures_it_reports():
    last = build_last(sample_foot())
    found = measure_last(last, calf_height_mm=sample_measures()["calf_height"])
    for entry in last.measures:
        assert found[entry.name] == pytest.approx(entry.built_mm, rel=1e-9, abs=1e-9), entry.name


def test_level_girths_up_to_the_knee_are_rebuilt():
    foot = with_leg(random_foot(Random(3)), Random(4), count=6)
    last = build_last(foot)
    named = {entry.name: entry for entry in last.measures}
    assert [name for name in named if name.startswith("level_girth")] == [
        f"level_girth {k}" for k in range(1, 7)
    ]
    assert all(abs(entry.residual_percent) < USUAL for entry in named.values())
    assert last.top_mm == pytest.approx(foot.level_girths[-1].height_mm)


def test_last_keeps_its_girth_above_the_highest_one_known():
    last = build_last(sample_foot(), top_mm=120.0)
    assert last.top_mm == pytest.approx(120.0)
    measures = sample_measures()
    high = measure_last(last, calf_height_mm=119.0)["calf_girth"]
    assert high == pytest.approx(measures["calf_girth"], rel=1e-6)


def test_last_ends_at_the_height_asked_and_still_reports_all_measures():
    last = build_last(sample_foot(), top_mm=50.0)
    assert last.top_mm == pytest.approx(50.0)
    assert max(abs(entry.residual_percent) for entry in last.measures) < USUAL


def test_missing_measures_are_marked_and_given_ones_met():
    last = build_last(Foot("few", {"foot_length": 60.0, "ball_girth": 63.0, "ankle_girth": 44.0}))
    given = {entry.name for entry in last.measures if not entry.inferred}
    assert given == {"foot_length", "ball_girth", "ankle_girth"}
    assert all(abs(e.residual_percent) < USUAL for e in last.measures if not e.inferred)


def test_any_single_measure_can_be_left_out():
    for left_out in MEASURE_KEYS[1:]:
        kept = {key: value for key, value in sample_measures().items() if key != left_out}
        found = build_last(Foot("but one", kept)).measures
        assert max(abs(e.residual_percent) for e in found if not e.inferred) < 0.1, left_out


def test_level_girth_below_the_ankle_girth_is_refused_by_name():
    foot = Foot("slip", sample_measures(), level_girths=(LevelGirth(46.0, 55.0),))
    with pytest.raises(FootError, match="smallest of the leg") as caught:
        build_last(foot)
    assert caught.value.field == "level_girths"
    assert caught.value.code == "level-below-ankle"


def test_two_girths_for_one_height_are_refused():
    foot = Foot("slip", sample_measures(), level_girths=(LevelGirth(75.0, 99.0),))
    with pytest.raises(FootError, match="cannot both be right"):
        build_last(foot)


def test_set_that_no_foot_has_is_refused_naming_the_pair():
    slip = sample_measures() | {"heel_instep_girth": 82.5}  # the sample has 99.8
    with pytest.raises(FootError, match=r"Heel-instep girth .* instep height") as caught:
        build_last(Foot("slip", slip))
    assert caught.value.code == "measures-unreachable"
    assert caught.value.field == "measures.heel_instep_girth"
    assert caught.value.parameters["other"] == "instep_height"


def test_level_girths_of_the_sample_leg_are_rebuilt():
    # Source: sample_leg.obj (CC0), measured by its own definitions; the lowest lies below the
    # ankle, where the leg comes out of the foot.
    girths = {30.0: 68.291, 45.0: 62.697, 60.0: 74.756, 90.0: 107.074, 105.0: 117.813,
              120.0: 120.895, 135.0: 117.09, 150.0: 116.133, 165.0: 122.052}  # fmt: skip
    levels = tuple(LevelGirth(height, girth) for height, girth in girths.items())
    last = build_last(Foot("leg", sample_measures(), level_girths=levels))
    assert len(last.measures) == len(MEASURE_KEYS) + len(levels)
    assert max(abs(entry.residual_percent) for entry in last.measures) < USUAL


def test_foot_file_without_a_mesh_is_rebuilt():
    foot = foot_from_document(document("measures_only.json"))
    assert max(abs(e.residual_percent) for e in build_last(foot).measures if not e.inferred) < 0.1
