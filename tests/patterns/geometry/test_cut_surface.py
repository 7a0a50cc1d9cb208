import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.errors import PatternError
from patterns.geometry.cut_surface import cut_surface
from patterns.geometry.surface import (
    Surface,
    edges_of,
    euler_number,
    half_edges,
    part_of,
    side_of,
    triangle_areas_mm2,
)
from tests.patterns.geometry.surfaces import bumpy_ball, tube_ring

# A curve: a plane that sways in and out, anywhere through a shape of some 20 mm.
CURVE = st.tuples(
    st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1), st.floats(-12, 12), st.floats(0, 6)
)
CURVES = st.lists(CURVE, min_size=1, max_size=4)
SHAPES = st.one_of(st.integers(0, 50).map(bumpy_ball), st.just(tube_ring()))
SHAPE_SETTINGS = settings(max_examples=60, deadline=None)


def curve_values(points, curve):
    x, y, z, level, sway = curve
    return points @ np.array([x, y, z]) - level + sway * np.sin(points[:, 0] / 4.0)


def cut_all(surface, curves, **options):
    for number, curve in enumerate(curves):
        values = curve_values(surface.points_mm, curve)
        surface = cut_surface(surface, f"curve {number}", values, **options)
    return surface


def straddling(surface, name):
    corners = surface.curves[name][surface.triangles]
    return int(((corners.max(axis=1) > 0) & (corners.min(axis=1) < 0)).sum())


def area(surface):
    return float(triangle_areas_mm2(surface.points_mm, surface.triangles).sum())


@SHAPE_SETTINGS
@given(SHAPES, CURVES)
def test_no_triangle_lies_on_both_sides_of_any_curve_cut_so_far(shape, curves):
    cut = cut_all(shape, curves)
    assert [straddling(cut, name) for name in cut.curves] == [0] * len(curves)


@SHAPE_SETTINGS
@given(SHAPES, CURVES)
def test_cutting_keeps_the_surface_whole(shape, curves):
    cut = cut_all(shape, curves)
    sides = half_edges(cut.triangles)
    assert euler_number(cut.triangles) == euler_number(shape.triangles)
    assert len(np.unique(cut.triangles)) == cut.point_count
    open_before = int((half_edges(shape.triangles).twin < 0).sum())
    assert (open_before > 0) == bool((sides.twin < 0).any())


@SHAPE_SETTINGS
@given(SHAPES, CURVES)
def test_triangles_keep_their_turn_and_some_area(shape, curves):
    cut = cut_all(shape, curves)
    a, b, c = (cut.points_mm[cut.triangles[:, turn]] for turn in range(3))
    outward = a + b + c - np.array([0, 0, (a + b + c)[:, 2].mean()]) * (shape.point_count != 400)
    assert (np.einsum("ij,ij->i", np.cross(b - a, c - a), outward) > 0).all()


@SHAPE_SETTINGS
@given(SHAPES, CURVES)
def test_area_is_kept_exactly_where_no_point_slides(shape, curves):
    cut = cut_all(shape, curves, snap=0.0)
    assert area(cut) == pytest.approx(area(shape), rel=1e-9)


@SHAPE_SETTINGS
@given(SHAPES, CURVES)
def test_sliding_points_hardly_change_the_area(shape, curves):
    assert area(cut_all(shape, curves)) == pytest.approx(area(shape), rel=0.01)


@SHAPE_SETTINGS
@given(SHAPES, CURVES)
def test_points_slide_along_earlier_curves_but_never_off_them(shape, curves):
    first = cut_all(shape, curves[:1])
    cut = first
    for number, curve in enumerate(curves[1:]):
        cut = cut_surface(cut, f"later {number}", curve_values(cut.points_mm, curve))
    before = first.on_curve("curve 0")
    assert cut.on_curve("curve 0")[: len(before)][before].all()
    line = seam_edges(first, "curve 0")
    for point in cut.points_mm[cut.on_curve("curve 0")]:
        assert least_distance(point, line) < 0.5  # a slide along the line may cut its bends


def seam_edges(surface, name):
    """Return both ends of each edge of a curve, and each of its points as both ends of one."""
    edges = edges_of(surface.triangles)
    on = surface.on_curve(name)
    alone = np.flatnonzero(on)  # a curve may touch the surface in a point without any edge
    taken = np.vstack([edges[on[edges].all(axis=1)], np.column_stack([alone, alone])])
    return surface.points_mm[taken]


def least_distance(point, line):
    if not len(line):
        return 0.0
    start, step = line[:, 0], line[:, 1] - line[:, 0]
    squared = np.maximum(np.einsum("ij,ij->i", step, step), 1e-300)
    share = np.einsum("ij,ij->i", point - start, step) / squared
    near = start + np.clip(share, 0, 1)[:, None] * step
    return float(np.linalg.norm(point - near, axis=1).min())


