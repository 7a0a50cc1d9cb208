"""The finished boot drawn from its own pieces."""

from dataclasses import replace
from math import dist

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, union_all

from patterns.drawing.boot import PICTURE_HEIGHT_MM, PICTURE_WIDTH_MM, draw_boot
from patterns.drawing.stacking import Part, stacked
from patterns.errors import PatternError
from patterns.foot import Foot
from patterns.projection import draft_pieces, shape_of_foot
from patterns.style import load_style

STYLE = load_style("lace-up-ankle-boot")


def made(foot_length=75.0, foot_side="left", heel_raise=0.0, **options):
    """Return the pieces and the foot's shape of an invented foot."""
    measures = {"foot_length": foot_length, "heel_raise": heel_raise}
    foot = Foot("a foot", measures, foot_side=foot_side)
    asked = {name: str(value) for name, value in options.items()}
    return draft_pieces(foot, STYLE, STYLE.values(asked)), shape_of_foot(foot)


def longest_levels(drawing, *, upright):
    """Return the dimension arrows' tips, told apart by the way they lie."""
    tips = [s.points_mm[1] for s in drawing.strokes if s.kind == "leader" and len(s.points_mm) == 3]
    pairs = [(a, b) for a in tips for b in tips if a < b]
    axis = 0 if upright else 1
    return max((p for p in pairs if abs(p[0][axis] - p[1][axis]) < 1e-6), key=lambda p: dist(*p))


@pytest.mark.parametrize(
    ("length", "height"), [(40.0, 24.0), (75.0, 36.0), (75.0, 70.25), (120.0, 95.0)]
)
def test_both_dimensions_measure_and_say_what_the_parameters_are(length, height):
    pieces, shape = made(length, boot_height_mm=height)
    drawing = draw_boot(pieces, shape)
    said = [words.text for words in drawing.words]
    assert said == [f"{height:.1f}".removesuffix(".0") + " mm", f"{length:g} mm"]
    assert dist(*longest_levels(drawing, upright=True)) / drawing.scale == pytest.approx(height)
    assert dist(*longest_levels(drawing, upright=False)) / drawing.scale == pytest.approx(length)


@pytest.mark.parametrize("foot_side", ["left", "right"])
def test_every_eyelet_is_drawn_at_its_hole_of_the_piece(foot_side):
    pieces, shape = made(foot_side=foot_side)
    side = pieces.piece("outer side")
    drawing = draw_boot(pieces, shape)
    assert len(side.holes) > 3
    flanges = [s for s in drawing.strokes if s.kind == "mark"]
    for hole in side.holes:
        centre = Point(drawing.scale * hole.x_mm, drawing.scale * hole.y_mm)
        away = drawing.scale * hole.diameter_mm * 0.8
        # What the laces leave to be seen of the flange runs round the centre at its radius.
        round_it = [
            s for s in flanges
            if all(abs(centre.distance(Point(p)) - away) < 0.01 for p in s.points_mm)
        ]  # fmt: skip
        assert round_it


def test_a_boot_without_laces_to_tie_is_drawn_without_them():
    with_laces, shape = made()
    side = with_laces.piece("outer side")
    without = replace(
        with_laces,
        pieces=tuple(replace(p, holes=()) if p is side else p for p in with_laces.pieces),
    )
    kinds = {stroke.kind for stroke in draw_boot(without, shape).strokes}
    assert "hole" not in kinds
    assert "mark" not in kinds


def test_the_side_stands_where_its_piece_says():
    pieces, shape = made()
    drawing = draw_boot(pieces, shape)
    edge = union_all([LineString(s.points_mm) for s in drawing.strokes if s.kind == "cut"])
    net = pieces.piece("outer side").net_mm
    away_from_laces = [p for p in net if abs(p[0]) < 0.25 * shape.foot_length_mm]
    assert len(away_from_laces) > 10
    for x, z in away_from_laces:
        assert edge.distance(Point(drawing.scale * x, drawing.scale * z)) < 0.02


