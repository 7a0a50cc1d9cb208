from itertools import pairwise
from math import cos, hypot, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, union_all

from patterns.geometry.offset import OffsetEdge, offset_edges
from patterns.pieces.allowances import cut_ring
from patterns.pieces.piece import Edge

SQUARE = [(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)]


def square_edges(*distances, turned=(False, False, False, False)):
    corners = [*SQUARE, SQUARE[0]]
    return [OffsetEdge((corners[k], corners[k + 1]), distances[k], turned[k]) for k in range(4)]


def test_plain_edges_meet_in_mitres():
    ring = Polygon(offset_edges(square_edges(2.0, 3.0, 4.0, 0.0)))
    assert ring.bounds == pytest.approx((0.0, -2.0, 43.0, 34.0))
    assert ring.area == pytest.approx(43 * 36)


def test_two_turned_edges_are_cut_across_so_that_the_folds_meet():
    edges = square_edges(4.0, 4.0, 0.0, 0.0, turned=(True, True, False, False))
    assert Polygon(offset_edges(edges, spare_mm=1.0)).exterior.distance(
        Point(40.0, 0.0)
    ) == pytest.approx(1.0, abs=1e-3)
    # Folded in, the two allowances meet on the corner's bisector; uncut they would lie double
    # over 4 x 4 = 16 mm2.
    ring = Polygon(offset_edges(edges, spare_mm=0.05))
    lower = ring.intersection(Polygon([(0, -9), (60, -9), (60, 0), (0, 0)]))
    right = ring.intersection(Polygon([(40, 0), (60, 0), (60, 60), (40, 60)]))
    up = Polygon([(x, -y) for x, y in lower.exterior.coords])
    inward = Polygon([(80.0 - x, y) for x, y in right.exterior.coords])
    assert up.intersection(inward).area < 0.6


def test_a_turned_edge_ends_in_the_mirror_of_its_slanting_neighbour():
    # A slanting side leans outward; the fold's end must lean the other way to lie flat on it.
    shape = [(0.0, 0.0), (40.0, 0.0), (50.0, 30.0), (0.0, 30.0)]
    edges = [
        OffsetEdge((shape[0], shape[1]), 0.0),
        OffsetEdge((shape[1], shape[2]), 0.0),
        OffsetEdge((shape[2], shape[3]), 6.0, turned=True),
        OffsetEdge((shape[3], shape[0]), 0.0),
    ]
    ring = Polygon(offset_edges(edges))
    flap = ring.difference(Polygon(shape))
    turned_down = Polygon([(x, 60.0 - y) for x, y in flap.exterior.coords])
    assert Polygon(shape).buffer(0.01).contains(turned_down)


def test_an_outer_bend_is_round_and_exactly_the_allowance_away():
    arc = [(20 * cos(k * pi / 60), 20 * sin(k * pi / 60)) for k in range(61)]
    edges = [Edge("arc", "lasting", 5.0, tuple(arc)), Edge("base", "raw", 0.0, (arc[-1], arc[0]))]
    cut = Polygon(cut_ring(edges)).exterior
    inner = LineString(arc)
    for share in (0.2, 0.4, 0.5, 0.6, 0.8):
        assert cut.distance(inner.interpolate(share, normalized=True)) == pytest.approx(
            5.0, abs=0.01
        )


def test_a_hollow_narrower_than_the_allowance_leaves_a_simple_outline():
    hollow = [(40 - k, 30 - 12 * sin(k * pi / 40) ** 4) for k in range(41)]
    edges = [
        OffsetEdge(((0.0, 0.0), (40.0, 0.0)), 5.0),
        OffsetEdge(((40.0, 0.0), hollow[0]), 5.0),
        OffsetEdge([(float(x), y) for x, y in hollow], 15.0),
        OffsetEdge(((0.0, 30.0), (0.0, 0.0)), 5.0),
    ]
    assert Polygon(offset_edges(edges)).is_valid


def boxes_and_discs(run, distance):
    """Return all that lies straight out from a step of a run, and outside its outer bends."""
    parts = []
    for (xa, ya), (xb, yb) in pairwise(run):
        length = hypot(xb - xa, yb - ya)
        out_x, out_y = distance * (yb - ya) / length, -distance * (xb - xa) / length
        parts.append(
            Polygon([(xa, ya), (xb, yb), (xb + out_x, yb + out_y), (xa + out_x, ya + out_y)])
        )
    for (xa, ya), (xb, yb), (xc, yc) in zip(run, run[1:], run[2:], strict=False):
        if (xb - xa) * (yc - yb) - (yb - ya) * (xc - xb) > 0:
            parts.append(Point(xb, yb).buffer(distance, quad_segs=60))
    return union_all(parts)


@given(st.lists(st.floats(-4, 4), min_size=3, max_size=7), st.floats(0.5, 12))
def test_a_run_of_any_bends_gains_all_that_lies_beside_it_and_no_more(heights, distance):
    # Hollows wider and narrower than the distance, one run below a wide plate.
    right, left = 10.0 * len(heights) + 30.0, -40.0
    low = [(left, -30.0), (-20.0, -30.0)]
    low += [(10.0 * k, y - 30.0) for k, y in enumerate(heights)]
    low += [(right - 20.0, -30.0), (right, -30.0)]
    plate = [low[-1], (right, 0.0), (left, 0.0), low[0]]
    ring = Polygon(offset_edges([OffsetEdge(low, distance), OffsetEdge(plate, 0.0)]))
    beside = boxes_and_discs(low, distance)
    expected = beside.union(Polygon([*low, *plate[1:-1]]))
    assert ring.symmetric_difference(expected).buffer(-0.01).area < 1e-6
