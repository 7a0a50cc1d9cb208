from dataclasses import replace

import pytest
from shapely import Polygon

from patterns.drafting import draft_pieces, reach_mm
from patterns.errors import FootError, PatternError, StyleError
from patterns.foot import Foot
from patterns.last import build_last
from patterns.style import load_style
from tests.patterns.samples_drafts import cut
from tests.patterns.samples_feet import sample_foot, sample_measures

BOOT = load_style("lace-up-ankle-boot")


def names(pieces):
    return {piece.name for piece in pieces.pieces}


def codes(pieces, level=None):
    return {m.code for m in pieces.messages if level in (None, m.level)}


def test_what_is_left_off_is_not_drawn():
    bare = cut(lining=False, back_stay=False, stiffener=False, filler=False, sock_lining=False,
               facing_tape_mm=0.0, toe_form_mm=0.0)  # fmt: skip
    assert names(bare) == {"toe box", "outer side", "inner side", "tongue", "insole", "outsole"}


def test_a_split_toe_has_a_seam_down_its_middle():
    pieces = cut(toe_split=True)
    assert {"toe box outer", "toe box inner"} <= names(pieces)
    seam = next(s for s in pieces.seams if s.a.edge == "toe seam")
    assert seam.mismatch_mm < 0.05


@pytest.mark.parametrize(
    ("option", "name"), [("toe_split", "toe box outer"), ("toe_dart", "toe box")]
)
def test_a_parted_toe_stretches_less_than_a_whole_one(option, name):
    whole = cut().piece("toe box").checks
    parted = cut(**{option: True}).piece(name).checks
    assert parted.stretch_p99_pct < whole.stretch_p99_pct
    assert parted.gather_p99_pct < whole.gather_p99_pct


def test_a_heel_higher_than_the_foot_is_cast_stands_on_an_even_platform():
    pieces = cut(heel_height_mm=8.0)
    assert "platform" in names(pieces)
    assert "heel" not in names(pieces)
    assert pieces.piece("platform").thickness_mm == 8.0
    message = next(m for m in pieces.messages if m.code == "heel-not-the-foots")
    assert message.level == "warning"
    # A right triangle: 8 mm of rise over 75 mm is 6.09 degrees.
    assert message.parameters["angle_deg"] == pytest.approx(6.09, abs=0.01)


def test_the_wedge_inside_is_an_offer_instead():
    pieces = cut(heel_height_mm=8.0, wedge_inside=True)
    assert {"inside wedge", "heel"} <= names(pieces)
    assert "platform" not in names(pieces)


def test_the_upper_does_not_change_with_the_heel():
    flat, high = cut(), cut(heel_height_mm=8.0)
    for name in ("toe box", "outer side", "inner side"):
        assert flat.piece(name).cut_mm == high.piece(name).cut_mm


def raised_foot():
    return Foot("raised", {"foot_length": 75.0, "heel_raise": 12.0})


def test_a_raised_foot_gets_a_heel_of_its_own_height_as_lifts_or_as_a_wedge():
    heel = draft_pieces(raised_foot(), BOOT, {})
    assert "heel" in names(heel)
    assert "heel-not-the-foots" not in codes(heel)
    wedge = draft_pieces(raised_foot(), BOOT, {"wedge": True})
    assert {"wedge", "wedge cover"} <= names(wedge)
    assert heel.piece("heel").thickness_mm == 12.0
    assert wedge.piece("wedge").thickness_mm == 6.0  # the mean of a wedge
    height = Polygon(wedge.piece("wedge cover").net_mm).bounds[3]
    assert height == pytest.approx(12.0, abs=0.1)


def test_a_longer_shaft_never_makes_a_piece_smaller():
    low, high = cut(boot_height_mm=50.0), cut(boot_height_mm=66.0)
    for piece in low.pieces:
        taller = high.piece(piece.name)
        assert Polygon(taller.net_mm).area >= Polygon(piece.net_mm).area - 0.5, piece.name


def test_a_shaft_above_the_knee_clearance_is_a_stop():
    foot = replace(sample_foot(), knee_clearance_mm=50.0)
    pieces = draft_pieces(foot, BOOT, {"boot_height_mm": 60.0})
    assert "shaft-above-knee" in codes(pieces, "stop")


