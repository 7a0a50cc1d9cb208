"""Single rules of a layout: grades, mirror images, several hides, what counts first."""

from dataclasses import replace
from decimal import Decimal

import pytest
from shapely.geometry import Polygon

from patterns.errors import LayoutError
from patterns.hide import GradedArea
from patterns.layout import (
    Layout,
    LayoutRequest,
    Placement,
    check_layout,
    lay_out,
    layout_faults,
    layout_waste,
    pairs_that_fit,
)
from patterns.layout.ground import laid_shape
from tests.samples_layouts import plain_piece, rectangle, square_hide, verified

LEFT_HALF = rectangle(50, 100)
CORNER = ((0, 0), (30, 0), (30, 8), (8, 8), (8, 20), (0, 20))  # unlike its mirror image


def laid(request: LayoutRequest, *, steps: int = 8, seed: int = 1) -> Layout:
    layout = lay_out(request, seed=seed, steps=steps)
    verified(request, layout)
    return layout


def test_a_piece_keeps_off_worse_leather_and_another_uses_it():
    hide = square_hide(areas=(GradedArea(2, LEFT_HALF),))
    best = plain_piece("toe box", rectangle(20, 20), 30, grade=1)
    any_ = plain_piece("tongue", rectangle(20, 10), 60)
    layout = laid(LayoutRequest((hide,), (best, any_), spacing_mm=0.0))
    toes = [row.x_mm for row in layout.placements if row.id == "toe box"]
    assert len(toes) >= 8
    assert min(toes) >= 50.0
    assert min(row.x_mm for row in layout.placements if row.id == "tongue") < 50.0


def test_two_areas_of_one_grade_are_both_kept_clear():
    areas = (GradedArea(3, rectangle(40, 100)), GradedArea(3, rectangle(40, 100, 60)))
    piece = plain_piece("toe box", rectangle(18, 18), 20, grade=2)
    layout = laid(LayoutRequest((square_hide(areas=areas),), (piece,), spacing_mm=0.0))
    assert layout.placed == 5
    assert all(40.0 <= row.x_mm <= 42.0 for row in layout.placements)


def test_as_many_mirror_images_are_laid_as_asked():
    piece = plain_piece("side", CORNER, 8, mirrored_quantity=3)
    layout = laid(LayoutRequest((square_hide(200),), (piece,)))
    assert [row.mirrored for row in layout.placements].count(True) == 3
    assert layout.placed == 8


def test_a_piece_free_to_be_mirrored_may_lie_either_way():
    piece = plain_piece("lining", CORNER, 16, mirror_free=True)
    layout = laid(LayoutRequest((square_hide(),), (piece,), spacing_mm=0.0), steps=30)
    assert {row.mirrored for row in layout.placements} == {True, False}


def test_turns_stay_within_the_tolerance_and_use_it():
    strap = plain_piece("strap", rectangle(102, 6), 3, rotation_tolerance_deg=20.0)
    with pytest.raises(LayoutError):
        lay_out(
            LayoutRequest((square_hide(),), (replace(strap, rotation_tolerance_deg=0.0),)),
            seed=1,
        )
    layout = laid(LayoutRequest((square_hide(),), (strap,)))
    assert layout.placed >= 1


def test_a_long_strap_finds_the_diagonal_when_it_may_turn_freely():
    strap = plain_piece("strap", rectangle(105, 5), 1, allowed_rotations_deg=None)
    assert laid(LayoutRequest((square_hide(),), (strap,))).placed == 1


def test_spacing_to_edges_and_defects_is_kept():
    hide = square_hide(defects_mm=(rectangle(10, 10, 45, 45),))
    piece = plain_piece("patch", rectangle(15, 15), 40)
    request = LayoutRequest((hide,), (piece,), spacing_mm=1.0, edge_spacing_mm=4.0)
    layout = laid(request)
    spot = Polygon(rectangle(10, 10, 45, 45))
    gaps = [laid_shape(piece, row).distance(spot) for row in layout.placements]
    assert min(gaps) >= 4.0 - 1e-3
    assert min(row.x_mm for row in layout.placements) >= 4.0 - 1e-3


def test_the_cheaper_hide_is_taken_when_either_would_do():
    hides = (
        square_hide(name="H-0001", cost=Decimal("30")),
        square_hide(name="H-0002", cost=Decimal("12")),
    )
    piece = plain_piece("toe box", rectangle(30, 20), 4, per_set=2)
    layout = laid(LayoutRequest(hides, (piece,)), steps=30)
    assert layout.complete_sets == 2
    assert {row.container for row in layout.placements} == {"H-0002"}


def test_a_second_hide_is_opened_for_a_whole_pair_but_not_for_odd_pieces():
    hides = (
        square_hide(60, name="H-0001", cost=Decimal("5")),
        square_hide(60, name="H-0002", cost=Decimal("50")),
    )
    # Nine patches of 20 mm fill one hide; a pair takes four.
    patch = plain_piece("patch", rectangle(20, 20), 16, per_set=4)
    both = laid(LayoutRequest(hides, (patch,), spacing_mm=0.0), steps=30)
    assert both.complete_sets == 4
    assert {row.container for row in both.placements} == {"H-0001", "H-0002"}
    odd = replace(patch, quantity=11)
    one = laid(LayoutRequest(hides, (odd,), spacing_mm=0.0), steps=30)
    assert one.complete_sets == 2
    assert {row.container for row in one.placements} == {"H-0001"}
    assert one.placed == 9


