"""A last's surface: closed round, facing outward, nowhere folded or crossing itself."""

import numpy as np
import pytest
import trimesh

from patterns.foot import Foot
from patterns.last import Last, build_last, measure_last, wrapped
from tests.patterns.random_feet import random_feet
from tests.patterns.samples_feet import sample_foot, sample_measures

FEET = [*random_feet(6, seed=11), *random_feet(6, seed=12, odd=True)]


@pytest.fixture(scope="module", params=FEET, ids=lambda foot: foot.name)
def last(request):
    return build_last(request.param)


def mesh_of(last: Last) -> trimesh.Trimesh:
    return trimesh.Trimesh(last.points_mm, last.triangles, process=False)


def crossing_sections(last: Last) -> int:
    """Return how many pairs of sections cross, seen from the side; each a straight line."""
    half = last.turn_count // 2
    a, b = (last.grid_mm[1:, turn][:, [0, 2]] for turn in (0, half))

    def side(p, q, r):
        return (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1]) - (q[..., 1] - p[..., 1]) * (
            r[..., 0] - p[..., 0]
        )

    a1, b1, a2, b2 = a[:, None], b[:, None], a[None], b[None]
    apart = side(a1, b1, a2) * side(a1, b1, b2) < 0
    return int((apart & (side(a2, b2, a1) * side(a2, b2, b1) < 0)).sum()) // 2


def test_surface_is_sound(last):
    mesh = mesh_of(last)
    assert mesh.is_winding_consistent
    assert mesh.area_faces.min() > 1e-7 * last.foot_length_mm**2
    rim = trimesh.grouping.group_rows(mesh.edges_sorted, require_count=1)
    assert len(rim) == last.turn_count  # open at the top alone
    assert crossing_sections(last) == 0


def test_surface_faces_outward(last):
    mesh = mesh_of(last)
    top = last.grid_mm[-1].mean(axis=0)
    lid = mesh.vertices[mesh.faces] - top  # seen from the top's middle the flat lid adds nothing
    volume = np.einsum("ij,ij->i", lid[:, 0], np.cross(lid[:, 1], lid[:, 2])).sum() / 6
    assert volume > 0.05 * last.foot_length_mm**3


def test_sections_lie_on_planes_and_turn_about_the_ankle(last):
    upright = last.grid_mm[1 : last.instep_station + 1, :, 0]
    level = last.grid_mm[last.ankle_station :, :, 2]
    tiny = 1e-9 * last.foot_length_mm
    assert np.ptp(upright, axis=1).max() < tiny
    assert np.ptp(level, axis=1).max() < tiny
    half = last.turn_count // 2
    for ring in last.grid_mm[last.instep_station : last.ankle_station]:
        span = ring[half] - ring[0]
        normal = np.cross(span, [0.0, 1.0, 0.0]) / np.linalg.norm(span)
        assert np.abs((ring - ring[0]) @ normal).max() < tiny


@pytest.mark.external
@pytest.mark.parametrize("foot", FEET[:4], ids=lambda foot: foot.name)
def test_girths_agree_with_trimesh_sections(foot):
    # Source: trimesh 5.2.0, Trimesh.section and scipy's convex hull of its vertices.
    last = build_last(foot)
    mesh, length = mesh_of(last), foot.foot_length_mm
    built = {entry.name: entry.built_mm for entry in last.measures}
    cuts = {
        "instep_girth": ([0.5 * length - 1e-6, 0, 0], [1, 0, 0]),
        "ankle_girth": ([0, 0, built["ankle_height"]], [0, 0, 1]),
        "calf_girth": ([0, 0, built["calf_height"] - 1e-6], [0, 0, 1]),
    }
    for key, (origin, normal) in cuts.items():
        points = mesh.section(plane_origin=origin, plane_normal=normal).vertices
        flat = points[:, [1, 2]] if normal[0] else points[:, [0, 1]]
        hull = trimesh.path.polygons.Polygon(flat).convex_hull
        assert hull.length == pytest.approx(built[key], rel=1e-5), key


@pytest.mark.parametrize("factor", [0.5, 1.0 / 3.0, 1.7])
def test_scaling_all_measures_scales_the_grid(factor):
    small = {key: factor * value for key, value in sample_measures().items()}
    one, other = build_last(sample_foot()), build_last(Foot("scaled", small))
    assert np.abs(factor * one.grid_mm - other.grid_mm).max() < 1e-6 * factor


def test_right_foot_is_the_mirror_image():
    left = build_last(sample_foot())
    right = build_last(Foot("right", sample_measures(), foot_side="right"))
    assert right.lateral_sign == -1
    assert np.array_equal(right.grid_mm, left.grid_mm * [1, -1, 1])
    assert mesh_of(right).volume == pytest.approx(mesh_of(left).volume)
    assert measure_last(right) == pytest.approx(measure_last(left))
    wide = wrapped(right, 1.0).grid_mm * [1, -1, 1]
    assert np.allclose(wide, wrapped(left, 1.0).grid_mm, atol=1e-12)


def test_same_foot_gives_the_same_last():
    assert np.array_equal(build_last(sample_foot()).grid_mm, build_last(sample_foot()).grid_mm)
