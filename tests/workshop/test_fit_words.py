"""The fit in a maker's words: what fits, what does not, and the ways to mend a heel."""

from dataclasses import replace

import pytest

from patterns.foot import Foot
from patterns.pieces.piece import (
    EdgeName,
    EntryLevel,
    GirthClosure,
    Lasting,
    Message,
    Piece,
    PieceChecks,
    PieceSet,
    Seam,
)
from workshop.fit import feet_compared, fit_lines, heel_offers
from workshop.models import FootVersion

SQUARE = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0))
CHECKS = PieceChecks(4.0, 11.0, 3.0, 1.0, 0, 4.0, 8.0)
PIECES = PieceSet(
    style="boot",
    foot="foot",
    foot_side="pair",
    engine="surface 1",
    parameters={"stretch_limit_pct": 12.0, "heel_height_mm": 9.0, "wedge_inside": False},
    source_kind="measures",
    measures=(),
    girth_closure=(GirthClosure("ankle", 70.0, 70.3), GirthClosure("heel_instep", 110.0, 109.9)),
    lasting=(Lasting("toe box", 12.0, 3.4, 6.0, 5),),
    seams=(Seam(EdgeName("a", "x"), EdgeName("b", "x"), 30.0, 30.1, 0.0),),
    messages=(),
    pieces=(Piece("toe box", 2, 1, "upper", SQUARE, SQUARE, checks=CHECKS),),
    entry=(EntryLevel(40.0, 100.0, 112.0), EntryLevel(50.0, 100.0, 104.0)),
)
FOOT = Foot("foot", {"foot_length": 75.0, "heel_raise": 0.0})


def texts(pieces):
    return " ".join(line.text for line in fit_lines(pieces))


def test_what_fits_is_told_with_its_one_figure():
    assert {line.state for line in fit_lines(PIECES)} == {"good"}
    said = texts(PIECES)
    assert "ankle, heel and instep to within 0.3 mm" in said
    assert "differ by 0.1 mm at most" in said
    assert "spot 8 %, in the toe box; this leather takes 12 %" in said
    assert "opens to 104 mm and the heel needs 100 mm" in said
    assert "3.4 mm of leather lie under the insole" in said


@pytest.mark.parametrize(
    ("change", "gone"),
    [
        ({"girth_closure": (GirthClosure("ankle", 70.0, 72.0),)}, "Closes"),
        ({"seams": (Seam(EdgeName("a", "x"), EdgeName("b", "x"), 30, 31, 0),)}, "sewn"),
        ({"parameters": {"stretch_limit_pct": 7.0}}, "stretched"),
        ({"messages": (Message("warning", "foot-not-in", "It will not."),)}, "goes in"),
        ({"messages": (Message("warning", "lasting-cover-short", "Short."),)}, "insole"),
    ],
)
def test_what_does_not_hold_is_not_said_to_fit(change, gone):
    good = [line.text for line in fit_lines(replace(PIECES, **change)) if line.state == "good"]
    assert not any(gone in text for text in good)


def test_a_stop_stands_first_then_warnings_then_what_fits():
    messages = (
        Message("info", "note", "A note."),
        Message("warning", "girth-off", "Too tight."),
        Message("stop", "edges-differ", "Edges differ.", "toe box"),
    )
    lines = fit_lines(replace(PIECES, messages=messages))
    assert [line.state for line in lines][:3] == ["stop", "look", "good"]
    assert "A note." not in texts(replace(PIECES, messages=messages))


def test_a_heel_the_foot_is_not_cast_for_has_three_ways_out():
    message = Message("warning", "heel-not-the-foots", "It does not bend.")
    offers = heel_offers(replace(PIECES, messages=(message,)), FOOT)
    assert [offer.is_taken for offer in offers] == [True, False, False]
    assert "9.0 mm" in offers[0].text
    # 9 mm over 0.66 x 75 mm: atan(9 / 49.5) is 10.3 degrees.
    assert "6.8°" in offers[1].text
    assert offers[2].changes["heel_height_mm"] == "0"
    assert heel_offers(PIECES, FOOT) == []


def other_foot(version, **changes):
    """Return the doll's other foot, measured like the first but for what is said."""
    skipped = {"id", "foot_side", "version"}
    same = {
        field.name: getattr(version, field.name)
        for field in FootVersion._meta.fields
        if field.name not in skipped
    }
    side = "right" if version.foot_side == "left" else "left"
    return FootVersion.objects.create(**{**same, "foot_side": side, "version": 1, **changes})


@pytest.mark.database
@pytest.mark.django_db
def test_one_measured_foot_is_compared_with_nothing(foot_version):
    assert feet_compared(foot_version) is None


@pytest.mark.database
@pytest.mark.django_db
def test_feet_alike_share_a_pattern(foot_version):
    other_foot(foot_version)
    line = feet_compared(foot_version)
    assert line.state == "good"
    assert "mirrored" in line.text


@pytest.mark.database
@pytest.mark.django_db
def test_a_foot_that_differs_is_told_with_the_measure_and_the_mm(foot_version):
    other_foot(foot_version, ball_girth=foot_version.ball_girth + 3)
    line = feet_compared(foot_version)
    assert line.state == "look"
    assert "3.0 mm (ball girth)" in line.text
    assert fit_lines(PIECES, line)[0] == line
