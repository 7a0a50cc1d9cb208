"""The draft command takes meshes of every kind, tells their faults and writes the last out."""

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from django.core.management import call_command

from patterns.mesh_in import FootMesh, check_mesh, read_mesh
from tests.samples_meshes import joined, obj_bytes, ply_bytes, sample_mesh, stl_bytes, transformed

FEET = Path(__file__).resolve().parents[1] / "data" / "feet"


@pytest.fixture
def feet(tmp_path):
    for name in ("sample_foot.json", "sample_foot.obj"):
        shutil.copy(FEET / name, tmp_path / name)
    return tmp_path


def draft(folder: Path, **options: object) -> Path:
    out = folder / "pieces.json"
    foot = str(folder / "sample_foot.json")
    call_command("draft", foot, style="lace-up-ankle-boot", out=str(out), **options)
    return out


def with_mesh(folder: Path, name: str, content: bytes) -> None:
    document = json.loads((folder / "sample_foot.json").read_text(encoding="utf-8"))
    (folder / "sample_foot.json").write_text(json.dumps(document | {"mesh": name}))
    (folder / name).write_bytes(content)


def test_lasts_of_both_feet_and_their_cards_are_written(feet):
    names = {"last": "left.stl", "last_other": "right.obj", "cards": "cards.pdf"}
    paths = {option: feet / name for option, name in names.items()}
    with_mesh(feet, "foot.stl", stl_bytes(sample_mesh()))
    options = {option: str(path) for option, path in paths.items()}
    assert draft(feet, date="2026-01-02", last_wrap="0.4", **options).exists()
    left = read_mesh(paths["last"].read_bytes(), "left.stl")
    right = read_mesh(paths["last_other"].read_bytes(), "right.obj")
    check_mesh(left, float(np.ptp(left.points_mm[:, 0][left.points_mm[:, 2] < 22.5])))
    assert (
        np.abs(left.points_mm.max(axis=0) - (right.points_mm * [1, -1, 1]).max(axis=0)).max() < 1e-3
    )
    assert b"wrap of 0.40 mm included" in paths["last"].read_bytes()[:80]
    assert paths["cards"].read_bytes().startswith(b"%PDF")


def upside_down() -> FootMesh:
    return transformed(sample_mesh(), [[1, 0, 0], [0, -1, 0], [0, 0, -1]], (0, 0, 101.25))


def flipped() -> FootMesh:
    corners = sample_mesh().triangles.copy()
    corners[5] = corners[5, ::-1]
    return FootMesh(sample_mesh().vertices_mm, corners)


def open_sole() -> FootMesh:
    low = sample_mesh().corners_mm[..., 2].max(axis=1) < 1.0
    return FootMesh(sample_mesh().vertices_mm, sample_mesh().triangles[~low])


def walled() -> FootMesh:
    doubled = np.vstack([sample_mesh().triangles, sample_mesh().triangles[:1]])
    return FootMesh(sample_mesh().vertices_mm, doubled)


FAULTS = {
    "in metres": (
        "a.obj",
        lambda: obj_bytes(transformed(sample_mesh(), np.eye(3) / 1000)),
        "metres",
    ),
    "in inches": (
        "a.stl",
        lambda: stl_bytes(transformed(sample_mesh(), np.eye(3) / 25.4)),
        "inches",
    ),
    "two feet": (
        "a.ply",
        lambda: ply_bytes(joined(sample_mesh(), transformed(sample_mesh(), move=(0, 70, 0)))),
        "both feet",
    ),
    "on its side": (
        "a.obj",
        lambda: obj_bytes(transformed(sample_mesh(), [[1, 0, 0], [0, 0, -1], [0, 1, 0]])),
        "lies on its side",
    ),
    "upside down": ("a.obj", lambda: obj_bytes(upside_down()), "upside down"),
    "flipped": ("a.obj", lambda: obj_bytes(flipped()), "face the other way"),
    "open": ("a.obj", lambda: obj_bytes(open_sole()), "hole"),
    "walled": ("a.obj", lambda: obj_bytes(walled()), "three or more triangles"),
    "cut short": ("a.stl", lambda: stl_bytes(sample_mesh())[:5000], "cut short"),
    "no mesh": ("a.ply", lambda: b"hello", "PLY"),
    "empty": ("a.obj", lambda: b"", "empty"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_faulty_mesh_is_told_in_one_line_and_nothing_is_written(feet, capsys, name):
    file_name, content, words = FAULTS[name]
    with_mesh(feet, file_name, content())
    with pytest.raises(SystemExit) as stopped:
        draft(feet, last=str(feet / "last.stl"))
    said = capsys.readouterr().err
    assert stopped.value.code == 2
    assert said.startswith(("mesh: ", "mesh_unit: "))
    assert words in said
    assert said.count("\n") == 1
    assert {p.name for p in feet.iterdir()} <= {"sample_foot.json", "sample_foot.obj", file_name}


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"last": "last.3mf"}, "--last "),
        ({"last_other": "last"}, "--last-other"),
        ({"last": "last.stl", "last_wrap": "nan"}, "--last-wrap"),
        ({"cards": "c.pdf", "card_thickness": "thick"}, "--card-thickness"),
        ({"cards": "c.pdf", "card_spacing": "1.5"}, "spacing_mm"),
    ],
)
def test_options_that_cannot_be_followed_are_named(feet, capsys, options, words):
    paths = {k: str(feet / v) if k in ("last", "last_other", "cards") else v
             for k, v in options.items()}  # fmt: skip
    with pytest.raises(SystemExit) as stopped:
        draft(feet, **paths)
    assert stopped.value.code == 2
    assert words in capsys.readouterr().err
    assert {p.name for p in feet.iterdir()} == {"sample_foot.json", "sample_foot.obj"}
