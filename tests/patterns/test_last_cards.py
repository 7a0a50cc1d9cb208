from math import inf, nan

import numpy as np
import pytest
import shapely
from samples_feet import sample_foot
from shapely.geometry import LineString, Polygon

from patterns.errors import PatternError
from patterns.foot import Foot
from patterns.last import build_last, wrapped
from patterns.last.cards import CardSections, card_sections
from patterns.last.last import Last
from patterns.last.solid import mirrored_last
from patterns.pieces.piece import Piece
from tests.samples_meshes import leg_mesh, sample_mesh

THICK, SPACING = 1.0, 8.0
CACHE: dict[str, Last] = {}


def last_of(name: str) -> Last:
    if name not in CACHE:
        mesh = {"leg": leg_mesh, "mesh": sample_mesh}.get(name)
        if mesh is not None:
            foot = Foot(name, {"foot_length": 75.0}, mesh=mesh())
            CACHE[name] = build_last(foot, top_mm=160.0 if name == "leg" else 75.0)
        elif name == "right":
            CACHE[name] = mirrored_last(last_of("drawn"))
        else:
            drawn = build_last(sample_foot(), top_mm=60.0)
            CACHE[name] = drawn if name == "drawn" else wrapped(drawn, 1.5)
    return CACHE[name]


LASTS = ("drawn", "wrapped", "right", "mesh", "leg")


def cards(name: str, thick: float = THICK, spacing: float = SPACING) -> CardSections:
    return card_sections(last_of(name), card_thickness_mm=thick, spacing_mm=spacing)


def slot_of(piece: Piece, thick: float, at: float, upward: bool) -> float:
    """Height of the inner end of the slot at a place: where the card begins again."""
    body = Polygon(piece.net_mm)
    line = LineString([(at, body.bounds[1] - 1), (at, body.bounds[3] + 1)])
    cut = body.intersection(line)
    pieces = getattr(cut, "geoms", [cut])
    for side in (-0.49, 0.49):  # as wide as the card is thick, no wider
        x = at + side * thick
        assert not body.contains(shapely.Point(x, _beside(pieces, upward)))
    return min(p.bounds[1] for p in pieces) if upward else max(p.bounds[3] for p in pieces)


def _beside(pieces, upward: bool) -> float:
    inner = min(p.bounds[1] for p in pieces) if upward else max(p.bounds[3] for p in pieces)
    return inner - 0.2 if upward else inner + 0.2


@pytest.mark.parametrize("name", LASTS)
def test_every_card_is_one_sound_outline_with_a_name_of_its_own(name):
    found = cards(name)
    assert [piece.name for piece in found.pieces].count("lengthwise card") == 1
    assert len({piece.name for piece in found.pieces}) == len(found.pieces) >= 8
    for piece in found.pieces:
        assert Polygon(piece.net_mm).is_valid
        assert Polygon(piece.net_mm).exterior.is_ccw
        assert piece.material == "card"
        assert (piece.quantity, piece.mirrored_quantity) == (1, 0)


@pytest.mark.parametrize("name", ["drawn", "wrapped", "mesh"])
def test_half_slots_meet_half_way_and_are_as_wide_as_the_card(name):
    found = cards(name)
    lengthwise = found.pieces[0]
    lower = [piece for piece in found.pieces[1:] if "upper" not in piece.name]
    marks = sorted(line.points_mm[0][0] for line in lengthwise.lines)
    places = sorted(set(marks))
    assert len(places) == len(lower)
    for piece, x in zip(lower, places, strict=True):
        inner = slot_of(piece, THICK, 0.0, upward=True)
        body = Polygon(lengthwise.net_mm)
        column = body.intersection(LineString([(x, -50.0), (x, 300.0)]))
        ends = [p.bounds[3] for p in getattr(column, "geoms", [column])]
        assert min(abs(end - inner) for end in ends) < 0.02, piece.name
        left, right = (body.contains(shapely.Point(x + s * 0.6 * THICK, inner + 0.3))
                       for s in (-1, 1))  # fmt: skip
        assert left or right  # beside the slot there is card


def test_steps_are_even_but_where_an_edge_runs_upright():
    found = cards("drawn")
    places = sorted({line.points_mm[0][0] for line in found.pieces[0].lines})
    steps = np.diff(places)
    assert np.abs(steps - SPACING).max() <= 4 * THICK + 1e-9
    assert np.median(steps) == pytest.approx(SPACING)


@pytest.mark.parametrize("name", LASTS)
def test_no_card_stands_out_of_the_last(name):
    last, found = last_of(name), cards(name)
    for piece in found.pieces[1:]:
        width = np.ptp(np.array(piece.net_mm)[:, 0])
        assert width <= np.ptp(last.points_mm[:, 1]) + 1e-6
    ring = np.array(found.pieces[0].net_mm)
    assert ring[:, 0].min() >= last.points_mm[:, 0].min() - 1e-6
    assert ring[:, 0].max() <= last.points_mm[:, 0].max() + 1e-6


def test_cards_of_a_box_shaped_section_have_the_last_s_own_size():
    last = last_of("drawn")
    thin = cards("drawn", thick=0.1, spacing=5.0)
    body = Polygon(thin.pieces[0].net_mm)
    x0, _, x1, _ = body.bounds
    assert x1 - x0 == pytest.approx(np.ptp(last.points_mm[:, 0]), abs=0.6)
    heights = np.ptp(np.array(thin.pieces[0].net_mm)[:, 1])
    assert heights == pytest.approx(60.0, abs=0.6)


def test_the_lengthwise_card_leans_with_the_leg():
    assert abs(cards("drawn").lean_deg) < 1.5
    assert 3.0 < abs(cards("leg").lean_deg) < 12.0
    upper = [piece for piece in cards("leg").pieces if "upper" in piece.name]
    assert upper  # the calf that hangs over the instep has cards of its own


def test_left_and_right_give_mirrored_cross_cards():
    left, right = cards("drawn"), cards("right")
    assert [piece.name for piece in left.pieces] == [piece.name for piece in right.pieces]
    for one, other in zip(left.pieces, right.pieces, strict=True):
        flipped = Polygon([(-x, y) for x, y in other.net_mm])
        same = Polygon(other.net_mm) if one.name == "lengthwise card" else flipped
        assert Polygon(one.net_mm).symmetric_difference(same).area < 2e-3 * same.area


@pytest.mark.parametrize(
    ("thick", "spacing", "field"),
    [
        (0.0, 8.0, "card_thickness_mm"),
        (nan, 8.0, "card_thickness_mm"),
        (1.0, inf, "spacing_mm"),
        (1.0, 1.0, "spacing_mm"),
        (4.0, 8.0, "spacing_mm"),
    ],
)
def test_sizes_that_cannot_be_slotted_are_refused(thick, spacing, field):
    with pytest.raises(PatternError) as caught:
        cards("drawn", thick, spacing)
    assert caught.value.field == field


def test_card_too_thick_for_a_small_foot_is_refused():
    small = build_last(Foot("small", {"foot_length": 25.0}))
    with pytest.raises(PatternError) as caught:
        card_sections(small, card_thickness_mm=5.0, spacing_mm=20.0)
    assert caught.value.code == "cards-none"
