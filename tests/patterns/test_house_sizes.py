from dataclasses import replace

import pytest

from patterns.errors import FootError
from patterns.foot import Foot, LevelGirth
from patterns.house_sizes import FITTED, graded_foot, nearest_sizes
from tests.patterns.samples_feet import mesh_foot, sample_foot


@pytest.mark.external
def test_the_ball_grades_by_nine_sixteenths_of_the_length_step():
    # Source: "The Manufacture of Boots and Shoes", Chapman & Hall 1902, girth grading: sizes 1 to
    # 10 add 1/3 inch of length and 3/16 inch of ball girth a size; 4 9/16 inches become 6 1/4.
    inch = 25.4 / 2  # half of a person's foot: dolls' feet end at 160 mm
    size_1 = Foot("size 1", {"foot_length": 13 / 3 * inch, "ball_girth": (4 + 9 / 16) * inch})
    size_10 = graded_foot(size_1, length_step_mm=inch / 3, girth_step_mm=3 / 16 * inch, steps=9)
    assert size_10.measures_mm["ball_girth"] == pytest.approx(6.25 * inch, abs=1e-3)
    # Source: the same handbook prints child 10 as 7 1/3 inches long.
    assert size_10.measures_mm["foot_length"] == pytest.approx(22 / 3 * inch, abs=1e-3)


def test_grading_up_and_down_again_is_the_same_foot():
    up = graded_foot(sample_foot(), length_step_mm=5.0, girth_step_mm=2.8, steps=2)
    share = up.measures_mm["ball_girth"] / sample_foot().measures_mm["ball_girth"]
    down = graded_foot(up, length_step_mm=5.0, girth_step_mm=2.8, steps=-2)
    assert share > 1
    for key, value in sample_foot().measures_mm.items():
        assert down.measures_mm[key] == pytest.approx(value, abs=1e-3), key


def test_levels_of_the_leg_are_graded_with_it():
    foot = replace(sample_foot(), level_girths=(LevelGirth(90.0, 95.0),), knee_clearance_mm=110.0)
    up = graded_foot(foot, length_step_mm=7.5, girth_step_mm=0.0, steps=1)
    assert up.level_girths[0].height_mm == pytest.approx(99.0)
    assert up.level_girths[0].girth_mm == pytest.approx(95.0)
    assert up.knee_clearance_mm == pytest.approx(121.0)


def test_a_foot_known_by_its_surface_cannot_be_graded():
    with pytest.raises(FootError, match="mesh"):
        graded_foot(mesh_foot(), length_step_mm=5.0, girth_step_mm=2.8, steps=1)


def test_so_many_steps_down_that_nothing_is_left_are_refused():
    with pytest.raises(FootError) as refused:
        graded_foot(sample_foot(), length_step_mm=5.0, girth_step_mm=2.8, steps=-20)
    assert refused.value.field


def test_the_nearest_size_comes_first_with_its_differences():
    sizes = [
        graded_foot(sample_foot(), length_step_mm=5.0, girth_step_mm=2.8, steps=k, name=str(k))
        for k in (-2, -1, 1, 2)
    ]
    customer = replace(
        sample_foot(), measures_mm={**sample_foot().measures_mm, "foot_length": 79.0}
    )
    fits = nearest_sizes(customer, sizes)
    assert fits[0].size == "1"
    differences = dict(fits[0].differences_mm)
    assert set(differences) == set(FITTED)
    assert differences["foot_length"] == pytest.approx(-1.0)
    assert [fit.most_mm for fit in fits] == sorted(fit.most_mm for fit in fits)
