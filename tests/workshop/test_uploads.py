"""The one way in for files: bounded first, parsed elsewhere, and told by line what is wrong."""

import json
import os
import subprocess
import time
from types import SimpleNamespace

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from workshop import uploads
from workshop.library_file import COLUMNS, MEASURES
from workshop.upload_reader import answer_of
from workshop.uploads import UploadError, held, hold, let_go, read_bytes, read_upload

SQUARE = b"curve,x,y\nsole_outline,0,0\nsole_outline,75,0\nsole_outline,75,30\nsole_outline,0,30\n"


@pytest.fixture
def read_here(monkeypatch):
    """Do what the child does, but here: some tests below show that the child says the same."""

    def run(command, *, input, **_options):
        *_program, reader, options = command
        answer = json.dumps(answer_of(reader, input, json.loads(options)))
        return SimpleNamespace(returncode=0, stdout=answer)

    stand_in = SimpleNamespace(run=run, TimeoutExpired=subprocess.TimeoutExpired)
    monkeypatch.setattr(uploads, "subprocess", stand_in)


def said(data, name="file.csv", what="tracing"):
    """Return everything an unusable file is refused with."""
    with pytest.raises(UploadError) as caught:
        read_upload(SimpleUploadedFile(name, data), what)
    return " ".join(caught.value.messages)


def test_the_measures_of_a_file_are_the_cores_in_order():
    from patterns.foot import MEASURE_KEYS

    assert MEASURES == MEASURE_KEYS


def test_a_tracing_is_read_from_a_table():
    points = read_bytes(SQUARE, "tracing-csv")["sole_outline"]
    assert points == [[0, 0], [75, 0], [75, 30], [0, 30]]


def test_semicolons_and_decimal_commas_of_a_spreadsheet_are_read():
    table = b"\xef\xbb\xbfcurve;x;y\r\nsole_outline;0;0\r\nsole_outline;75,5;0\r\nsole_outline;0;30"
    assert read_bytes(table, "tracing-csv")["sole_outline"][1] == [75.5, 0]


BAD_TRACINGS = [
    (b"", "empty"),
    (b"   \n", "empty"),
    (b"a,b\n1,2\n", "Line 1"),
    (SQUARE + b"sole_outline,seven,1\n", "Line 6"),
    (SQUARE + b"sole_outline,nan,1\n", "Line 6"),
    (SQUARE + b"sole_outline,1e300,1\n", "Line 6"),
    (SQUARE + b"toe,1,1\n", "Line 6"),
    (SQUARE + b"sole_outline,1\n", "Line 6"),
    (b"curve,x,y\n", "no points"),
    (b"curve,x,y\nsole_outline,0,\xff\xfe0\n", "Line 2"),
    (b"curve,x,y\nsole_outline,0,\x000\n", "Line 2"),
    (b"curve,x,y\n" + b"sole_outline,1,2\n" * 5001, "5000 points"),
    (b'curve,x,y\nsole_outline,0,"' + b"9" * 200_000, "Line"),
    (b"\x89PNG\r\n\x1a\n\x00\x00", "UTF-8"),
]


@pytest.mark.parametrize(("data", "words"), BAD_TRACINGS)
@pytest.mark.usefixtures("read_here")
def test_a_table_that_cannot_be_read_says_where(data, words):
    assert words in said(data)


BAD_JSON = [
    (b"{", "line 1"),
    (b'{"sole_outline": [[0, 0],\n[75, 0]', "line 2"),
    (b"[" * 100_000, "deeper"),
    (b'{"a": ' * 5000, "deeper"),
    (b'{"sole_outline": [[NaN, 0]]}', "NaN"),
    (b'{"sole_outline": [[Infinity, 0]]}', "Infinity"),
    (b'{"unit": "mm", "unit": "mm"}', "twice"),
    (b'{"sole_outline": 5}', "sole_outline"),
    (b"null", "object"),
    (b"\xff\xfe{\x00}\x00", "UTF-8"),
    (b'{"x": "\x00"}', "NUL"),
    (b'{"x": ' + b"9" * 4000 + b"}", "digits"),
]


@pytest.mark.parametrize(("data", "words"), BAD_JSON)
@pytest.mark.usefixtures("read_here")
def test_json_that_cannot_be_read_says_where(data, words):
    assert words in said(data, "file.json")