def test_a_shaft_above_what_was_measured_is_told():
    pieces = draft_pieces(sample_foot(), BOOT, {"boot_height_mm": 130.0})
    message = next(m for m in pieces.messages if m.code == "leg-not-measured")
    assert "75 mm" in message.text
    assert "leg-not-measured" not in codes(cut())


def test_more_eyelets_than_the_pitch_allows_are_refused_with_the_most_there_is_room_for():
    with pytest.raises(StyleError, match="room for 7") as refused:
        cut(eyelet_count=20)
    assert refused.value.field == "parameters.eyelet_count"


def test_a_height_nobody_asked_for_keeps_below_the_knee():
    foot = replace(sample_foot(), knee_clearance_mm=48.0)
    pieces = draft_pieces(foot, BOOT, {"lining": False})
    assert pieces.parameters["boot_height_mm"] == 48.0
    assert codes(pieces, "stop") == set()


def test_lines_that_leave_no_room_are_told_by_the_piece():
    # The topline lies below the toe line's end: nothing is left of the sides.
    with pytest.raises(StyleError) as refused:
        draft_pieces(sample_foot(), BOOT, {"boot_height_mm": 8.0})
    assert refused.value.code in ("piece-no-room", "piece-folds")
    assert "side" in str(refused.value)


def test_a_boot_that_opens_too_little_says_where_the_foot_sticks():
    heel = {**sample_measures(), "heel_instep_girth": 112.0, "ankle_girth": 50.0}
    foot = Foot("thin ankle", {**heel, "calf_girth": 55.0})
    pieces = draft_pieces(foot, BOOT, {"toe_line_pct": 58.0, "boot_height_mm": 70.0})
    worst = max(pieces.entry, key=lambda level: level.needs_mm - level.opens_mm)
    assert worst.needs_mm > worst.opens_mm
    message = next(m for m in pieces.messages if m.code == "foot-not-in")
    assert message.parameters["height_mm"] == pytest.approx(worst.height_mm, abs=0.1)


def test_the_foot_is_looked_at_on_every_level_from_topline_to_heel():
    levels = [level.height_mm for level in cut().entry]
    assert len(levels) >= 20
    assert max(levels) > cut().parameters["boot_height_mm"] - 3
    assert min(levels) == pytest.approx(0.16 * 75.0, abs=0.1)


def test_a_last_made_before_gives_the_same_pieces():
    last = build_last(sample_foot(), top_mm=reach_mm(sample_foot(), BOOT, {}))
    again = draft_pieces(sample_foot(), BOOT, {}, last=last)
    for piece in cut().pieces:
        assert again.piece(piece.name).cut_mm == piece.cut_mm


def test_impatience_ends_a_draft_with_the_step_it_was_at():
    def stop(step):
        if "toe box" in step:
            raise PatternError(f"gave up at {step}", code="gave-up")

    with pytest.raises(PatternError, match="gave up at the toe box"):
        draft_pieces(sample_foot(), BOOT, {}, progress=stop)


def test_a_right_foot_gives_the_left_one_s_pieces_turned_over():
    right = draft_pieces(replace(sample_foot(), foot_side="right"), BOOT, {})
    for piece in cut().pieces:
        other = right.piece(piece.name)
        assert Polygon(other.net_mm).area == pytest.approx(Polygon(piece.net_mm).area, rel=2e-3)
    left_net, right_net = cut().piece("outer side").net_mm, right.piece("outer side").net_mm
    left_box, right_box = Polygon(left_net).bounds, Polygon(right_net).bounds
    assert left_box[2] - left_box[0] == pytest.approx(right_box[2] - right_box[0], abs=0.1)


def test_a_mesh_that_ends_too_low_is_told():
    from tests.patterns.samples_feet import mesh_foot

    with pytest.raises((FootError, StyleError)) as refused:
        draft_pieces(mesh_foot(), BOOT, {"boot_height_mm": 140.0})
    assert "mm" in str(refused.value)


def test_what_is_lasted_and_looked_at_asks_for_the_best_leather():
    grades = {p.name: p.grade for p in cut().pieces}
    assert {name for name, grade in grades.items() if grade == 1} == {
        "toe box", "outer side", "inner side",
    }  # fmt: skip
    assert set(grades.values()) == {1, None}
    assert {p.grade for p in cut(upper_grade=0.0).pieces} == {None}
    assert cut(upper_grade=3.0).piece("toe box").grade == 3
