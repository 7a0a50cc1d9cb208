import pytest
from hypothesis import given, settings
from samples_feet import mesh_foot, plausible_measures, sample_measures

from patterns.foot import MEASURE_KEYS, Foot, foot_problems
from patterns.measures import complete_measures
from patterns.mesh_in import measure_mesh


def test_a_bare_foot_gets_the_sample_foots_proportions():
    completed = complete_measures(Foot("bare", {"foot_length": 75.0}))
    for key, value in sample_measures().items():
        assert completed.values_mm[key] == pytest.approx(value, rel=1e-3, abs=1e-9)
    assert completed.inferred == frozenset(MEASURE_KEYS) - {"foot_length"}
    assert completed.most_helpful == "instep_height"


def test_a_broader_ball_gives_a_larger_ball_girth():
    slim = complete_measures(Foot("slim", {"foot_length": 75.0, "ball_width": 28.0}))
    broad = complete_measures(Foot("broad", {"foot_length": 75.0, "ball_width": 36.0}))
    assert broad.values_mm["ball_girth"] / slim.values_mm["ball_girth"] == pytest.approx(36 / 28)


def test_nothing_is_inferred_where_all_is_given():
    completed = complete_measures(Foot("sample", sample_measures()))
    assert (completed.inferred, completed.most_helpful) == (frozenset(), None)


@given(plausible_measures())
@settings(max_examples=150, deadline=None)
def test_inferred_measures_never_contradict_the_given_ones(measures):
    if foot_problems("foot", measures):
        return
    completed = complete_measures(Foot("foot", measures))
    assert foot_problems("foot", completed.values_mm) == []
    assert all(completed.values_mm[key] == value for key, value in measures.items())


def test_a_mesh_stands_for_what_was_typed():
    foot = mesh_foot()
    typed = Foot("typed", {"foot_length": 75.0, "ankle_girth": 70.0}, mesh=foot.mesh)
    found = complete_measures(typed).values_mm
    assert found["ankle_girth"] == pytest.approx(61.297, abs=0.01)


def test_measures_on_the_sample_mesh_are_those_in_its_file():
    measured = measure_mesh(mesh_foot().mesh, 75.0)
    for key, value in sample_measures().items():
        assert measured[key] == pytest.approx(value, abs=0.01), key
