"""A layout made by hand: counted like a searched one, its faults naming their placements."""

import pytest

from patterns.errors import LayoutError
from patterns.hide import GradedArea
from patterns.layout.by_hand import layout_by_hand
from patterns.layout.check import faults_found, layout_faults
from patterns.layout.values import LayoutRequest, Placement
from tests.samples_layouts import plain_piece, rectangle, square_hide

BLOCK = plain_piece("block", rectangle(20.0, 10.0), 4, per_set=2, rotation_tolerance_deg=5.0)


def at(x, y, turn=0.0, mirrored=False):
    return Placement("block", "H-0001", x, y, turn, mirrored)


def found(rows, **more):
    hide = square_hide(defects_mm=(rectangle(10.0, 10.0, 80.0, 80.0),), **more)
    request = LayoutRequest((hide,), (BLOCK,), spacing_mm=2.0)
    return {(fault.code, fault.rows) for fault in faults_found(request, rows)}


def test_it_is_counted_like_a_searched_layout():
    request = LayoutRequest((square_hide(),), (BLOCK,), spacing_mm=2.0)
    layout = layout_by_hand(request, [at(0, 0), at(22, 0), at(0, 12)])
    assert (layout.placed, layout.requested, layout.complete_sets) == (3, 4, 1)
    assert (layout.used_area_mm2, layout.usable_area_mm2) == (600.0, 10_000.0)
    assert (layout.seed, layout.steps) == (0, 0)


def test_each_fault_names_the_placements_it_is_about():
    assert found([at(0, 0), at(50, 50), at(10, 5)]) == {("overlap", (0, 2))}
    assert found([at(0, 0), at(21, 0)]) == {("near_piece", (0, 1))}
    assert found([at(0, 0), at(75, 82)]) == {("outside", (1,))}
    assert found([at(0, 0), at(90, 0)]) == {("outside", (1,))}
    assert found([at(50, 50, 45.0)]) == {("turned", (0,))}
    assert found([at(30, 0, mirrored=True)]) == {("too_many", ())}


def test_faults_carry_their_figures():
    hide = square_hide(areas=(GradedArea(3, rectangle(50.0, 100.0, 50.0, 0.0)),))
    best = plain_piece("block", rectangle(20.0, 10.0), 2, grade=1)
    request = LayoutRequest((hide,), (best,), spacing_mm=2.0, edge_spacing_mm=1.0)
    rows = [at(60, 5), at(0.5, 50)]
    graded, near = sorted(faults_found(request, rows), key=lambda fault: fault.rows)
    assert (graded.code, graded.parameters) == ("wrong_grade", {"grade": 3})
    assert (near.code, near.parameters["gap_mm"]) == ("near_edge", 1.0)
    assert near.parameters["near_mm"] == pytest.approx(0.5)
    assert layout_faults(request, rows) == tuple(f.text for f in faults_found(request, rows))


def test_a_faulty_one_is_refused():
    request = LayoutRequest((square_hide(),), (BLOCK,))
    with pytest.raises(LayoutError) as caught:
        layout_by_hand(request, [at(0, 0), at(5, 5)])
    assert caught.value.code == "layout_faulty"


def test_a_fixed_placement_that_was_moved_is_told():
    request = LayoutRequest((square_hide(),), (BLOCK,), fixed=(at(0, 0),))
    assert [fault.code for fault in faults_found(request, [at(1, 0)])] == ["fixed_moved"]