@SHAPE_SETTINGS
@given(SHAPES, CURVE)
def test_both_parts_share_the_points_of_the_curve_exactly(shape, curve):
    cut = cut_all(shape, [curve])
    sides = side_of(cut, "curve 0")
    if len(set(sides.tolist())) < 2:
        return
    parts = [part_of(cut, sides == side) for side in (-1, 1)]
    halves = half_edges(cut.triangles)
    beside = np.where(halves.twin >= 0, sides[halves.twin // 3], np.repeat(sides, 3))
    parting = np.repeat(sides, 3) != beside
    on_seam = set(halves.start[parting].tolist())
    assert cut.on_curve("curve 0")[sorted(on_seam)].all()
    assert all(on_seam <= set(part.origin.tolist()) for part in parts)
    for part in parts:
        assert (part.points_mm == cut.points_mm[part.origin]).all()


@SHAPE_SETTINGS
@given(SHAPES, CURVES)
def test_linear_fields_stay_true_at_new_and_moved_points(shape, curves):
    tilt = np.array([0.3, -1.0, 2.0])
    with_field = Surface(shape.points_mm, shape.triangles, {"tilt": shape.points_mm @ tilt})
    cut = cut_all(with_field, curves)
    assert cut.fields["tilt"] == pytest.approx(cut.points_mm @ tilt, abs=1e-9)


@SHAPE_SETTINGS
@given(SHAPES, CURVE)
def test_the_new_line_lies_where_the_function_is_zero(shape, curve):
    plane = (*curve[:4], 0.0)  # without sway the function is linear in space: no error is allowed
    cut = cut_all(shape, [plane])
    on = cut.points_mm[cut.on_curve("curve 0")]
    steepness = max(float(np.linalg.norm(plane[:3])), 1e-9)
    longest = 6.0
    assert (np.abs(curve_values(on, plane)) <= 1e-3 * longest * steepness + 1e-9).all()


def test_exact_zeros_stay_where_they_are():
    shape = tube_ring()
    values = shape.points_mm[:, 2] - 10.0  # a ring of the grid lies at 10 mm
    cut = cut_surface(shape, "ring", values)
    assert cut.point_count == shape.point_count
    assert (cut.points_mm == shape.points_mm).all()
    assert cut.on_curve("ring").sum() == 30


def test_a_curve_that_does_not_meet_the_surface_changes_nothing():
    shape = tube_ring()
    cut = cut_surface(shape, "above", shape.points_mm[:, 2] - 99.0)
    assert (cut.triangles == shape.triangles).all()
    assert (side_of(cut, "above") == -1).all()


def test_boundary_points_slide_along_the_boundary_alone():
    shape = tube_ring()
    cut = cut_surface(shape, "slanting", shape.points_mm[:, 0] - 3.21)
    open_sides = half_edges(cut.triangles)
    border = np.unique(open_sides.start[open_sides.twin < 0])
    assert set(np.round(cut.points_mm[border, 2], 12)) == {0.0, 30.0}


def test_a_point_on_two_curves_stays_when_a_third_passes_close():
    shape = tube_ring()
    cut = cut_surface(shape, "level", shape.points_mm[:, 2] - 11.0)
    cut = cut_surface(cut, "upright", cut.points_mm[:, 1] - 1.3)
    corner = np.flatnonzero(cut.on_curve("level") & cut.on_curve("upright"))
    assert len(corner) == 2
    shift = cut.points_mm[corner[0]] + np.array([0.0, 0.05, 0.08])
    values = (cut.points_mm - shift) @ np.array([0.0, 0.7, 0.7])
    after = cut_surface(cut, "third", values)
    assert (after.points_mm[corner] == cut.points_mm[corner]).all()
    assert straddling(after, "third") == 0


def test_a_triangle_with_all_corners_on_the_curve_takes_its_neighbours_side():
    shape = tube_ring()
    values = shape.points_mm[:, 2] - 15.0
    values[shape.triangles[40]] = 0.0
    cut = cut_surface(shape, "touching", values)
    sides = side_of(cut, "touching")
    assert set(sides.tolist()) == {-1, 1}


@pytest.mark.parametrize(
    "values",
    [np.zeros(3), np.full(480, np.nan), np.full(480, np.inf)],
    ids=["too few", "not a number", "endless"],
)
def test_faulty_values_are_refused_by_the_curves_name(values):
    with pytest.raises(PatternError, match="toe line") as fault:
        cut_surface(tube_ring(), "toe line", values)
    assert fault.value.code == "curve_values"


def test_a_curve_is_cut_once():
    cut = cut_surface(tube_ring(), "toe line", tube_ring().points_mm[:, 2] - 4.0)
    with pytest.raises(PatternError, match="already"):
        cut_surface(cut, "toe line", cut.points_mm[:, 2] - 5.0)
