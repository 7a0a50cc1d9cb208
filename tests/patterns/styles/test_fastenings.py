from itertools import pairwise
from math import dist

import pytest
from shapely import Point, Polygon

from patterns.drafting import draft_pieces
from patterns.errors import StyleError
from patterns.style import load_style
from tests.patterns.samples_drafts import cut
from tests.patterns.samples_feet import sample_foot

STRAPPED = load_style("strap-shoe")


def spread(piece):
    return max(x for x, _ in piece.net_mm) - min(x for x, _ in piece.net_mm)


def test_a_strap_reaches_over_the_instep_to_its_buckle_and_beyond():
    near = cut("measures", "strap-shoe").piece("strap")
    tail = cut("measures", "strap-shoe", strap_tail_mm=20.0).piece("strap")
    assert spread(tail) - spread(near) == pytest.approx(20.0 - 15.0, abs=0.01)
    lower = cut("measures", "strap-shoe", topline_waist_mm=7.0).piece("strap")
    assert spread(lower) > spread(near) + 1.0
    # The sample's girth half way along is 72.8 mm: over the top between two toplines lies less.
    assert spread(near) - 15.0 < 72.8


def test_holes_of_a_strap_are_evenly_apart_on_its_middle():
    strap = cut("measures", "strap-shoe", strap_hole_count=5.0).piece("strap")
    pitch = cut("measures", "strap-shoe").parameters["eyelet_pitch_mm"]
    places = [(hole.x_mm, hole.y_mm) for hole in strap.holes]
    assert len(places) == 5
    assert {y for _, y in places} == {0.0}
    steps = [dist(a, b) for a, b in pairwise(places)]
    assert steps == pytest.approx([pitch] * 4)
    assert all(Polygon(strap.net_mm).contains(Point(place)) for place in places)


def test_a_buckle_tab_is_doubled_round_its_bar():
    tab = cut("measures", "strap-shoe").piece("strap buckle tab")
    reach = cut("measures", "strap-shoe").parameters["strap_buckle_mm"]
    assert spread(tab) == pytest.approx(2 * reach)
    assert [line.kind for line in tab.lines].count("fold") == 1


def test_sides_show_where_the_strap_goes():
    drafted = cut("measures", "strap-shoe")
    for side in ("outer side", "inner side"):
        assert "mark" in {line.kind for line in drafted.piece(side).lines}


def test_an_ankle_strap_belongs_to_a_sandal_with_a_heel_strap():
    names = {piece.name for piece in cut("measures", "open-sandal", ankle_strap=True).pieces}
    assert {"ankle strap", "ankle strap buckle tab"} <= names


def test_a_strap_with_nothing_to_go_over_is_refused():
    values = STRAPPED.values({"throat_pct": 56, "strap_at_pct": 52, "topline_waist_mm": 40})
    with pytest.raises(StyleError):
        draft_pieces(sample_foot(), STRAPPED, values)