def lowest(drawing, kind="cut"):
    return min(z for s in drawing.strokes if s.kind == kind for _, z in s.points_mm)


def test_a_heel_the_foot_has_keeps_the_boot_level_and_one_it_lacks_tips_it():
    for raise_mm, tipped in ((12.0, False), (0.0, True)):
        drawing = draw_boot(*made(heel_raise=raise_mm, heel_height_mm=12))
        assert [words.angle_deg for words in drawing.words] == [0.0, 0.0]
        ground = max(
            (s.points_mm for s in drawing.strokes if s.kind == "leader" and len(s.points_mm) == 2),
            key=lambda run: abs(run[0][0] - run[1][0]),
        )
        # Sole and heel stand on the ground, which is drawn a hair below them.
        assert ground[0][1] == pytest.approx(lowest(drawing) - 0.4, abs=0.01)
        level = [s for s in drawing.strokes if s.kind == "leader" and len(s.points_mm) == 3]
        angles = {round(s.points_mm[1][1], 3) for s in level}
        assert (len(angles) == 4) is tipped


def test_leather_lifts_show_as_many_lines_as_there_are_joins():
    pieces, shape = made(heel_raise=10.0, leather_sole="true")
    lifts = pieces.piece("heel lift").quantity // 2
    flat = draw_boot(*made(heel_raise=10.0))
    built = draw_boot(pieces, shape)
    assert lifts > 1
    assert len(built.strokes) - len(flat.strokes) == lifts - 1


@settings(max_examples=25, deadline=None)
@given(
    length=st.floats(30, 150),
    side=st.sampled_from(["left", "right"]),
    raise_share=st.sampled_from([0.0, 0.12, 0.25]),
    height_share=st.floats(0.4, 0.95),
    tilt=st.floats(-12, 12),
    corner=st.floats(0, 6),
)
def test_any_boot_that_can_be_drafted_can_be_drawn(
    length, side, raise_share, height_share, tilt, corner
):
    try:
        pieces, shape = made(
            length, side, raise_share * length, boot_height_mm=round(height_share * length, 2),
            topline_tilt_deg=round(tilt, 1), front_corner_mm=round(corner, 2),
        )  # fmt: skip
    except PatternError:
        assume(False)
    drawing = draw_boot(pieces, shape)
    cut = [p for s in drawing.strokes if s.kind in ("cut", "net") for p in s.points_mm]
    assert max(x for x, _ in cut) - min(x for x, _ in cut) <= PICTURE_WIDTH_MM + 0.01
    assert max(z for _, z in cut) - min(z for _, z in cut) <= PICTURE_HEIGHT_MM + 0.01
    assert all(Polygon(fill.ring_mm).is_valid for fill in drawing.fills)


def test_pieces_that_are_no_laced_boot_are_refused_by_name():
    pieces, shape = made()
    slipper = replace(pieces, pieces=tuple(p for p in pieces.pieces if "side" not in p.name))
    with pytest.raises(PatternError, match="laced boot") as refused:
        draw_boot(slipper, shape)
    assert refused.value.code == "boot-not-laced"


def test_what_lies_behind_is_drawn_only_where_it_shows():
    front = Part(((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)), "piece", "mark")
    behind = Part(((2.0, 1.0), (6.0, 1.0), (6.0, 3.0), (2.0, 3.0)), "hide", "cut")
    drawing = stacked([front, behind])
    seen = [LineString(s.points_mm).length for s in drawing.strokes if s.kind == "cut"]
    assert seen == [pytest.approx(6.0)]  # two long sides cut to 2 mm, and the far end
    areas = {fill.kind: Polygon(fill.ring_mm).area for fill in drawing.fills}
    assert areas == {"piece": pytest.approx(16.0), "hide": pytest.approx(4.0)}
