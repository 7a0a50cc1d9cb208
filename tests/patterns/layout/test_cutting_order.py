"""The order to cut in: lasted uppers first, large before small, neighbours after each other."""

from dataclasses import replace

from patterns.layout.cutting_order import cutting_order, is_lasted
from patterns.layout.from_pieces import request_from_pieces
from patterns.layout.values import Placement
from patterns.pieces.piece import Edge, EdgeName
from tests.samples_layouts import square_hide
from tests.samples_pieces import piece_set, plain_piece, rectangle, tiny_boot


def names(steps):
    return [step.piece for step in steps]


def test_uppers_come_first_then_linings_soles_and_card():
    steps = cutting_order(tiny_boot(), pair_count=1)
    materials = list(dict.fromkeys(step.material for step in steps))
    assert materials == ["upper", "lining", "sole", "card"]
    assert len(steps) == sum(piece.quantity for piece in tiny_boot().pieces)


def test_what_is_pulled_over_the_last_comes_before_a_larger_piece_that_is_not():
    lasting = Edge("bottom", "lasting", 10.0, ((0.0, 0.0), (20.0, 0.0)))
    small = plain_piece("small", "upper", rectangle(20.0, 20.0), edges=(lasting,))
    large = plain_piece("large", "upper", rectangle(90.0, 90.0))
    assert is_lasted(small)
    assert not is_lasted(large)
    steps = cutting_order(piece_set((large, small)), pair_count=1)
    assert names(steps) == ["small", "small", "large", "large"]


def test_large_comes_before_small_and_copies_are_numbered_by_side():
    pieces = [plain_piece(f"p{k}", "upper", rectangle(10.0 * k, 10.0)) for k in (1, 3, 2)]
    steps = cutting_order(piece_set(tuple(pieces)), pair_count=2)
    assert list(dict.fromkeys(names(steps))) == ["p3", "p2", "p1"]
    first = [(s.mirrored, s.number, s.of) for s in steps if s.piece == "p3"]
    assert sorted(first) == [(False, 1, 2), (False, 2, 2), (True, 1, 2), (True, 2, 2)]


def test_what_is_sewn_to_the_piece_just_cut_comes_before_a_larger_one():
    seam = Edge("side", "seam", 3.0, ((0.0, 0.0), (10.0, 0.0)), EdgeName("small", "side"))
    pieces = (
        plain_piece("largest", "upper", rectangle(50.0, 50.0), quantity=1, edges=(seam,),
                    mirrored_quantity=0),
        plain_piece("middle", "upper", rectangle(40.0, 40.0), quantity=1, mirrored_quantity=0),
        plain_piece("small", "upper", rectangle(30.0, 30.0), quantity=1, mirrored_quantity=0),
    )  # fmt: skip
    assert names(cutting_order(piece_set(pieces), pair_count=1)) == ["largest", "small", "middle"]


def test_what_lies_beside_the_piece_just_cut_comes_before_a_larger_one_far_off():
    pieces = tuple(
        plain_piece(name, "upper", rectangle(side, side), quantity=1, mirrored_quantity=0)
        for name, side in (("largest", 50.0), ("middle", 40.0), ("small", 30.0))
    )
    request = request_from_pieces(piece_set(pieces), (square_hide(300.0),), pair_count=1)
    rows = (
        Placement("largest", "H-0001", 0.0, 0.0, 0.0, False),
        Placement("small", "H-0001", 51.5, 0.0, 0.0, False),
        Placement("middle", "H-0001", 200.0, 200.0, 0.0, False),
    )
    steps = cutting_order(piece_set(pieces), pair_count=1, request=request, placements=rows)
    assert names(steps) == ["largest", "small", "middle"]
    assert [step.placement for step in steps] == [rows[0], rows[1], rows[2]]


def test_hides_are_finished_one_by_one_and_pieces_without_a_place_come_last():
    piece = plain_piece("patch", "upper", rectangle(30.0, 30.0), mirrored_quantity=0, quantity=3)
    hides = (square_hide(name="H-0001"), square_hide(name="H-0002"))
    request = request_from_pieces(piece_set((piece,)), hides, pair_count=1)
    rows = (
        Placement("patch", "H-0002", 0.0, 0.0, 0.0, False),
        Placement("patch", "H-0001", 0.0, 0.0, 0.0, False),
    )
    steps = cutting_order(piece_set((piece,)), pair_count=1, request=request, placements=rows)
    where = [step.placement.container if step.placement else None for step in steps]
    assert where == ["H-0001", "H-0002", None]


def test_copies_that_may_be_either_are_listed_as_they_lie():
    piece = plain_piece("tongue", "upper", rectangle(20.0, 40.0), mirror_free=True)
    either = piece_set((replace(piece, mirrored_quantity=0),))
    request = request_from_pieces(either, (square_hide(),), pair_count=1)
    rows = (Placement("tongue", "H-0001", 60.0, 0.0, 0.0, True),)
    steps = cutting_order(either, pair_count=1, request=request, placements=rows)
    assert [(step.mirrored, step.placement) for step in steps] == [(True, rows[0]), (False, None)]
    assert [(step.number, step.of) for step in steps] == [(1, 2), (2, 2)]
