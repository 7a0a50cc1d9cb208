import io
from dataclasses import replace

import numpy as np
import pytest
from samples_feet import sample_foot

from patterns.last import build_last, wrapped
from patterns.last.last import Last
from patterns.last.solid import closed_triangles, last_obj, last_stl, last_words, mirrored_last
from patterns.mesh_in import check_mesh, read_mesh

WRAP_MM = 1.2


@pytest.fixture(scope="module")
def bare() -> Last:
    return build_last(sample_foot(), top_mm=75.0)


def forms(bare: Last) -> dict[str, Last]:
    thick = wrapped(bare, WRAP_MM)
    return {
        "bare": bare,
        "wrapped": thick,
        "other foot": mirrored_last(bare),
        "other foot wrapped": mirrored_last(thick),
    }


NAMES = ("bare", "wrapped", "other foot", "other foot wrapped")


@pytest.mark.external
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("write", "kind"), [(last_stl, "stl"), (last_obj, "obj")])
def test_files_are_watertight_and_face_outwards_by_a_reference_library(bare, name, write, kind):
    # Source: trimesh 5.2, is_watertight, is_winding_consistent and volume.
    trimesh = pytest.importorskip("trimesh")
    last = forms(bare)[name]
    mesh = trimesh.load(io.BytesIO(write(last)), file_type=kind, process=True)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    points, triangles = closed_triangles(last)
    corners = points[triangles]
    volume = np.linalg.det(corners).sum() / 6
    assert mesh.volume == pytest.approx(volume, rel=1e-4)
    assert volume > 0
    assert mesh.bounds == pytest.approx(
        np.array([points.min(axis=0), points.max(axis=0)]), abs=1e-3
    )


@pytest.mark.parametrize("name", NAMES)
def test_our_own_reader_finds_no_fault_in_what_goes_out(bare, name):
    last = forms(bare)[name]
    mesh = read_mesh(last_stl(last), "last.stl")
    assert len(mesh.triangles) == len(last.triangles) + last.turn_count
    if last.thickness_mm == 0.0:
        check_mesh(mesh, last.foot_length_mm)


def test_the_top_is_flat_and_at_the_asked_height(bare):
    points, triangles = closed_triangles(bare)
    cap = triangles[-bare.turn_count :]
    assert np.ptp(points[cap][..., 2]) < 1e-9
    assert points[-1, 2] == pytest.approx(75.0)


def test_left_and_right_are_mirror_images_with_the_outer_side_outside(bare):
    other = mirrored_last(bare)
    assert other.lateral_sign == -bare.lateral_sign
    assert np.array_equal(other.points_mm * [1, -1, 1], bare.points_mm)
    volumes = [np.linalg.det(p[t]).sum() for p, t in map(closed_triangles, (bare, other))]
    assert volumes[0] == pytest.approx(volumes[1], rel=1e-12)
    assert np.array_equal(mirrored_last(other).grid_mm, bare.grid_mm)


def test_files_say_unit_foot_and_whether_the_wrap_is_in(bare):
    assert last_words(bare) == "last left foot 75.0 mm; unit mm; bare, no wrap"
    thick = mirrored_last(wrapped(bare, WRAP_MM))
    words = "last right foot 75.0 mm; unit mm; wrap of 1.20 mm included"
    assert last_words(thick) == words
    assert last_stl(thick)[:80].decode().strip() == words
    assert last_obj(thick).decode().startswith(f"# {words}\n")
    assert not last_stl(thick).lower().startswith(b"solid")  # or it would pass for text


def test_the_same_last_gives_the_same_bytes(bare):
    assert last_stl(bare) == last_stl(replace(bare))
    assert last_obj(bare) == last_obj(replace(bare))
