import math
from dataclasses import replace

import pytest

from patterns.errors import LayoutError
from patterns.hide import GradedArea
from patterns.layout import lay_out, layout_faults, request_from_pieces
from patterns.pieces.piece import Piece, PieceSet
from tests.samples_layouts import rectangle, square_hide

CORNER = ((0, 0), (30, 0), (30, 8), (8, 8), (8, 20), (0, 20))


def pair_of(*pieces: Piece) -> PieceSet:
    return PieceSet(
        "lace-shoe", "sample", "pair", "1", {}, "measures", (), (), (), (), (), tuple(pieces)
    )


def piece(name: str, **more) -> Piece:
    values = {"quantity": 2, "mirrored_quantity": 1, "material": "upper", **more}
    return Piece(name, net_mm=rectangle(5, 5), cut_mm=CORNER, **values)


def test_quantities_are_those_of_the_pairs_and_only_of_the_material():
    pieces = pair_of(piece("side"), piece("sock", material="lining"))
    request = request_from_pieces(pieces, [square_hide()], pair_count=3, spacing_mm=2.0)
    (side,) = request.pieces
    assert (side.id, side.quantity, side.mirrored_quantity) == ("side", 6, 3)
    assert (side.per_set, side.per_set_mirrored) == (2, 1)
    assert side.outline_mm == CORNER
    assert request.spacing_mm == 2.0


@pytest.mark.parametrize("tight_way_deg", [0.0, 90.0, 30.0, -70.0, 200.0])
def test_the_tight_way_of_every_copy_lies_along_the_hide(tight_way_deg):
    pieces = pair_of(piece("side", tight_way_deg=tight_way_deg, rotation_tolerance_deg=6.0))
    request = request_from_pieces(pieces, [square_hide(160)], pair_count=3)
    layout = lay_out(request, seed=1, steps=4)
    assert layout.placed == 6
    assert layout_faults(request, layout.placements) == ()
    for row in layout.placements:
        on_image = 180.0 - tight_way_deg if row.mirrored else tight_way_deg
        off = math.sin(math.radians(on_image + row.rotation_deg))
        assert abs(math.degrees(math.asin(off))) <= 6.0 + 1e-6


def test_a_piece_with_a_quarter_turn_of_tolerance_turns_freely():
    request = request_from_pieces(
        pair_of(piece("patch", rotation_tolerance_deg=90.0)), [square_hide()], pair_count=1
    )
    assert request.pieces[0].allowed_rotations_deg is None


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"pair_count": 0}, "pair_count"),
        ({"pair_count": 10**6}, "pair_count"),
        ({"pair_count": 300}, "pair_count"),
        ({"pair_count": 1, "material": "sole"}, "material"),
        ({"pair_count": 1, "spacing_mm": -1.0}, "spacing_mm"),
    ],
)
def test_an_impossible_wish_is_refused_by_field(more, field):
    pieces = pair_of(piece("side"))
    with pytest.raises(LayoutError) as caught:
        request_from_pieces(pieces, [square_hide()], **more)
    assert caught.value.field == field


def test_a_graded_piece_keeps_off_leather_that_is_worse_and_another_takes_it():
    belly = GradedArea(2, rectangle(88, 100))
    hide = replace(square_hide(100), areas=(belly,))
    best = pair_of(piece("side", grade=1))
    with pytest.raises(
        LayoutError, match="clear of defects and of leather below grade 1"
    ) as caught:
        lay_out(request_from_pieces(best, [hide], pair_count=1), seed=1, steps=3)
    assert caught.value.parameters["clear_width_mm"] == pytest.approx(12, abs=1.5)
    layout = lay_out(
        request_from_pieces(pair_of(piece("stay")), [hide], pair_count=1), seed=1, steps=3
    )
    assert layout.placed == 2
