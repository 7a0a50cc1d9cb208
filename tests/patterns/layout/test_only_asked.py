"""A layout of many pairs cut back to the pairs asked for."""

from dataclasses import replace

from patterns.hide import Hide
from patterns.layout import check_layout, only_asked, pairs_that_fit
from patterns.layout.values import LayoutPiece, LayoutRequest

HIDE = Hide("H-0001", ((0.0, 0.0), (160.0, 0.0), (160.0, 100.0), (0.0, 100.0)))
SIDED = LayoutPiece(
    "side",
    ((0.0, 0.0), (30.0, 0.0), (24.0, 20.0), (0.0, 20.0)),
    quantity=2,
    mirrored_quantity=1,
    per_set=2,
    per_set_mirrored=1,
)
FREE = LayoutPiece(
    "toe box",
    ((0.0, 0.0), (20.0, 0.0), (10.0, 18.0)),
    quantity=2,
    mirror_free=True,
    per_set=2,
)


def test_a_layout_of_many_pairs_gives_the_one_asked_for():
    request = LayoutRequest(hides=(HIDE,), pieces=(SIDED, FREE), spacing_mm=1.5)
    pairs, many = pairs_that_fit(request, seed=1, steps=6)
    assert pairs > 1
    one = only_asked(request, many)
    assert (one.complete_sets, one.placed, one.requested) == (1, 4, 4)
    check_layout(request, one.placements)
    assert sorted((row.id, row.mirrored) for row in one.placements if row.id == "side") == [
        ("side", False),
        ("side", True),
    ]
    assert set(one.placements) <= set(many.placements)


def test_a_layout_with_nothing_to_spare_stays_as_it_is():
    request = LayoutRequest(hides=(HIDE,), pieces=(SIDED, FREE), spacing_mm=1.5)
    pairs, many = pairs_that_fit(request, seed=1, steps=6)
    asked = replace(
        request,
        pieces=tuple(
            replace(
                piece,
                quantity=piece.per_set * pairs,
                mirrored_quantity=piece.per_set_mirrored * pairs,
            )
            for piece in request.pieces
        ),
    )
    assert only_asked(asked, many).complete_sets == pairs
