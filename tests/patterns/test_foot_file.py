import copy
import re

import pytest
from samples_feet import FEET, document, sample_foot, traced_foot

from patterns.errors import FootError
from patterns.exchange.foot_file import (
    document_from_foot,
    foot_from_document,
    mesh_name,
    tracing_from_csv,
    tracing_from_json,
)


def plain() -> dict:
    read = copy.deepcopy(document("sample_foot.json"))
    del read["mesh"], read["mesh_unit"]
    return read


def test_the_sample_file_is_read_and_its_notes_passed_over():
    foot = foot_from_document(plain())
    assert (foot.name, foot.foot_side, foot.foot_length_mm) == ("sample foot", "left", 75.0)


def test_a_foot_comes_back_from_its_own_document():
    for foot in (sample_foot(), traced_foot()):
        assert foot_from_document(document_from_foot(foot)) == foot


def test_level_girths_and_knee_clearance_come_back_too():
    given = plain() | {"level_girths": [{"height_mm": 90.0, "girth_mm": 107.0}],
                       "knee_clearance_mm": 118.0}  # fmt: skip
    foot = foot_from_document(given)
    assert (foot.level_girths[0].girth_mm, foot.knee_clearance_mm) == (107.0, 118.0)
    assert foot_from_document(document_from_foot(foot)) == foot


def test_the_foot_side_may_be_left_out():
    assert foot_from_document({"measures": {"foot_length": 75.0}}).foot_side == "left"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"unit": "inch"}, "unit"),
        ({"foot_side": "both"}, "foot_side"),
        ({"measures": [75]}, "measures"),
        ({"measures": {}}, "measures.foot_length"),
        ({"measures": {"foot_length": "75"}}, "measures.foot_length"),
        ({"measures": {"foot_length": float("nan")}}, "measures.foot_length"),
        ({"measures": {"foot_length": float("inf")}}, "measures.foot_length"),
        ({"measures": {"foot_length": 1e9}}, "measures.foot_length"),
        ({"measures": {"foot_length": -75}}, "measures.foot_length"),
        ({"measures": {"foot_length": True}}, "measures.foot_length"),
        ({"measures": {"foot_length": 75, "shoe": 3}}, "measures.shoe"),
        ({"level_girths": [{"height_mm": 30}]}, "level_girths.0.girth_mm"),
        ({"knee_clearance_mm": "high"}, "knee_clearance_mm"),
        ({"sole_outline": [[0, 1], [2]]}, "sole_outline.1"),
        ({"sole_outline": [[0, 1], [2, None]]}, "sole_outline.1"),
        ({"name": 5}, "name"),
        ({"mesh": "../secret.obj"}, "mesh"),
        ({"mesh": "/etc/foot.obj"}, "mesh"),
        ({"mesh": "a\\\\b.obj"}, "mesh"),
        ({"mesh": "foot.stl"}, "mesh"),
        ({"mesh": ""}, "mesh"),
        ({"mesh": "foot.obj"}, "mesh"),
        ({"mesh": "foot.obj", "mesh_unit": "yd"}, "mesh_unit"),
    ],
)
def test_a_faulty_foot_file_is_refused_by_its_dotted_field(change, field):
    with pytest.raises(FootError) as caught:
        foot_from_document(plain() | change)
    assert caught.value.field == field
    assert "\n" not in str(caught.value)


def test_a_mesh_in_another_unit_is_brought_to_millimetres():
    text = (FEET / "sample_foot.obj").read_text(encoding="utf-8")
    shorter = re.sub(r"(-?\d+\.\d+)", lambda found: repr(float(found[1]) / 10), text)
    foot = foot_from_document(document("sample_foot.json") | {"mesh_unit": "cm"}, mesh_text=shorter)
    assert max(z for _, _, z in foot.mesh.vertices_mm) == pytest.approx(101.25)
    assert mesh_name(document("sample_foot.json")) == "sample_foot.obj"


def test_a_tracing_is_read_from_csv_and_from_json():
    curves = tracing_from_csv((FEET / "tracing.csv").read_text(encoding="utf-8"))
    assert curves["sole_outline"] == traced_foot().sole_outline_mm
    assert curves["side_profile"] == traced_foot().side_profile_mm
    both = tracing_from_json((FEET / "tracing.json").read_text(encoding="utf-8"))
    assert both == curves
    assert set(tracing_from_csv("curve,x,y\nsole_outline,1,2\n")) == {"sole_outline"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x,y\n1,2\n", "Line 1"),
        ("curve,x,y\nsole_outline,1,2\nsole_outline,1\n", "Line 3"),
        ("curve,x,y\nsole_outline,1,two\n", "Line 2"),
        ("curve,x,y\nsole_outline,1,nan\n", "Line 2"),
        ("curve,x,y\nsole_outline,1,1e9\n", "Line 2"),
        ("curve,x,y\ntop,1,2\n", "Line 2"),
        ("curve,x,y\n" + "sole_outline,1,2\n" * 5001, "5000"),
        ("curve,x,y\n", "no points"),
    ],
)
def test_a_faulty_tracing_is_refused_by_its_line(text, words):
    with pytest.raises(FootError, match=words):
        tracing_from_csv(text)


@pytest.mark.parametrize("text", ["{", "[]", '{"unit": "in"}', "{}", '{"sole_outline": [1]}',
                                  '{"sole_outline": [[0, NaN]]}', "[" * 100_000])  # fmt: skip
def test_a_faulty_json_tracing_is_refused(text):
    with pytest.raises(FootError):
        tracing_from_json(text)
