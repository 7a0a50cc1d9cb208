import math

import pytest
from samples_feet import sample_measures

from patterns.errors import FootError
from patterns.foot import MEASURE_KEYS, MEASURES, Foot, LevelGirth, foot_problems


def fields(measures, **more):
    return [problem.field for problem in foot_problems("foot", measures, **more)]


def test_the_sample_foot_has_no_problems_and_thirteen_measures_are_known():
    assert foot_problems("sample", sample_measures()) == []
    assert len(MEASURE_KEYS) == 13
    assert all(measure.help_text.endswith(".") for measure in MEASURES)


@pytest.mark.parametrize("length", [24.9, 160.1, 0, -75, math.nan, math.inf, "75", True])
def test_a_foot_length_that_cannot_be_drawn_is_refused(length):
    assert fields({"foot_length": length}) == ["measures.foot_length"]


@pytest.mark.parametrize("length", [25, 160])
def test_the_ends_of_the_range_of_lengths_are_taken(length):
    assert fields({"foot_length": length}) == []


def test_the_foot_length_is_always_needed():
    assert foot_problems("foot", {})[0].code == "foot-length-missing"


IMPOSSIBLE = [
    ("ball_girth", {"ball_width": 31.8, "ball_girth": 63.6}, ("31.8", "63.6")),
    ("instep_girth", {"instep_height": 20.0, "instep_girth": 40.0}, ("20", "40")),
    ("heel_instep_girth", {"instep_girth": 72.0, "heel_instep_girth": 71.0}, ("72", "71")),
    ("heel_instep_girth", {"instep_height": 20.0, "heel_instep_girth": 79.0}, ("79.8", "79")),
    ("ankle_height", {"instep_height": 25.0, "ankle_height": 24.0}, ("25", "24")),
    ("calf_height", {"ankle_height": 41.0, "calf_height": 40.0}, ("41", "40")),
    ("instep_height", {"toe_height": 15.0, "instep_height": 14.0}, ("15", "14")),
    ("calf_girth", {"ankle_girth": 61.0, "calf_girth": 55.0}, ("61", "55")),
    ("ankle_height", {"heel_raise": 30.0, "ankle_height": 29.0}, ("30", "29")),
    ("instep_height", {"heel_raise": 40.0, "instep_height": 18.0}, ("18.6", "18")),
    ("ball_width", {"ball_width": 76.0}, ("76", "67.5")),
]


@pytest.mark.parametrize(("key", "measures", "numbers"), IMPOSSIBLE)
def test_measures_no_foot_can_have_together_are_told_with_both_numbers(key, measures, numbers):
    with pytest.raises(FootError) as caught:
        Foot("foot", {"foot_length": 75.0, **measures})
    assert caught.value.field == f"measures.{key}"
    assert all(number in str(caught.value) for number in numbers)


def test_all_problems_are_told_at_once():
    measures = {"foot_length": 75.0, "ball_width": 32.0, "ball_girth": 60.0, "ankle_height": 80.0,
                "calf_height": 70.0}  # fmt: skip
    assert fields(measures) == ["measures.ball_girth", "measures.calf_height"]


def test_an_unknown_measure_a_side_and_a_name_are_told():
    assert fields({"foot_length": 75.0, "shoe_size": 3.0}) == ["measures.shoe_size"]
    assert fields({"foot_length": 75.0}, foot_side="both") == ["foot_side"]
    assert [p.field for p in foot_problems(" ", {"foot_length": 75.0})] == ["name"]


def test_level_girths_and_knee_clearance_are_checked():
    bad = (LevelGirth(30.0, math.nan), LevelGirth(-1.0, 60.0))
    assert fields({"foot_length": 75.0}, level_girths=bad) == [
        "level_girths.0.girth_mm",
        "level_girths.1.height_mm",
    ]
    assert fields({"foot_length": 75.0, "ankle_height": 41.0}, knee_clearance_mm=40.0) == [
        "knee_clearance_mm"
    ]


SQUARE = ((0.0, -15.0), (75.0, -15.0), (75.0, 15.0), (0.0, 15.0))
BOW = ((0.0, -15.0), (75.0, 15.0), (75.0, -15.0), (0.0, 15.0))
PROFILE = ((75.0, 3.0), (37.0, 20.0), (24.0, 60.0), (2.0, 60.0), (0.0, 2.0))


@pytest.mark.parametrize(
    ("outline", "code"),
    [
        (BOW, "tracing-crosses"),
        (SQUARE[:2], "tracing-points"),
        (tuple((x * 1.06, y) for x, y in SQUARE), "tracing-size"),
        (tuple((x, y / 100) for x, y in SQUARE), "tracing-thin"),
        (((0.0, math.nan), *SQUARE[1:]), "tracing-number"),
        (tuple((75 * k / 5001, float(k % 2)) for k in range(5001)), "tracing-points"),
    ],
)
def test_an_outline_that_cannot_be_used_is_refused(outline, code):
    problems = foot_problems("foot", {"foot_length": 75.0}, sole_outline_mm=outline)
    assert [(p.field, p.code) for p in problems] == [("sole_outline", code)]


def test_a_profile_must_run_from_toe_to_heel_and_up_the_leg():
    good = {"foot_length": 75.0}
    assert foot_problems("foot", good, side_profile_mm=PROFILE) == []
    backwards = foot_problems("foot", good, side_profile_mm=PROFILE[::-1])
    low = foot_problems("foot", good, side_profile_mm=tuple((x, z / 3) for x, z in PROFILE))
    assert [p.code for p in (*backwards, *low)] == ["tracing-direction", "tracing-low"]