def test_a_whole_pair_counts_more_than_a_larger_area():
    # Either two squares of 60 mm beside each other, or pairs of a narrow strap.
    large = plain_piece("sole", rectangle(60, 60), 1)
    left = plain_piece("strap", rectangle(90, 30), 3, per_set=3)
    layout = laid(LayoutRequest((square_hide(),), (large, left), spacing_mm=0.0), steps=90)
    assert layout.complete_sets == 1


def test_pieces_that_all_fit_are_pushed_together():
    patch = plain_piece("patch", rectangle(20, 20), 4)
    request = LayoutRequest((square_hide(200),), (patch,), spacing_mm=2.0)
    layout = laid(request, steps=60)
    waste = layout_waste(request, layout)
    # Best: a 42 x 42 mm corner, 1,764 mm2 for 1,600 mm2 of pieces.
    assert layout.placed == 4
    assert waste.occupied_area_mm2 == pytest.approx(42.0**2, rel=0.06)


def test_laying_one_more_piece_never_makes_the_occupied_area_smaller():
    patch = plain_piece("patch", rectangle(20, 15), 12)
    request = LayoutRequest((square_hide(130),), (patch,))
    layout = laid(request)
    occupied = [
        layout_waste(
            request, replace(layout, placements=layout.placements[:count])
        ).occupied_area_mm2
        for count in range(layout.placed + 1)
    ]
    assert occupied == sorted(occupied)
    assert occupied[0] == 0.0


def test_a_piece_that_fits_nowhere_is_named_with_both_sizes():
    hide = square_hide(60, name="H-0012", defects_mm=(rectangle(10, 60, 20, 0),))
    side = plain_piece("outer side", rectangle(64, 48), 2)
    with pytest.raises(LayoutError) as caught:
        lay_out(LayoutRequest((hide,), (side,)), seed=1)
    error = caught.value
    assert (error.code, error.field) == ("piece_too_large", "pieces.0.outer")
    assert error.text == (
        "Outer side does not fit hide H-0012: it needs 64 × 48 mm clear of defects; "
        "the largest clear spot is 30 × 60 mm. Pick another hide."
    )
    assert error.parameters["needed_width_mm"] == pytest.approx(64.0)
    assert error.parameters["clear_height_mm"] == pytest.approx(60.0, abs=1.0)


def test_a_piece_that_fits_exactly_is_laid():
    piece = plain_piece("patch", rectangle(59.9, 59.9), 1)
    assert laid(LayoutRequest((square_hide(60),), (piece,))).placed == 1


def test_fixed_pieces_that_cannot_stay_are_refused():
    patch = plain_piece("patch", rectangle(20, 20), 4)
    rows = [
        (Placement("patch", "H-0001", 90.0, 0.0, 0.0, False),),
        (Placement("patch", "H-0001", 0.0, 0.0, 45.0, False),),
        (Placement("patch", "H-0001", 0.0, 0.0, 0.0, True),),
        (
            Placement("patch", "H-0001", 0.0, 0.0, 0.0, False),
            Placement("patch", "H-0001", 15.0, 0.0, 0.0, False),
        ),
    ]
    for fixed in rows:
        with pytest.raises(LayoutError) as caught:
            lay_out(LayoutRequest((square_hide(),), (patch,), fixed), seed=1)
        assert caught.value.code == "fixed_faulty"


def test_the_check_finds_each_kind_of_fault():
    hide = square_hide(
        defects_mm=(rectangle(10, 10, 80, 80),), areas=(GradedArea(2, rectangle(20, 20)),)
    )
    patch = plain_piece("patch", rectangle(10, 10), 2, grade=1)
    request = LayoutRequest((hide,), (patch,), spacing_mm=1.0, edge_spacing_mm=2.0)

    def faults(*rows: tuple[float, float, float, bool]) -> str:
        placements = [Placement("patch", "H-0001", *row) for row in rows]
        return "; ".join(layout_faults(request, placements))

    assert faults((30, 30, 0, False), (50, 30, 0, False)) == ""
    assert "overlap" in faults((30, 30, 0, False), (35, 30, 0, False))
    assert "0.5000 mm apart" in faults((30, 30, 0, False), (40.5, 30, 0, False))
    assert "outside" in faults((95, 30, 0, False))
    assert "outside" in faults((75, 75, 0, False))
    assert "1.000 mm from an edge or defect" in faults((69, 79, 0, False))
    assert "grade 2" in faults((15, 15, 0, False))
    assert "turned by 7" in faults((40, 40, 7, False))
    assert "mirrored 1 times" in faults((40, 40, 0, True))
    three = ((30, 30, 0, False), (50, 30, 0, False), (30, 50, 0, False))
    assert "3 times, 2 asked" in faults(*three)
    with pytest.raises(LayoutError, match="turned by 7"):
        check_layout(request, [Placement("patch", "H-0001", 40, 40, 7, False)])


def test_pairs_of_two_kinds_are_not_counted_together():
    rows = (
        plain_piece("a", rectangle(9, 9), 2, per_set=2),
        plain_piece("b", rectangle(9, 9), 2, per_set=2, set_name="other pair"),
    )
    with pytest.raises(LayoutError) as caught:
        pairs_that_fit(LayoutRequest((square_hide(),), rows), seed=1)
    assert caught.value.code == "no_single_set"
