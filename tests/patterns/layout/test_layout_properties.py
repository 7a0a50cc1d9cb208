import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.hide import GradedArea, Hide
from patterns.layout import LayoutPiece, LayoutRequest, lay_out, layout_waste
from tests.samples_layouts import ring_round, verified

RUNS = settings(max_examples=30, deadline=None)


@st.composite
def hides(draw, number: int) -> Hide:
    x, y = draw(st.floats(-300, 300)), draw(st.floats(-300, 300))
    outline = ring_round(draw(st.lists(st.floats(60, 110), min_size=5, max_size=20)), x, y)
    defects = tuple(
        ring_round(
            draw(st.lists(st.floats(2, 12), min_size=3, max_size=7)),
            x + draw(st.floats(-60, 60)),
            y + draw(st.floats(-60, 60)),
        )
        for _ in range(draw(st.integers(0, 3)))
    )
    areas = tuple(
        GradedArea(grade, ring_round([30.0] * 7, x + 30.0 * grade, y))
        for grade in draw(st.lists(st.integers(2, 3), max_size=2, unique=True))
    )
    cost = draw(st.sampled_from([None, Decimal("4.50"), Decimal("20")]))
    return Hide(f"H-{number:04d}", outline, defects, areas, cost)


@st.composite
def pieces(draw, number: int) -> LayoutPiece:
    quantity = draw(st.integers(2, 6))
    mirrored = draw(st.sampled_from([0, quantity // 2]))
    per_set = draw(st.sampled_from([0, 2]))
    return LayoutPiece(
        id=f"piece {number}",
        outline_mm=ring_round(
            draw(st.lists(st.floats(5, 18), min_size=3, max_size=12)),
            draw(st.floats(-15, 15)),
            draw(st.floats(-15, 15)),
        ),
        quantity=quantity,
        mirrored_quantity=mirrored,
        mirror_free=draw(st.booleans()),
        allowed_rotations_deg=draw(st.sampled_from([None, (0.0, 180.0), (33.0,)])),
        rotation_tolerance_deg=draw(st.sampled_from([0.0, 5.0])),
        per_set=per_set,
        per_set_mirrored=1 if per_set and mirrored else 0,
        grade=draw(st.sampled_from([None, 1, 2])),
    )


@st.composite
def requests(draw) -> LayoutRequest:
    return LayoutRequest(
        hides=tuple(draw(hides(n)) for n in range(draw(st.integers(1, 2)))),
        pieces=tuple(draw(pieces(n)) for n in range(draw(st.integers(1, 3)))),
        spacing_mm=draw(st.sampled_from([0.0, 1.5, 3.0])),
        edge_spacing_mm=draw(st.sampled_from([0.0, 2.0])),
    )


@given(requests(), st.integers(0, 1000))
@RUNS
def test_no_layout_overlaps_or_leaves_the_hide(request, seed):
    layout = lay_out(request, seed=seed, steps=4)
    verified(request, layout)
    waste = layout_waste(request, layout)
    assert 0.0 <= waste.waste_share < 1.0
    assert waste.used_area_mm2 <= waste.occupied_area_mm2 <= waste.usable_area_mm2 * (1 + 1e-9)
    share_used = waste.occupied_area_mm2 * (1.0 - waste.waste_share)
    assert share_used == pytest.approx(layout.used_area_mm2, rel=1e-9, abs=1e-6)


@given(requests(), st.integers(0, 1000))
@settings(max_examples=6, deadline=None)
def test_fixed_pieces_stay_where_they_are(request, seed):
    first = lay_out(request, seed=seed, steps=1)
    kept = first.placements[::2]
    again = replace(request, fixed=kept)
    layout = lay_out(again, seed=seed + 1, steps=3)
    assert layout.placements[: len(kept)] == kept
    verified(again, layout)


@given(st.floats(0.0, 360.0), st.booleans())
@settings(max_examples=8, deadline=None)
def test_a_fixed_piece_at_any_angle_and_place_is_kept_clear(angle, mirrored):
    from patterns.layout import Placement

    hook = ((0, 0), (40, 0), (40, 10), (10, 10), (10, 30), (0, 30))
    x, y = 50.0 + 7.0 * math.cos(angle), 50.0 + math.pi
    request = LayoutRequest(
        hides=(Hide("H-0001", ring_round([75.0] * 40, 50, 50)),),
        pieces=(
            LayoutPiece("hook", hook, 12, 6, allowed_rotations_deg=None),
            LayoutPiece("tab", ring_round([6.0] * 5), 20),
        ),
        fixed=(Placement("hook", "H-0001", x, y, angle, mirrored),),
    )
    layout = lay_out(request, seed=1, steps=2)
    verified(request, layout)
    assert layout.placements[0] == request.fixed[0]
    assert layout.placed > 8
