"""The shoe on its foot from four sides: what is seen from where, and under which name."""

from functools import cache

import pytest
import shapely

from patterns.drafting import draft_pieces
from patterns.drawing.drawing import Drawing
from patterns.drawing.pieces import draw_piece_set
from patterns.drawing.svg import drawing_svg
from patterns.drawing.worn_views import SIDES, draw_worn_views
from patterns.foot import Foot
from patterns.last import build_last
from patterns.style import load_style
from tests.patterns.drawing.test_worn_drawing import drafted
from tests.patterns.samples_feet import sample_measures


@cache
def views(side: str = "left") -> dict[str, Drawing]:
    return draw_worn_views(*drafted(side))


def named(drawing: Drawing) -> set[str]:
    return {words.text for words in drawing.words}


def room(drawing: Drawing, part: str) -> float:
    rings = [fill.ring_mm for fill in drawing.fills if fill.part == part]
    return sum(shapely.Polygon(ring).area for ring in rings) / drawing.scale**2


def test_each_side_names_the_pieces_that_are_seen_from_there():
    assert tuple(views()) == SIDES
    assert named(views()["side"]) == {"toe box", "outer side", "back stay", "outsole"}
    assert {"toe box", "outer side", "inner side"} <= named(views()["top"])
    assert "toe box" not in named(views()["back"])
    assert "back stay" not in named(views()["front"])
    assert {"inner side", "outer side", "toe box"} <= named(views()["front"])


def test_both_sides_of_the_boot_show_alike_from_behind_and_none_of_the_inner_from_outside():
    back = views()["back"]
    assert room(back, "outer side") == pytest.approx(room(back, "inner side"), rel=0.25)
    side = views()["side"]
    assert room(side, "inner side") < room(side, "outer side") / 20


def test_of_a_left_shoe_the_outer_side_is_seen_to_the_left_from_behind():
    def middle(drawing: Drawing, part: str) -> float:
        rings = [fill.ring_mm for fill in drawing.fills if fill.part == part]
        return float(shapely.union_all([shapely.Polygon(ring) for ring in rings]).centroid.x)

    for foot_side, way in (("left", 1.0), ("right", -1.0)):
        back = views(foot_side)["back"]
        assert way * (middle(back, "inner side") - middle(back, "outer side")) > 0.0


def test_a_bare_toe_lies_on_its_sole_from_above():
    style = load_style("open-sandal")
    foot = Foot("sample", sample_measures())
    top = draw_worn_views(draft_pieces(foot, style, {}), build_last(foot))["top"]
    areas = {
        kind: shapely.union_all([shapely.Polygon(f.ring_mm) for f in top.fills if f.kind == kind])
        for kind in ("foot", "sole")
    }
    soles = [shapely.Polygon(f.ring_mm, f.holes_mm) for f in top.fills if f.kind == "sole"]
    assert areas["foot"].area > 2.0 * shapely.union_all(soles).area
    assert "outsole" in named(top)


def test_rooms_of_pieces_are_for_pages_alone():
    pieces, _ = drafted()
    drawing = draw_piece_set(pieces, with_parts=True)
    assert {fill.part for fill in drawing.fills} == {piece.name for piece in pieces.pieces}
    assert 'data-piece="toe box"' in drawing_svg(drawing, title="pieces")
    assert "data-piece" not in drawing_svg(drawing, title="pieces", own_colours=True)
    assert drawing.without_parts() == draw_piece_set(pieces)


def test_how_far_leather_must_give_is_written_on_the_piece_where_asked_for():
    pieces, _last = drafted()
    wanted = sorted(
        f"stretches up to {piece.checks.stretch_p99_off_band_pct:.0f} %"
        for piece in pieces.pieces
        if piece.material == "upper" and piece.checks is not None
    )
    assert len(wanted) >= 4
    for with_stretch, expected in ((True, wanted), (False, [])):
        drawing = draw_piece_set(pieces, with_stretch=with_stretch)
        said = [words.text for words in drawing.words if words.text.startswith("stretches")]
        assert sorted(said) == expected