@pytest.mark.parametrize(
    ("data", "words", "name"),
    [
        (*BAD_TRACINGS[3], "file.csv"),
        (*BAD_TRACINGS[9], "file.csv"),
        (*BAD_TRACINGS[11], "file.csv"),
        (*BAD_JSON[2], "file.json"),
        (*BAD_JSON[4], "file.json"),
    ],
    ids=["not a number", "no text", "too many", "too deep", "NaN"],
)
def test_the_child_says_the_same_of_a_file_it_cannot_read(data, words, name):
    assert words in said(data, name)


@pytest.mark.parametrize("name", ["foot.exe", "foot", "foot.csv.zip", "", "../../etc/passwd"])
def test_another_kind_of_file_is_refused_by_name(name):
    assert "no .csv, .json, .svg or .dxf file" in said(SQUARE, name or "x")


def test_a_file_over_the_limit_is_refused_unread(settings):
    settings.UPLOAD_MAX_BYTES = 10
    assert "larger than" in said(SQUARE)


def test_a_file_over_the_limit_is_dropped_while_it_comes_in(owner_client, doll, settings):
    settings.UPLOAD_MAX_BYTES = 100_000
    big = SimpleUploadedFile("big.csv", b"curve,x,y\n" + b"0" * 300_000)
    answer = owner_client.post(
        f"/dolls/{doll.pk}/feet/new/",
        {"foot_side": "left", "foot_length": "75", "reason": "x", "tracing_file": big},
    )
    assert answer.status_code == 200
    assert "larger than" in answer.content.decode()


def test_too_many_rows_are_refused_with_the_line():
    table = ",".join(COLUMNS[:3]) + "\n" + "customer,C-0001,A\n" * 100_001
    assert "Line 100002: More than 100000 records" in said(table.encode(), what="library")


def test_a_child_that_runs_away_is_ended(monkeypatch):
    monkeypatch.setattr(uploads, "SECONDS_MOST", 0.01)
    assert "more than 0.01 seconds" in said(SQUARE)


def test_a_child_that_dies_is_told_plainly(monkeypatch):
    monkeypatch.setattr(uploads.sys, "executable", "/bin/false")
    assert "could not be read" in said(SQUARE)


def test_the_child_sees_no_secret_of_the_page(monkeypatch, tmp_path):
    program = tmp_path / "tell"
    program.write_text('#!/bin/sh\ncat > /dev/null\nprintf \'{"value": "%s"}\' "$SECRET_KEY"\n')
    program.chmod(0o755)
    monkeypatch.setenv("SECRET_KEY", "hush")
    monkeypatch.setattr(uploads.sys, "executable", str(program))
    assert read_bytes(b"", "tracing-csv") == ""


def test_the_reader_binds_its_memory():
    import sys

    code = (
        "from workshop.upload_reader import bind_process, READERS, answer_of\n"
        "bind_process()\n"
        "READERS['greedy'] = lambda data, options: bytearray(2 * 1024**3)\n"
        "print(answer_of('greedy', b'', {})['faults'][0]['code'])\n"
        "import sys; print('django' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["unreadable", "False"]


@pytest.fixture
def holding(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path / "imports"


def test_what_is_held_comes_back_to_its_owner_alone(holding):
    token = hold({"a": 1}, purpose="tracing", user_id=1)
    assert held(token, purpose="tracing", user_id=1) == {"a": 1}
    assert held(token, purpose="tracing", user_id=2) is None
    assert held(token, purpose="library", user_id=1) is None
    assert held("../../x", purpose="tracing", user_id=1) is None
    assert held("", purpose="tracing", user_id=1) is None
    let_go(token)
    assert held(token, purpose="tracing", user_id=1) is None


def test_what_is_held_expires_and_is_cleared_away(holding):
    token = hold([1], purpose="tracing", user_id=1)
    old = time.time() - uploads.HELD_SECONDS - 1
    for path in holding.iterdir():
        os.utime(path, (old, old))
    assert held(token, purpose="tracing", user_id=1) is None
    hold([2], purpose="tracing", user_id=1)
    assert [json.loads(path.read_text())["value"] for path in holding.iterdir()] == [[2]]


def test_what_is_held_is_readable_by_the_app_alone(holding):
    token = hold([1], purpose="tracing", user_id=1)
    (path,) = holding.iterdir()
    assert path.stat().st_mode & 0o077 == 0
    assert token not in path.name
