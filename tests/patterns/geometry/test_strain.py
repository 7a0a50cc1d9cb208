import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.geometry.strain import (
    flat_areas_mm2,
    flipped_count,
    local_frames,
    principal_stretch,
    weighted_percentile,
)
from tests.patterns.geometry.surfaces import bumpy_ball, square_grid

ONE = np.array([[0, 1, 2]])


def test_leather_made_longer_one_way_and_gathered_the_other():
    flat = np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]])
    on_last = np.array([[0.0, 0.0, 0.0], [10.5, 0.0, 0.0], [0.0, 9.0, 0.0]])
    major, minor, area = principal_stretch(on_last, ONE, flat)
    assert (major[0], minor[0], area[0]) == pytest.approx((1.05, 0.9, 47.25))


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 10_000))
def test_stretch_agrees_with_singular_values(seed):
    rng = np.random.default_rng(seed)
    on_last, flat = rng.uniform(-10, 10, (3, 3)), rng.uniform(-10, 10, (3, 2))
    frame = local_frames(on_last, ONE)[0]
    there = np.column_stack([frame[1], frame[2]])
    here = np.column_stack([flat[1] - flat[0], flat[2] - flat[0]])
    expected = np.linalg.svd(there @ np.linalg.inv(here), compute_uv=False)
    major, minor, _ = principal_stretch(on_last, ONE, flat)
    assert [major[0], minor[0]] == pytest.approx(expected, rel=1e-6)


def test_frames_keep_every_side():
    ball = bumpy_ball(3)
    frames = local_frames(ball.points_mm, ball.triangles)
    for turn in range(3):
        flat = np.linalg.norm(frames[:, turn] - frames[:, turn - 1], axis=1)
        a, b = ball.triangles[:, turn], ball.triangles[:, turn - 1]
        assert flat == pytest.approx(np.linalg.norm(ball.points_mm[a] - ball.points_mm[b], axis=1))


def test_flat_triangles_without_area_stretch_without_end():
    flat = np.array([[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]])
    on_last = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    major, _, _ = principal_stretch(on_last, ONE, flat)
    assert major[0] == np.inf
    assert flipped_count(ONE, flat) == 1


def test_turned_triangles_are_counted():
    flat, triangles = square_grid(4, 4)
    assert flipped_count(triangles, flat) == 0
    assert flat_areas_mm2(triangles, flat).sum() == pytest.approx(1.0)
    assert flipped_count(triangles, flat * [-1, 1]) == len(triangles)


def test_percentiles_go_by_weight():
    values, weights = np.array([3.0, 1.0, 2.0]), np.array([1.0, 8.0, 1.0])
    found = [weighted_percentile(values, weights, percent) for percent in (0, 80, 81, 95, 100)]
    assert found == [1.0, 1.0, 2.0, 3.0, 3.0]
