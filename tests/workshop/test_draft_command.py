import json
import shutil
from pathlib import Path

import pytest
from django.core.management import call_command

FEET = Path(__file__).resolve().parents[1] / "data" / "feet"
STYLE = "lace-up-ankle-boot"


@pytest.fixture
def feet(tmp_path):
    for name in ("sample_foot.json", "sample_foot.obj", "measures_only.json", "tracing.json"):
        shutil.copy(FEET / name, tmp_path / name)
    return tmp_path


def draft(folder, foot="measures_only.json", out="pieces.json", **options):
    call_command("draft", str(folder / foot), style=STYLE, out=str(folder / out), **options)
    return folder / out


@pytest.mark.parametrize("foot", ["sample_foot.json", "measures_only.json", "tracing.json"])
def test_the_same_foot_gives_the_same_bytes(feet, foot):
    first = draft(feet, foot, "first.json").read_bytes()
    assert draft(feet, foot, "second.json").read_bytes() == first
    assert json.loads(first)["style"] == STYLE


def test_drawings_are_written_beside_and_are_the_same_each_time(feet):
    kinds = ("svg", "dxf", "pdf")
    for turn in ("a", "b"):
        draft(feet, **{kind: str(feet / f"{turn}.{kind}") for kind in kinds}, date="2026-01-02")
    for kind in kinds:
        first, second = ((feet / f"{turn}.{kind}").read_bytes() for turn in ("a", "b"))
        assert first == second
        assert len(first) > 2000


def test_a_parameter_is_set(feet):
    path = draft(feet, set=["lining=no", "eyelet_count=2"])
    document = json.loads(path.read_text())
    assert document["parameters"]["lining"] is False
    assert [len(p["holes"]) for p in document["pieces"] if p["holes"]] == [2, 2]


def test_styles_and_their_parameters_are_listed(capsys):
    call_command("draft", list=True)
    out = capsys.readouterr().out
    assert f"{STYLE}:" in out
    assert "eyelet_pitch_mm: Least eyelet distance, 8 mm (3 to 30)" in out
    assert "boot_height_mm: Boot height, 1.3 x ankle_height mm (8 to 400)" in out


@pytest.mark.parametrize(
    ("change", "options", "words"),
    [
        ({"measures": {"foot_length": 75, "ball_width": 32, "ball_girth": 60}}, {}, "ball_girth"),
        ({"measures": {"foot_length": 500}}, {}, "measures.foot_length"),
        ({"mesh": "../x.obj"}, {}, "mesh"),
        ({"mesh": "missing.obj"}, {}, "missing.obj"),
        ({}, {"set": ["toe_line_pct=99"]}, "parameters.toe_line_pct"),
        ({}, {"set": ["boot_height_mm=nan"]}, "parameters.boot_height_mm"),
        ({}, {"set": ["lining"]}, "KEY=VALUE"),
        ({}, {"pdf": "x.pdf", "date": "soon"}, "--date"),
    ],
)
def test_bad_input_is_one_line_exit_2_and_no_file(feet, capsys, change, options, words):
    foot = json.loads((feet / "measures_only.json").read_text()) | change
    (feet / "bad.json").write_text(json.dumps(foot))
    with pytest.raises(SystemExit) as caught:
        draft(feet, "bad.json", **options)
    error = capsys.readouterr().err
    assert caught.value.code == 2
    assert words in error
    assert len(error.strip().splitlines()) == 1
    assert not (feet / "pieces.json").exists()


@pytest.mark.parametrize("text", ["", "[1]", "{", '{"measures": {"foot_length": NaN}}'])
def test_a_file_that_is_no_foot_is_refused(feet, capsys, text):
    (feet / "bad.json").write_text(text)
    with pytest.raises(SystemExit) as caught:
        draft(feet, "bad.json")
    assert caught.value.code == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1


def test_an_unknown_style_is_refused_by_name(feet, capsys):
    with pytest.raises(SystemExit):
        call_command("draft", str(feet / "tracing.json"), style="clog", out=str(feet / "x.json"))
    assert 'no style "clog"' in capsys.readouterr().err


@pytest.mark.parametrize("place", ["name", "mesh"])
def test_half_of_a_letter_in_a_file_is_one_line_and_no_file(tmp_path, capsys, place):
    foot = {"name": "a", "measures": {"foot_length": 75.0}, place: "\ud800.obj"}
    given, made = tmp_path / "foot.json", tmp_path / "pieces.json"
    given.write_text(json.dumps(foot))
    with pytest.raises(SystemExit) as ended:
        call_command("draft", str(given), style="lace-up-ankle-boot", out=str(made))
    told = capsys.readouterr().err
    assert ended.value.code == 2
    assert told.count("\n") == 1
    assert "half of a letter" in told
    assert not made.exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"svg": "pieces.json"}, "two outputs"),
        ({"svg": "a.svg", "dxf": "./a.svg"}, "two outputs"),
        ({"svg": "measures_only.json"}, "was read"),
    ],
)
def test_no_output_takes_the_place_of_another_or_of_the_foot(feet, capsys, options, words):
    before = {path.name: path.read_bytes() for path in feet.iterdir()}
    given = {kind: f"{feet}/{name}" for kind, name in options.items()}
    with pytest.raises(SystemExit) as caught:
        draft(feet, **given)
    error = capsys.readouterr().err
    assert caught.value.code == 2
    assert words in error
    assert error.count("\n") == 1
    assert {path.name: path.read_bytes() for path in feet.iterdir()} == before


def test_more_eyelets_than_have_room_are_refused_by_the_command(feet, capsys):
    with pytest.raises(SystemExit) as caught:
        draft(feet, set=["eyelet_count=30"])
    assert caught.value.code == 2
    assert capsys.readouterr().err.startswith("parameters.eyelet_count: 30 eyelets")
    assert not (feet / "pieces.json").exists()
