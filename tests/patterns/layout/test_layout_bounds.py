"""Densities no layout can pass, and some that a good one must reach.

A square hide tiles the plane, so a layout on it, repeated, is a packing of the plane: the bounds
for endless sheets hold for it too.
"""

import math

import pytest

from patterns.layout import LayoutRequest, lay_out, pairs_that_fit
from tests.samples_layouts import plain_piece, rectangle, ring_round, square_hide, verified

TRIANGLE = ((0, 0), (20, 0), (0, 20))


def packed(piece, side_mm: float = 100.0, steps: int = 12) -> float:
    request = LayoutRequest((square_hide(side_mm),), (piece,), spacing_mm=0.0)
    return verified(request, lay_out(request, seed=1, steps=steps))["density"]


@pytest.mark.external
def test_triangles_by_shifts_alone_never_pass_two_thirds():
    # Source: the difference body of a triangle has six times its area, and the best packing of
    # its shifts is 2/3 of the plane (Minkowski's lattice theorem; worked out by hand).
    density = packed(plain_piece("triangle", TRIANGLE, 60))
    assert 0.4 < density <= 2 / 3 + 1e-9


@pytest.mark.external
def test_triangles_with_half_turns_pass_the_bound_of_shifts():
    # Source: a triangle and its half-turned copy make a parallelogram, which tiles: waste 0.
    density = packed(plain_piece("triangle", TRIANGLE, 60, allowed_rotations_deg=(0.0, 180.0)))
    assert 2 / 3 < density <= 1.0 + 1e-9


@pytest.mark.external
def test_discs_never_pass_the_hexagonal_density():
    # Source: pi / sqrt 12 = 0.9069 is the best of all disc packings,
    # math.stonybrook.edu/~tony/whatsnew/column/pennies-1200/cass2.html.
    radius, corners = 8.0, 24
    around = radius / math.cos(math.pi / corners)
    request = LayoutRequest(
        (square_hide(100),),
        (plain_piece("disc", ring_round([around] * corners), 60),),
        spacing_mm=0.0,
    )
    answer = verified(request, lay_out(request, seed=4, steps=12))
    density = answer["placed"] * math.pi * radius**2 / 100.0**2
    assert 0.6 < density <= math.pi / math.sqrt(12.0)


@pytest.mark.external
def test_pentagons_never_pass_their_best_density():
    # Source: (5 - sqrt 5) / 3 = 0.92131 for regular pentagons, arXiv 1602.07220.
    pentagon = plain_piece("pentagon", ring_round([12.0] * 5), 60, allowed_rotations_deg=None)
    assert 0.5 < packed(pentagon) <= (5.0 - math.sqrt(5.0)) / 3.0


def test_rectangles_that_tile_the_hide_all_fit():
    # Exact: 5 x 10 rectangles of 20 x 10 mm are the whole of a 100 x 100 mm square.
    assert packed(plain_piece("strap", rectangle(20, 10), 50)) == pytest.approx(1.0)


def test_the_gap_costs_what_arithmetic_says():
    # With a gap g, n squares of side a stand in a row of n a + (n - 1) g: four of 20 mm with
    # 5 mm gaps take 95 mm of 100, five would take 120.
    request = LayoutRequest(
        (square_hide(100),), (plain_piece("patch", rectangle(20, 20), 30),), spacing_mm=5.0
    )
    answer = verified(request, lay_out(request, seed=1, steps=5))
    assert answer["placed"] == 16


def test_pairs_that_fit_are_whole_and_bounded_by_area():
    # 25 squares of 20 mm fill 100 x 100 mm; a pair takes two, so 12 pairs and no more.
    piece = plain_piece("patch", rectangle(20, 20), 2, per_set=2)
    request = LayoutRequest((square_hide(100),), (piece,), spacing_mm=0.0)
    pairs, layout = pairs_that_fit(request, seed=1, steps=5)
    assert pairs == layout.complete_sets == 12
