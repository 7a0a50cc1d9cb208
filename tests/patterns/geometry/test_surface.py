import numpy as np
import pytest

from patterns.errors import PatternError
from patterns.geometry.cut_surface import cut_surface
from patterns.geometry.surface import (
    NO_ORIGIN,
    Surface,
    boundary_loops,
    component_count,
    edges_of,
    euler_number,
    half_edges,
    largest_component,
    part_of,
    side_of,
    slit,
    triangle_areas_mm2,
)
from tests.patterns.geometry.surfaces import ball_cap, bumpy_ball, tube_ring, tube_sheet


def touching_squares():
    """Return two squares that touch at one point alone, each of two triangles."""
    points = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [2, 1], [2, 2], [1, 2]], dtype=float)
    triangles = np.array([[0, 1, 2], [0, 2, 3], [2, 4, 5], [2, 5, 6]])
    return Surface(np.column_stack([points, np.zeros(7)]), triangles)


def test_euler_numbers_of_ball_ring_and_disc():
    shapes = [bumpy_ball(1), tube_ring(), tube_sheet()]
    assert [euler_number(shape.triangles) for shape in shapes] == [2, 0, 1]


def test_edges_come_once_each():
    assert edges_of(np.array([[0, 1, 2], [2, 1, 3]])).tolist() == [
        [0, 1],
        [0, 2],
        [1, 2],
        [1, 3],
        [2, 3],
    ]


def test_boundary_of_a_disc_goes_round_with_the_surface_on_its_left():
    (loop,) = boundary_loops(ball_cap(40, 4).triangles)
    places = ball_cap(40, 4).points_mm[loop]
    following = np.roll(places, -1, axis=0)
    turning = places[:, 0] * following[:, 1] - places[:, 1] * following[:, 0]
    assert len(loop) == 24
    assert (turning > 0).all()


def test_longest_boundary_comes_first():
    ring = tube_ring()
    wider = ring.points_mm * np.where(ring.points_mm[:, 2:] > 20, [2.0, 2.0, 1.0], 1.0)
    loops = boundary_loops(ring.triangles, wider)
    assert [float(wider[loop][:, 2].mean()) for loop in loops] == [30.0, 0.0]
    assert boundary_loops(bumpy_ball(1).triangles) == []


def test_boundary_loops_part_where_the_surface_only_touches_itself():
    loops = boundary_loops(touching_squares().triangles)
    assert sorted(sorted(loop.tolist()) for loop in loops) == [[0, 1, 2, 3], [2, 4, 5, 6]]


def test_three_triangles_at_one_edge_are_refused():
    with pytest.raises(PatternError) as fault:
        half_edges(np.array([[0, 1, 2], [1, 0, 3], [0, 1, 4]]))
    assert fault.value.code == "surface_not_manifold"


def test_part_keeps_points_fields_and_where_they_come_from():
    ring = tube_ring()
    whole = Surface(ring.points_mm, ring.triangles, {"z": ring.points_mm[:, 2]})
    part = part_of(whole, whole.points_mm[whole.triangles][:, :, 2].max(axis=1) < 15)
    assert (part.points_mm == whole.points_mm[part.origin]).all()
    assert (part.fields["z"] == part.points_mm[:, 2]).all()
    again = part_of(part, np.arange(len(part.triangles)) < 40)
    assert (again.points_mm == whole.points_mm[again.origin]).all()


def test_empty_part_is_refused():
    with pytest.raises(PatternError) as fault:
        part_of(tube_ring(), np.zeros(len(tube_ring().triangles), dtype=bool))
    assert fault.value.code == "part_empty"


def test_a_point_at_which_a_part_touches_itself_is_doubled():
    squares = touching_squares()
    part = part_of(squares, np.ones(4, dtype=bool))
    assert part.point_count == 8
    assert sorted(part.origin.tolist()) == [0, 1, 2, 2, 3, 4, 5, 6]
    assert component_count(part) == component_count(squares) == 2
    areas = triangle_areas_mm2(part.points_mm, part.triangles)
    assert areas == pytest.approx([0.5] * 4)


def test_largest_component_is_the_one_of_most_area():
    squares = touching_squares()
    grown = Surface(squares.points_mm * [1.0, 1.0, 1.0], squares.triangles)
    grown.points_mm[5] = [9.0, 9.0, 0.0]
    assert sorted(largest_component(grown).origin.tolist()) == [2, 4, 5, 6]


def test_new_points_of_a_part_have_no_origin():
    sheet = tube_sheet()
    part = part_of(sheet, sheet.points_mm[sheet.triangles][:, :, 2].max(axis=1) < 15)
    cut = cut_surface(part, "level", part.points_mm[:, 2] - 5.0, snap=0.0)
    assert cut.point_count > part.point_count
    assert (cut.origin[part.point_count :] == NO_ORIGIN).all()
    assert (cut.origin[: part.point_count] == part.origin).all()


def run_down(surface, count):
    """Return points from inside a tube's sheet down to its lower edge."""
    column = np.flatnonzero(np.isclose(surface.points_mm[:, 0], surface.points_mm[10, 0]))
    column = column[np.isclose(surface.points_mm[column, 1], surface.points_mm[10, 1])]
    return column[np.argsort(surface.points_mm[column, 2])][:count][::-1]


def test_slit_doubles_its_points_but_the_inner_end():
    sheet = tube_sheet()
    run = run_down(sheet, 5)
    opened = slit(sheet, run)
    assert opened.point_count == sheet.point_count + 4
    assert opened.origin[sheet.point_count :].tolist() == run[1:].tolist()
    assert euler_number(opened.triangles) == 1
    (loop,) = boundary_loops(opened.triangles)
    assert len(loop) == len(boundary_loops(sheet.triangles)[0]) + 8


def test_new_points_of_a_slit_lie_on_its_left():
    sheet = tube_sheet()
    run = run_down(sheet, 5)  # downwards, seen from outside: to its left the angle grows
    opened = slit(sheet, run)
    middle = opened.points_mm[opened.triangles].mean(axis=1)
    angles = np.arctan2(middle[:, 1], middle[:, 0]) % (2 * np.pi)
    at = np.arctan2(sheet.points_mm[run[0], 1], sheet.points_mm[run[0], 0]) % (2 * np.pi)
    new = (opened.triangles >= sheet.point_count).any(axis=1)
    assert new.any()
    assert (angles[new] > at).all()


def test_slit_from_edge_to_edge_opens_a_ring_to_a_disc():
    ring = tube_ring()
    opened = slit(ring, run_down(ring, 16))
    assert (euler_number(ring.triangles), euler_number(opened.triangles)) == (0, 1)
    assert len(boundary_loops(opened.triangles)) == 1


@pytest.mark.parametrize("faulty", ["short", "inside", "jumping", "along the edge"])
def test_faulty_slits_are_refused(faulty):
    sheet = tube_sheet()
    run = run_down(sheet, 5).tolist()
    faults = {
        "short": run[:1],
        "inside": run[:-1],
        "jumping": [run[0], *run[2:]],
        "along the edge": [0, 1],
    }
    with pytest.raises(PatternError) as fault:
        slit(sheet, faults[faulty])
    assert fault.value.code == "slit_run"


def test_sides_of_a_curve_are_above_and_below():
    cut = cut_surface(tube_ring(), "level", tube_ring().points_mm[:, 2] - 7.5)
    middle = cut.points_mm[cut.triangles].mean(axis=1)[:, 2]
    assert (side_of(cut, "level") == np.where(middle > 7.5, 1, -1)).all()
