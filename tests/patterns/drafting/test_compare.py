from math import cos, radians, sin

import pytest
from shapely.geometry import Polygon

from patterns.drafting.compare import compare_pieces, piece_difference
from patterns.drafting.effects import measuring_effects
from patterns.pieces.piece import Piece
from patterns.style import load_style
from tests.patterns.samples_drafts import cut
from tests.patterns.samples_feet import mesh_foot, sample_foot

BOOT = load_style("lace-up-ankle-boot")
SHAPE = ((0.0, 0.0), (40.0, 0.0), (46.0, 12.0), (30.0, 25.0), (5.0, 18.0))


def flat_piece(ring):
    return Piece("part", 2, 1, "upper", tuple(ring), tuple(ring))


def turned(ring, deg, dx, dy):
    c, s = cos(radians(deg)), sin(radians(deg))
    return [(c * x - s * y + dx, s * x + c * y + dy) for x, y in ring]


def test_a_piece_turned_and_moved_is_the_same_piece():
    other = flat_piece(turned(SHAPE, 25.0, 30.0, -12.0))
    difference = piece_difference(flat_piece(SHAPE), other)
    assert difference.most_mm < 0.02
    assert difference.longer_mm == pytest.approx(0.0, abs=0.05)


def test_a_rim_two_mm_wider_lies_two_mm_off_all_round():
    wider = Polygon(SHAPE).buffer(2.0, quad_segs=24)
    difference = piece_difference(flat_piece(SHAPE), flat_piece(list(wider.exterior.coords)[:-1]))
    # Source: a curve parallel to a closed convex one at distance t is 2 pi t longer.
    assert difference.longer_mm == pytest.approx(2 * 3.14159265 * 2.0, abs=0.1)
    assert difference.mean_mm == pytest.approx(2.0, abs=0.25)


def test_a_set_compared_with_itself_shows_no_difference():
    assert max(d.most_mm for d in compare_pieces(cut(), cut())) < 1e-6


def test_only_pieces_of_both_sets_are_compared():
    bare = cut(back_stay=False)
    assert "back stay" not in {d.piece for d in compare_pieces(bare, cut())}


def test_an_error_of_the_ankle_girth_moves_the_sides_by_about_half_of_it():
    foot = sample_foot()
    found = {}

    def only_first(done, of):
        found["of"] = of

    looked_at = ("instep_girth", "ankle_girth", "heel_raise")
    effects = measuring_effects(
        foot, BOOT, {}, error_mm=1.0, measures=looked_at, progress=only_first
    )
    assert found["of"] == 2  # a flat foot's raise is seen, not measured
    assert [e.most_mm for e in effects] == sorted((e.most_mm for e in effects), reverse=True)
    ankle = next(e for e in effects if e.measure == "ankle_girth")
    assert ankle.error_mm == 1.0
    assert 0.15 < ankle.moved_mm["outer side"] < 1.5
    assert ankle.moved_mm["insole"] < 0.1


def test_work_on_effects_ends_when_it_is_told_to():
    def stop(done, of):
        raise InterruptedError

    with pytest.raises(InterruptedError):
        measuring_effects(sample_foot(), BOOT, {}, progress=stop)


def test_a_mesh_has_no_tape_s_error():
    assert measuring_effects(mesh_foot(), BOOT, {}) == ()
