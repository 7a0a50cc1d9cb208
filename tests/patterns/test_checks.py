from dataclasses import replace

import pytest
from samples_feet import drafted

from patterns.checks import check_pieces
from patterns.pieces.piece import Hole, Line


def changed(name, **changes):
    pieces = drafted("measures")
    parts = tuple(replace(p, **changes) if p.name == name else p for p in pieces.pieces)
    return replace(pieces, pieces=parts)


def side():
    return drafted("measures").piece("inner side")


def codes(pieces):
    return [message.code for message in check_pieces(pieces)]


def test_drawn_pieces_pass():
    assert codes(drafted("measures")) == []


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: {"net_mm": ((0, 0), (9, 9), (9, 0), (0, 9))}, "outline-crosses"),
        (lambda: {"cut_mm": tuple((0.9 * x, 0.9 * y) for x, y in side().net_mm)}, "cut-inside-net"),
        (lambda: {"lines": (Line("mark", ((0, 0), (500, 0))),)}, "line-off-piece"),
        (lambda: {"notches": (replace(side().notches[0], depth_mm=99.0),)}, "notch-off-edge"),
    ],
)
def test_a_spoilt_piece_is_stopped(make, code):
    assert codes(changed("inner side", **make()))[0] == code


def test_eyelets_off_the_piece_or_too_close_or_unequal_are_stopped():
    holes = side().holes
    outside = (*holes[:-1], Hole("eyelet", 500.0, 0.0, 2.5))
    near = (*holes[:-1], replace(holes[0], x_mm=holes[0].x_mm + 1.0))
    assert codes(changed("inner side", holes=outside)) == ["eyelet-off-piece"]
    assert codes(changed("inner side", holes=near)) == ["eyelets-close"]
    assert codes(changed("inner side", holes=holes[:-1])) == ["eyelets-unequal"]


def test_edges_of_different_length_are_stopped():
    pieces = drafted("measures")
    seams = (replace(pieces.seams[0], length_a_mm=pieces.seams[0].length_b_mm + 0.3),)
    assert codes(replace(pieces, seams=seams)) == ["edges-differ"]
