import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from patterns.geometry.convex import (
    TOUCH_MM,
    cells_of_runs,
    convex_parts,
    disc_around,
    grown,
    stacked,
    sum_runs,
)
from tests.samples_layouts import rectangle, ring_round

STAR = st.lists(st.floats(3.0, 20.0), min_size=3, max_size=14)


def is_convex(ring: np.ndarray) -> bool:
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turns = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return bool((turns >= -1e-7).all())


@given(STAR)
@settings(max_examples=40, deadline=None)
def test_convex_parts_are_convex_and_cover_the_shape_once(radii):
    shape = Polygon(ring_round(radii))
    parts = convex_parts(shape)
    assert all(is_convex(part) for part in parts)
    assert sum(Polygon(part).area for part in parts) == pytest.approx(shape.area, rel=1e-9)
    joined = shapely.union_all([Polygon(part) for part in parts])
    assert joined.symmetric_difference(shape).area == pytest.approx(0.0, abs=1e-6)


def test_a_convex_shape_stays_one_part():
    assert len(convex_parts(Polygon(ring_round([10.0] * 9)))) == 1


def test_a_hole_stays_open():
    frame = Polygon(rectangle(30, 30), [rectangle(10, 10, 10, 10)])
    parts = convex_parts(frame)
    assert sum(Polygon(part).area for part in parts) == pytest.approx(800.0)
    assert not any(Polygon(part).contains(Point(15, 15)) for part in parts)


@given(st.floats(0.01, 30.0), st.integers(4, 24))
@settings(deadline=None)
def test_the_polygon_round_a_disc_holds_it(radius, corners):
    polygon = Polygon(disc_around(radius, corners))
    assert polygon.exterior.distance(Point(0, 0)) >= radius * (1 - 1e-12)


@given(STAR, st.floats(0.1, 3.0))
@settings(max_examples=25, deadline=None)
def test_grown_parts_hold_everything_within_the_distance(radii, distance):
    shape = Polygon(ring_round(radii))
    wide = shapely.union_all([Polygon(part) for part in grown(convex_parts(shape), distance)])
    # Shapely's round offset lies inside the true one, so the polygons must hold it.
    assert wide.buffer(1e-6).covers(shape.buffer(distance, quad_segs=32))


@given(STAR, STAR, st.sampled_from([0.5, 1.0, 1.3]))
@settings(max_examples=25, deadline=None)
def test_a_cell_is_in_the_sum_just_when_the_shapes_overlap_there(radii_one, radii_two, grid):
    one, two = Polygon(ring_round(radii_one)), Polygon(ring_round(radii_two))
    runs = sum_runs(
        stacked(convex_parts(one)), stacked([-part for part in convex_parts(two)]), grid
    )
    size = 2 * int(45 / grid) + 1
    cells = cells_of_runs(runs, bottom=-(size // 2), left=-(size // 2), rows=size, columns=size)
    rng = np.random.default_rng(len(radii_one))
    for row, column in rng.integers(0, size, (60, 2)).tolist():
        x, y = (column - size // 2) * grid, (row - size // 2) * grid
        moved = shapely.affinity.translate(two, x, y)
        if cells[row, column]:
            assert one.distance(moved) < TOUCH_MM
        else:
            assert one.buffer(-2 * TOUCH_MM).intersection(moved).area < 0.05


@pytest.mark.parametrize("corners", [4, 6, 8, 9, 12])
@pytest.mark.parametrize("tilt", [0.0, 3e-16, -3e-16])
def test_sums_of_turned_regular_pieces_lose_no_level_edge(corners, tilt):
    # A regular piece turned by its own angle has level edges, which rounding tilts up or down.
    ring = np.array(ring_round([7.0] * corners))
    part = grown([ring], 0.75)[0]
    for turn in np.radians([0.0, 30.0, 40.0, 120.0, 330.0]):
        one = part @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        one = one + np.column_stack([np.zeros(len(one)), tilt * one[:, 0] * abs(one[:, 1])])
        two = -one
        runs = sum_runs(stacked([one]), stacked([two]), 0.25)
        hull = shapely.convex_hull(
            shapely.multipoints((one[:, None, :] + two[None, :, :]).reshape(-1, 2))
        )
        for row, first, last in zip(runs.row, runs.first, runs.last, strict=True):
            level = shapely.LineString([(-99.0, row * 0.25), (99.0, row * 0.25)])
            left, _low, right, _high = hull.intersection(level).bounds
            assert first * 0.25 == pytest.approx(left, abs=0.25 + 2 * TOUCH_MM)
            assert last * 0.25 == pytest.approx(right, abs=0.25 + 2 * TOUCH_MM)
