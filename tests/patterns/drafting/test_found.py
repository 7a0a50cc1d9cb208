"""Values at the end of their range: sound pieces, or a word about what to change."""

from dataclasses import replace

import pytest
from shapely import LineString

from patterns.checks import check_pieces
from patterns.drafting.features import edge_of, eyelet_line
from patterns.errors import StyleError
from tests.patterns.samples_drafts import ANKLE_BOOT, cut


def refused(style: str, **values: float | bool) -> StyleError:
    with pytest.raises(StyleError) as caught:
        cut("measures", style, **values)
    return caught.value


def test_more_eyelets_than_have_room_are_refused_and_the_most_is_told():
    most = len(cut().piece("outer side").holes)
    assert len(cut(eyelet_count=float(most)).piece("outer side").holes) == most
    fault = refused(ANKLE_BOOT, eyelet_count=float(most + 1))
    assert (fault.field, fault.code) == ("parameters.eyelet_count", "eyelets-many")
    assert fault.parameters["most"] == most
    assert f"room for {most}" in fault.text


def test_room_for_eyelets_does_not_hang_on_how_many_points_an_edge_has():
    """Straight runs lose some points to rounding, not the same on every processor."""
    side = cut().piece("outer side")
    lace = edge_of(side, "lace edge")
    rows = []
    for far_mm in (0.0, 0.0005):
        fewer = LineString(lace.points_mm).simplify(far_mm).coords
        edges = [replace(e, points_mm=tuple(fewer)) if e is lace else e for e in side.edges]
        rows.append(LineString(eyelet_line(replace(side, edges=tuple(edges)), "lace edge", 4.0)))
    assert rows[1].length == pytest.approx(rows[0].length, abs=0.01)
    assert rows[1].hausdorff_distance(rows[0]) < 0.01


def test_a_stiffener_above_the_last_names_its_own_height():
    fault = refused("lace-shoe", stiffener_height_mm=60.0)
    assert fault.field == "parameters.stiffener_height_mm"
    assert "boot" not in fault.text


@pytest.mark.parametrize(
    "values", [{"strap_buckle_mm": 0.5}, {"strap_hole_mm": 6.0}, {"strap_width_mm": 1.5}]
)
def test_a_hole_larger_than_its_strap_is_refused(values):
    fault = refused("strap-shoe", **values)
    assert fault.code == "strap-no-room"
    assert "Make the hole smaller" in fault.text


def test_a_fold_wider_than_the_piece_takes_nothing_from_it():
    pieces = cut("measures", "lace-shoe", topline_hem_mm=15.0)
    assert [m.text for m in check_pieces(pieces) if m.level == "stop"] == []
