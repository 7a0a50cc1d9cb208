"""Overlap relaxation: what it measures, what it lays, and that it adds up."""

import math
import os

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from patterns.hide import GradedArea
from patterns.layout import LayoutRequest, Placement, lay_out
from patterns.layout.ground import laid_shape, usable_area_mm2, usable_shape
from patterns.layout.relax.fit import Attempt, Fit, empty_fit
from patterns.layout.relax.problem import Problem
from patterns.layout.relax.separate import SOLVED
from patterns.layout.table import Table
from tests.samples_layouts import (
    plain_piece,
    rectangle,
    ring_round,
    sample_request,
    square_hide,
    verified,
)

HOOK = ((0, 0), (40, 0), (40, 10), (10, 10), (10, 30), (0, 30))


def depth_mm(request: LayoutRequest, rows: list[Placement]) -> float:
    """Return the depth the search sees, for pieces at given places."""
    problem = Problem(Table(request))
    attempt = Attempt(problem.world, problem.world.rooms, problem.fit_of(rows), empty_fit())
    return float(attempt.depths_mm().sum())


@given(st.floats(20, 130), st.floats(20, 130), st.floats(0, 360), st.floats(0, 360), st.booleans())
@settings(max_examples=60, deadline=None)
def test_no_depth_is_seen_exactly_where_the_gap_is_kept(x, y, one_deg, two_deg, mirrored):
    hook = plain_piece("hook", HOOK, 4, mirrored_quantity=2, allowed_rotations_deg=None)
    request = LayoutRequest((square_hide(150),), (hook,), spacing_mm=1.5)
    rows = [
        Placement("hook", "H-0001", 75, 75, one_deg, False),
        Placement("hook", "H-0001", x, y, two_deg, mirrored),
    ]
    one, two = (laid_shape(hook, row) for row in rows)
    inside = min(usable_shape(request.hides[0]).contains(shape) for shape in (one, two))
    gap = one.distance(two)
    found = depth_mm(request, rows)
    if found <= 1e-9:
        assert inside
        assert gap >= 1.5 - 1e-3
    elif inside and found > 1e-3:
        # Near corners the parts may be taken a little further than they reach, never less far.
        assert gap < 1.5 * math.sqrt(2.0)


def test_overlapping_pieces_are_moved_apart():
    patch = plain_piece("patch", rectangle(20, 20), 12)
    problem = Problem(Table(LayoutRequest((square_hide(),), (patch,), spacing_mm=1.0)))
    heap = Fit(np.zeros(12, dtype=np.int64), np.tile([50.0, 50.0, 0.0, 0.0], (12, 1)))
    attempt = Attempt(problem.world, problem.world.rooms, heap, empty_fit())
    assert not problem.holds(heap)
    assert attempt.go_on(np.random.default_rng(1), 400_000, 200) == SOLVED
    assert problem.holds(attempt.fit())


def test_what_is_salvaged_of_a_heap_is_valid():
    problem = Problem(Table(sample_request("remnant_300x200")))
    kinds = np.repeat(problem.form_of, problem.most)
    heap = Fit(kinds, np.tile([150.0, 100.0, 0.0, 0.0], (len(kinds), 1)))
    attempt = Attempt(problem.world, problem.world.rooms, heap, empty_fit())
    attempt.go_on(np.random.default_rng(2), 3_000, 50)
    saved = attempt.salvaged()
    assert 0 < saved.count < len(kinds)
    assert problem.holds(saved)


def test_a_hide_too_small_for_all_gets_its_five_pairs_within_few_steps():
    layout = lay_out(sample_request("hide_600x400"), seed=11, steps=3)
    verified(sample_request("hide_600x400"), layout)
    # Measured with five other seeds: five pairs after the first step.
    assert layout.complete_sets == 5


def test_one_core_and_two_give_the_same_layout():
    request = sample_request("remnant_300x200")
    allowed = os.sched_getaffinity(0)
    both = lay_out(request, seed=6, steps=8)
    try:
        os.sched_setaffinity(0, {min(allowed)})
        alone = lay_out(request, seed=6, steps=8)
    finally:
        os.sched_setaffinity(0, allowed)
    assert alone == both


def test_pieces_that_turn_freely_get_their_third_pair_early():
    """Three pairs cover 0.800 of this leather, which is within what is always hoped for."""
    request = sample_request("free_420x330")
    layout = lay_out(request, seed=3, steps=60)
    verified(request, layout)
    # Measured with other seeds: after 11 to 18 steps, 1.3 to 1.8 s.
    assert layout.complete_sets == 3


def test_pieces_waste_and_rest_add_up_to_the_hide():
    request = sample_request("remnant_300x200")
    layout = lay_out(request, seed=4, steps=6)
    pieces = {piece.id: piece for piece in request.pieces}
    laid = [laid_shape(pieces[row.id], row) for row in layout.placements]
    rest = usable_shape(request.hides[0]).difference(shapely.union_all(laid))
    total = layout.used_area_mm2 + rest.area
    assert total == pytest.approx(usable_area_mm2(request), rel=1e-3)


def test_grades_mirror_images_defects_and_fixed_pieces_hold_where_too_much_is_asked():
    hide = square_hide(
        130,
        defects_mm=(ring_round([9.0] * 9, 90, 40), rectangle(6, 30, 20, 80)),
        areas=(GradedArea(3, rectangle(40, 130)),),
    )
    best = plain_piece(
        "best", HOOK, 12, mirrored_quantity=6, per_set=2, per_set_mirrored=1, grade=1
    )
    free = plain_piece("free", ring_round([9, 13, 11, 8, 12]), 40, mirror_free=True, per_set=1)
    fixed = (Placement("free", "H-0001", 60.0, 60.0, 0.0, True),)
    request = LayoutRequest((hide,), (best, free), fixed, spacing_mm=2.0, edge_spacing_mm=1.0)
    layout = lay_out(request, seed=3, steps=8)
    verified(request, layout)
    assert layout.placements[0] == fixed[0]
    assert layout.complete_sets >= 1
    laid = [laid_shape(best, row) for row in layout.placements if row.id == "best"]
    assert all(shape.intersection(Polygon(rectangle(40, 130))).area < 1e-3 for shape in laid)
