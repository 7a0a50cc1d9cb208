import json
import subprocess
import sys
from io import StringIO
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pytest
from django.core.management import call_command

from tests.samples_layouts import NEST_FILES, sample_document
from tests.verify_layout import check

SAMPLE = str(NEST_FILES / "remnant_300x200.json")
MANAGE = str(Path(__file__).parents[2] / "manage.py")


def nest(*arguments: str) -> tuple[int, str]:
    """Return exit status and standard error of the command."""
    err = StringIO()
    try:
        call_command("nest", *arguments, stdout=StringIO(), stderr=err, no_color=True)
    except SystemExit as end:
        return int(end.code or 0), err.getvalue()
    return 0, err.getvalue()


def test_the_same_file_seed_and_steps_give_the_same_bytes(tmp_path):
    outs = [tmp_path / "one.json", tmp_path / "two.json"]
    assert nest(SAMPLE, "--steps", "3", "--seed", "4", "--out", str(outs[0])) == (0, "")
    # The second in a process of its own, as a script would run it.
    command = [sys.executable, MANAGE, "nest", SAMPLE, "--steps", "3", "--seed", "4", "--out"]
    done = subprocess.run([*command, str(outs[1])], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")
    assert outs[0].read_bytes() == outs[1].read_bytes()
    layout = json.loads(outs[0].read_bytes())
    assert check(sample_document("remnant_300x200"), layout)["errors"] == []
    assert (layout["seed"], layout["steps"]) == (4, 3)


def test_seconds_give_a_valid_layout_and_a_drawing(tmp_path):
    out, svg = tmp_path / "layout.json", tmp_path / "layout.svg"
    dxf = tmp_path / "layout.dxf"
    arguments = ("--seconds", "0.5", "--seed", "1", "--out", str(out), "--svg", str(svg))
    arguments += ("--dxf", str(dxf))
    assert nest(SAMPLE, *arguments) == (0, "")
    answer = check(sample_document("remnant_300x200"), json.loads(out.read_bytes()))
    assert answer["errors"] == []
    assert ElementTree.fromstring(svg.read_bytes()).tag == "{http://www.w3.org/2000/svg}svg"
    drawn = ezdxf.readfile(dxf).modelspace().query("LWPOLYLINE")
    placed = json.loads(out.read_text())["placed"]
    assert sum(entity.dxf.layer == "CUT" for entity in drawn) == placed


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"spacing_mm": -1}, "spacing_mm"),
        ({"spacing_mm": 1e9}, "spacing_mm"),
        ({"pieces": []}, "pieces"),
        ({"container": {"outer": [[0, 0], [9, 9], [9, 0], [0, 9]]}}, "container.outer"),
        ({"container": {"outer": [[0, 0], [9, 0], [0, 9]]}}, "does not fit hide hide"),
    ],
)
def test_a_bad_file_ends_with_one_line_and_no_output(tmp_path, change, words):
    source, out = tmp_path / "bad.json", tmp_path / "out.json"
    source.write_text(json.dumps({**sample_document("remnant_300x200"), **change}))
    status, err = nest(str(source), "--steps", "1", "--seed", "1", "--out", str(out))
    assert status == 2
    assert words in err
    assert len(err.strip().splitlines()) == 1
    assert not out.exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--steps", "0"), "steps"),
        (("--steps", "many"), "--steps"),
        (("--seconds", "nan"), "--seconds"),
        (("--seconds", "-2"), "seconds"),
        (("--seconds", "1", "--steps", "1"), "--seconds"),
    ],
)
def test_a_bad_option_ends_with_one_line_and_no_output(tmp_path, options, words):
    out = tmp_path / "out.json"
    status, err = nest(SAMPLE, "--seed", "1", "--out", str(out), *options)
    assert status == 2
    assert words in err
    assert len(err.strip().splitlines()) == 1
    assert not out.exists()


def test_a_missing_file_and_a_bad_seed_end_with_one_line(tmp_path):
    out = str(tmp_path / "out.json")
    for arguments in (
        (str(tmp_path / "none.json"), "--seed", "1"),
        (SAMPLE, "--seed", "x"),
        (SAMPLE, "--seed", "-1"),
    ):
        status, err = nest(*arguments, "--steps", "1", "--out", out)
        assert status == 2
        assert len(err.strip().splitlines()) == 1
