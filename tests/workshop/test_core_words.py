"""Sentences of the cores in another language: none has drifted from the table of them."""

from dataclasses import replace

import pytest
from django.utils import translation

from costing.bill import bill_of_materials
from costing.errors import CostError
from patterns.checks import check_pieces
from patterns.drafting import draft_pieces
from patterns.drafting.bottom import _heel_message
from patterns.errors import PatternError
from patterns.foot import Foot
from patterns.layout.from_pieces import request_from_pieces
from patterns.measures import complete_measures
from patterns.pieces.bottom import heel_messages, outsole
from patterns.pieces.eyelets import EyeletRow
from patterns.pieces.messages import eyelet_messages, first_messages, lasting_messages
from patterns.pieces.piece import EdgeName, Line, Notch, Piece, PieceSet, Seam
from patterns.style import load_style
from tests.costing.test_bill import TERMS
from tests.pseudo_language import CLOSES, LANGUAGE, OPENS, write_language
from tests.samples_layouts import square_hide
from tests.samples_pieces import piece_set, plain_piece, tiny_boot
from workshop.core_words import said
from workshop.services.quoting import work_out
from workshop.shown_price import price_rows, total_rows

EYELETS = {"eyelet_edge_mm": 4.0, "eyelet_diameter_mm": 7.0}
SQUARE = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0))
BOW = ((0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 9.0))
NUMBERS = {
    "heel_height_mm": 14.0, "wedge_inside": False, "lining": True, "lining_thickness_mm": 0.5,
    "leather_thickness_mm": 0.9, "outsole_larger_mm": 0.3, "lasting_margin_mm": 8.0,
    "insole_thickness_mm": 1.0, "turned_under_mm": 4.0, "hem_least_foot_mm": 90.0,
    "topline_hem_mm": 3.0, "boot_height_mm": 130.0,
}  # fmt: skip


def spoiled():
    """Return what is said of pieces that must not be cut."""
    edge = Seam(EdgeName("a", "x"), EdgeName("b", "y"), 30.0, 31.0, 0.0)
    whole = Piece("toe box", 2, 1, "upper", SQUARE, SQUARE)
    off = ((-3.0, 0.0), (4.0, 4.0))
    pieces = (
        replace(whole, net_mm=BOW),
        replace(whole, cut_mm=BOW),
        replace(whole, net_mm=SQUARE[:2]),
        replace(whole, cut_mm=tuple((x / 2, y / 2) for x, y in SQUARE)),
        replace(whole, lines=(Line("stitch", off),)),
        replace(whole, notches=(Notch("no edge", 0.5, 0.0, 1.0),)),
    )
    made = PieceSet("s", "f", "pair", "e", {}, "measures", (), (), (), (edge,), (), pieces)
    return check_pieces(made)


def told():
    """Return messages from the functions that make them."""
    foot = Foot("f", {"foot_length": 75.0}, knee_clearance_mm=118.0)
    messages = first_messages(foot, complete_measures(foot), NUMBERS)
    row = EyeletRow(((0.0, 0.0),), 8.0, 3)
    messages += eyelet_messages(row, {"eyelet_count": 5, "eyelet_pitch_mm": 8.0, **EYELETS})
    messages += lasting_messages([("vamp", 4.2)], NUMBERS)
    messages += outsole(SQUARE, NUMBERS)[1] + heel_messages(2.0, NUMBERS)
    for extra, wedge in ((5.0, False), (5.0, True), (-5.0, False)):
        values = {**NUMBERS, "wedge_inside": wedge}
        messages.append(_heel_message(extra, values, 9.0, 75.0))
    style = load_style("lace-up-ankle-boot")
    tight = style.values({"eyelet_count": 4, "heel_height_mm": 12.0, "stretch_limit_pct": 3.0})
    drawn = draft_pieces(Foot("f", {"foot_length": 75.0, "ankle_girth": 40.0}), style, tight)
    return [*messages, *drawn.messages, *spoiled()]


@pytest.fixture
def marked_language(tmp_path, settings):
    write_language(tmp_path)
    settings.LOCALE_PATHS = [tmp_path]
    yield
    translation.trans_real._translations.clear()


@pytest.mark.usefixtures("marked_language")
def test_what_drafts_say_is_known_sentence_by_sentence():
    messages = told()
    assert len({message.code for message in messages}) > 14
    for message in messages:
        assert said(message.code, message.text) == message.text
        with translation.override(LANGUAGE):
            words = said(message.code, message.text)
        assert words.startswith(OPENS), message
        assert words.endswith(CLOSES), message


def test_what_stands_in_a_gap_is_put_into_words_too(marked_language):
    text = (
        "Cut as drawn the pieces close round the last with a difference: ankle 1.2 mm too wide;"
        " ball 0.9 mm too tight. Take it up where it closes, or correct that girth."
    )
    assert said("girth-off", text) == text
    with translation.override(LANGUAGE):
        assert f"{OPENS}ankle 1.2 mm too wide{CLOSES}; {OPENS}ball" in said("girth-off", text)


def test_a_sentence_that_is_not_known_is_shown_as_it_is():
    assert said("foot-not-in", "Quite another sentence.") == "Quite another sentence."
    assert said("no such code", "Quite another sentence.") == "Quite another sentence."


@pytest.mark.usefixtures("marked_language")
def test_why_something_cannot_be_done_is_known():
    style = load_style("lace-up-ankle-boot")
    foot = Foot("f", {"foot_length": 75.0})
    wanted = [
        lambda: draft_pieces(foot, style, style.values({"eyelet_count": 14})),
        lambda: style.values({"eyelet_count": 1000}),
        lambda: style.values({"boot_height_mm": "high"}),
        lambda: bill_of_materials((tiny_boot(),), replace(TERMS, thread=None)),
        lambda: request_from_pieces(
            piece_set((plain_piece("outsole", "sole", SQUARE),)), (square_hide(),), pair_count=1
        ),
    ]
    for ask in wanted:
        with pytest.raises((PatternError, CostError)) as caught:
            ask()
        error = caught.value
        with translation.override(LANGUAGE):
            assert said(error.code, error.text).startswith(OPENS), error


@pytest.mark.django_db
@pytest.mark.usefixtures("marked_language")
def test_every_amount_of_a_price_says_in_the_readers_language_how_it_came_about(choice):
    worked = work_out(choice)
    english = [*price_rows(worked.bill, worked.breakdown), *total_rows(worked.breakdown)]
    assert [how for row in english for how in row.hows][-1].endswith(str(worked.breakdown.price))
    with translation.override(LANGUAGE):
        rows = [*price_rows(worked.bill, worked.breakdown), *total_rows(worked.breakdown)]
    hows = [how for row in rows for how in row.hows]
    assert len(hows) > 15
    assert all(how.startswith(OPENS) and how.endswith(CLOSES) for how in hows)
    assert any(f"{OPENS}pair{CLOSES}" in how for how in hows)
