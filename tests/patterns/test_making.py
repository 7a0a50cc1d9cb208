"""The order of the work read from the pieces of every style: nothing forgotten, nothing twice."""

import pytest

from patterns.drawing.numbered import draw_numbered
from patterns.pieces.making import SEWN, making_of
from patterns.style import style_names
from tests.patterns.samples_drafts import cut


@pytest.fixture(scope="module", params=style_names())
def pieces(request):
    return cut(style=request.param)


def test_every_seam_is_joined_once_overlaps_before_rounds(pieces):
    making = making_of(pieces)
    assert [join.number for join in making.joins] == list(range(1, len(pieces.seams) + 1))
    assert {(j.a, j.b) for j in making.joins} == {(s.a, s.b) for s in pieces.seams}
    order = [(SEWN.index(join.material), not join.is_lap) for join in making.joins]
    assert order == sorted(order)
    for join in making.joins:
        for name in (join.a, join.b):
            assert making.numbers_on(name.piece)[name.edge] == join.number


def test_every_piece_has_its_place_in_the_work(pieces):
    making = making_of(pieces)
    joined = {name.piece for join in making.joins for name in (join.a, join.b)}
    placed = joined | {piece.name for piece in (*making.set_on, *making.stiffeners, *making.filler)}
    placed |= {piece.name for piece in making.soles}
    for single in (making.tongue, making.insole, making.sock):
        if single is not None:
            placed.add(single.name)
    # Linings and tapes without a partner go in with the lining.
    left = {p.name for p in pieces.pieces} - placed
    assert all(pieces.piece(name).material == "lining" for name in left)


def test_edges_turned_and_margins_are_those_of_the_pieces(pieces):
    making = making_of(pieces)
    upper = [piece for piece in pieces.pieces if piece.material == "upper"]
    hems = [(p.name, e.name) for p in upper for e in p.edges if e.kind == "hem" and e.allowance_mm]
    assert [(edge.piece, edge.edge) for edge in making.turned] == hems
    assert {edge.width_mm for edge in making.thinned} <= {
        edge.allowance_mm for piece in upper for edge in piece.edges
    }
    holes = sum(len(piece.holes) * piece.quantity for piece in pieces.pieces)
    assert making.eyelets + making.hooks == holes
    assert len(making.lasted) == len(pieces.lasting)


def test_numbers_stand_once_at_each_joining_edge(pieces):
    making = making_of(pieces)
    for piece in pieces.pieces:
        numbers = making.numbers_on(piece.name)
        drawing = draw_numbered(piece, numbers, scale=0.4)
        assert sorted(w.text for w in drawing.words) == sorted(str(n) for n in numbers.values())
        rings = [s for s in drawing.strokes if s.kind == "leader"]
        assert len(rings) == len(numbers)
        assert all(len(ring.points_mm) > 20 for ring in rings)


def test_a_reduced_piece_keeps_its_outline():
    piece = cut(style="lace-shoe").piece("vamp")
    xs = [x for x, _ in piece.cut_mm]
    drawing = draw_numbered(piece, {}, scale=0.5)
    (edge,) = [stroke for stroke in drawing.strokes if stroke.kind == "cut"]
    drawn = [x for x, _ in edge.points_mm]
    assert max(drawn) - min(drawn) == pytest.approx(0.5 * (max(xs) - min(xs)), abs=0.06)
