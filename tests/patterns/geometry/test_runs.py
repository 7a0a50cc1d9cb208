import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.geometry.runs import contour_runs, run_of_points, step_matrix
from tests.patterns.geometry.surfaces import bumpy_ball, square_grid, tube_ring


def test_level_line_round_a_tube_is_one_closed_run_of_its_girth():
    # Source: perimeter of a regular polygon, 2 n r sin(pi / n); n = 30, r = 12 mm.
    tube = tube_ring()
    runs = contour_runs(tube.points_mm, tube.triangles, tube.points_mm[:, 2], 7.3)
    assert len(runs) == 1
    places = runs[0].places_mm(tube.points_mm)
    assert places[0] == pytest.approx(places[-1])
    assert places[:, 2] == pytest.approx(7.3)
    assert len(np.unique(places.round(9), axis=0)) > 30
    assert runs[0].length_mm(tube.points_mm) == pytest.approx(60 * 12 * np.sin(np.pi / 30))


def test_line_across_a_sheet_is_open_and_goes_with_the_higher_side_on_its_left():
    flat, triangles = square_grid(9, 9)
    (run,) = contour_runs(flat, triangles, flat[:, 1], 0.4)
    places = run.places_mm(flat)
    assert places[0] == pytest.approx([0.0, 0.4])
    assert places[-1] == pytest.approx([1.0, 0.4])
    assert (np.diff(places[:, 0]) > 0).all()


@pytest.mark.parametrize("level", [0.5, 0.25])
def test_a_line_through_points_has_no_step_without_length(level):
    flat, triangles = square_grid(9, 9)
    values = flat[:, 0] + flat[:, 1] - 0.5
    (run,) = contour_runs(flat, triangles, values, level - 0.25)
    assert (run.steps_mm(flat) > 1e-6).all()
    assert run.length_mm(flat) == pytest.approx(np.sqrt(2) * (level + 0.25))


def test_a_line_that_only_touches_one_corner_is_no_line():
    flat, triangles = square_grid(5, 5)
    assert contour_runs(flat, triangles, flat.sum(axis=1), 2.0) == []
    assert contour_runs(flat, triangles, flat.sum(axis=1), 3.0) == []


def test_longest_line_comes_first():
    flat, triangles = square_grid(21, 21)
    hills = np.hypot(flat[:, 0] - 0.3, flat[:, 1] - 0.3)
    other = np.hypot(flat[:, 0] - 0.8, flat[:, 1] - 0.8) + 0.1
    runs = contour_runs(flat, triangles, np.minimum(hills, other), 0.2)
    lengths = [run.length_mm(flat) for run in runs]
    assert lengths == pytest.approx([2 * np.pi * 0.2, 2 * np.pi * 0.1], rel=0.05)
    assert lengths == sorted(lengths, reverse=True)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 30), st.floats(-15, 15), st.floats(-2, 2))
def test_every_level_line_of_a_closed_surface_closes(seed, level, tilt):
    ball = bumpy_ball(seed)
    values = ball.points_mm[:, 2] + tilt * ball.points_mm[:, 0]
    for run in contour_runs(ball.points_mm, ball.triangles, values, level):
        places = run.places_mm(ball.points_mm)
        assert places[0] == pytest.approx(places[-1])
        at = (1 - run.share) * values[run.a] + run.share * values[run.b]
        assert at == pytest.approx(np.full(len(at), level))


def test_run_of_points_and_its_steps():
    points = np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 10.0]])
    run = run_of_points([0, 1, 2])
    assert run.steps_mm(points).tolist() == [5.0, 6.0]
    assert run.length_mm(points) == 11.0
    assert (step_matrix([run], 3) @ points).tolist() == [[3.0, 4.0], [0.0, 6.0]]
    assert step_matrix([], 3).shape == (0, 3)
