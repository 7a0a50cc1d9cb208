"""What is left of a cut hide: the areas add up, nothing narrow or small is kept."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from patterns.errors import LayoutError
from patterns.hide import DEFECTS_MAX, GradedArea, Hide
from patterns.hide_area import rectangle_ring, usable_hide_area_mm2, worth_area_mm2
from patterns.layout.ground import laid_shape, usable_shape
from patterns.layout.leftovers import CUT_OUT, leftovers
from patterns.layout.values import Layout, LayoutPiece, LayoutRequest, Placement
from tests.samples_layouts import rectangle, ring_round

SQUARE = LayoutPiece("square", rectangle(50.0, 50.0), 40)


def cut(hide, *corners, spacing_mm=2.0, piece=SQUARE, **least):
    """Return what is left of a hide once the piece lies with its corner at each place."""
    request = LayoutRequest((hide,), (piece,), spacing_mm=spacing_mm)
    rows = tuple(Placement(piece.id, hide.id, x, y, 0.0, False) for x, y in corners)
    layout = Layout(rows, len(rows), 40, 0, 0.0, 0.0, 1, 1)
    return leftovers(hide, request, layout, **least), [laid_shape(piece, row) for row in rows]


def shape(hide):
    return usable_shape(hide)


def test_a_cut_along_one_side_leaves_one_plain_rectangle():
    # Two squares 50 high and 2 apart fill a 102 wide strip's lower end; the gap of 2 goes with it.
    hide = Hide("H-0001", rectangle(102.0, 300.0))
    left, _laid = cut(hide, (0, 0), (52, 0))
    (rest,) = left.remnants
    # 102 x (300 - 52), less the third of a millimetre the knife's way is simplified by.
    assert usable_hide_area_mm2(rest) == pytest.approx(102 * 248, abs=102 * 0.35)
    assert left.pieces_mm2 == pytest.approx(5000.0)
    assert left.waste_mm2 == pytest.approx(102 * 300 - 5000 - 102 * 248, abs=102 * 0.35)
    assert rest.id == "H-0001/1"
    assert len(rest.outline_mm) < 12


def test_a_piece_from_the_middle_leaves_a_hole_with_its_kind():
    scar = rectangle(20.0, 20.0, 250.0, 250.0)
    hide = Hide("H-0001", rectangle(300.0, 300.0), (scar,), defect_kinds=("scar",))
    left, _laid = cut(hide, (60, 60))
    (rest,) = left.remnants
    assert sorted(rest.defect_kinds) == [CUT_OUT, "scar"]
    assert usable_hide_area_mm2(rest) == pytest.approx(left.remnants_mm2)


def test_a_sliver_beside_a_piece_is_dropped_and_a_strip_as_wide_as_asked_is_kept():
    hide = Hide("H-0001", rectangle(50.0 + 2.0 + 30.0, 50.0))
    kept, _ = cut(hide, (0, 0), least_width_mm=29.0, least_area_mm2=1000.0)
    dropped, _ = cut(hide, (0, 0), least_width_mm=31.0, least_area_mm2=1000.0)
    assert len(kept.remnants) == 1
    assert dropped.remnants == ()
    assert dropped.waste_mm2 == pytest.approx(32 * 50)


def test_what_is_smaller_than_the_smallest_useful_area_is_waste():
    hide = Hide("H-0001", rectangle(50.0 + 2.0 + 40.0, 50.0))
    assert cut(hide, (0, 0), least_area_mm2=1970.0)[0].remnants
    assert not cut(hide, (0, 0), least_area_mm2=2010.0)[0].remnants


def test_a_narrow_neck_is_cut_through_and_leaves_two_remnants():
    # Two rooms of 100 x 100 joined by a neck 10 wide.
    ring = ((0, 0), (100, 0), (100, 45), (160, 45), (160, 0), (260, 0), (260, 100), (160, 100),
            (160, 55), (100, 55), (100, 100), (0, 100))  # fmt: skip
    left, _laid = cut(Hide("H-0001", ring))
    assert len(left.remnants) == 2
    for rest in left.remnants:
        assert usable_hide_area_mm2(rest) == pytest.approx(10_000, rel=0.002)


def test_graded_areas_are_clipped_to_the_remnant_and_keep_name_and_worth():
    belly = GradedArea(2, rectangle(100.0, 300.0, 200.0, 0.0), "belly", 0.5)
    hide = Hide("H-0001", rectangle(300.0, 300.0), areas=(belly,))
    left, _laid = cut(hide, *[(x, 0) for x in (0, 52, 104, 156, 208)])
    (rest,) = left.remnants
    assert [(area.name, area.worth) for area in rest.areas] == [("belly", 0.5)]
    # About 248 x 300 of the rest, a third of it belly at half the worth.
    assert worth_area_mm2(rest) == pytest.approx(248 * 250, rel=0.02)


def test_hundreds_of_holes_and_points_are_brought_down_to_what_a_hide_may_have():
    # 324 small squares on a grid of 40 leave 324 holes in one sheet with a finely traced edge.
    ring = ring_round([560.0 + 3.0 * math.sin(k) for k in range(4990)])
    small = LayoutPiece("small", rectangle(4.0, 4.0), 400)
    places = [(40.0 * i, 40.0 * j) for i in range(-9, 9) for j in range(-9, 9)]
    left, laid = cut(Hide("H-0001", ring), *places, piece=small, least_width_mm=30.0)
    for rest in left.remnants:
        assert len(rest.defects_mm) <= DEFECTS_MAX
        assert len(rest.outline_mm) <= 2_500
        ground = shape(rest)
        assert not any(ground.intersects(piece) for piece in laid)
    kept = sum(usable_hide_area_mm2(rest) for rest in left.remnants)
    assert kept == pytest.approx(left.remnants_mm2, rel=1e-6)
    # The squares and the gap of 2 round each are 324 x 64 mm² of about 985 000.
    assert kept > 0.97 * (usable_hide_area_mm2(Hide("H-0001", ring)) - 324 * 64)
    whole = usable_hide_area_mm2(Hide("H-0001", ring))
    assert left.pieces_mm2 + left.remnants_mm2 + left.waste_mm2 == pytest.approx(whole, rel=1e-3)


@pytest.mark.parametrize(
    "least",
    [
        {"least_width_mm": -1.0},
        {"least_width_mm": math.nan},
        {"least_width_mm": 1001.0},
        {"least_area_mm2": -0.1},
        {"least_area_mm2": math.inf},
    ],
)
def test_a_useful_size_out_of_range_is_refused_by_name(least):
    with pytest.raises(LayoutError) as caught:
        cut(Hide("H-0001", rectangle(100.0, 100.0)), (0, 0), **least)
    assert caught.value.field == next(iter(least))


@settings(max_examples=25, deadline=None)
@given(
    radii=st.lists(st.floats(120.0, 220.0), min_size=6, max_size=16),
    places=st.lists(st.tuples(st.integers(-3, 2), st.integers(-3, 2)), max_size=12, unique=True),
    defect=st.tuples(st.floats(-80.0, 80.0), st.floats(-80.0, 80.0), st.floats(3.0, 30.0)),
    width_mm=st.sampled_from([0.0, 10.0, 25.0, 40.0]),
    spacing_mm=st.sampled_from([0.0, 1.5, 3.0]),
)
def test_pieces_waste_and_remnants_are_the_whole_hide(radii, places, defect, width_mm, spacing_mm):
    x, y, size = defect
    hide = Hide("H-0001", ring_round(radii), (rectangle_ring(x, y, size, size),))
    # Squares of 26 on a grid of 30: whatever lies inside stays, as a layout would have it.
    piece = LayoutPiece("square", rectangle(26.0, 26.0), 40)
    inside = [
        (30.0 * i, 30.0 * j)
        for i, j in places
        if usable_shape(hide).covers(Polygon(rectangle(26.0, 26.0, 30.0 * i, 30.0 * j)))
    ]
    left, laid = cut(hide, *inside, spacing_mm=spacing_mm, piece=piece, least_width_mm=width_mm,
                     least_area_mm2=500.0)  # fmt: skip
    whole = usable_hide_area_mm2(hide)
    total = left.pieces_mm2 + left.remnants_mm2 + left.waste_mm2
    assert total == pytest.approx(whole, rel=1e-3)
    assert left.pieces_mm2 == pytest.approx(len(inside) * 26.0 * 26.0)
    for rest in left.remnants:
        ground = shape(rest)
        assert ground.difference(usable_shape(hide)).area < 1e-3
        assert all(ground.distance(piece) >= spacing_mm - 1e-6 for piece in laid)
        assert usable_hide_area_mm2(rest) >= 500.0 - 1e-6
        # The recorded remnant is what was measured: its rings hold no more than its area.
        assert rest.named_defects or ground.area == pytest.approx(Polygon(rest.outline_mm).area)
    together = [shape(rest) for rest in left.remnants]
    assert sum(part.area for part in together) == pytest.approx(left.remnants_mm2, rel=1e-6)
