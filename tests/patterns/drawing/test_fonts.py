"""Widths of words, and signs the fonts lack."""

import pytest
from fontTools.ttLib import TTFont

from patterns.drawing.fonts import (
    FONT_FILES,
    FONT_FOLDER,
    cap_height,
    fitted,
    settable,
    text_width_mm,
    wrapped,
)


@pytest.mark.parametrize("face", ["sans", "bold", "serif"])
def test_digits_are_tabular(face):
    assert len({round(text_width_mm(digit, 10.0, face), 6) for digit in "0123456789"}) == 1


def test_width_is_the_sum_of_the_advances_in_the_font_file():
    font = TTFont(FONT_FOLDER / FONT_FILES["sans"])
    names, em = font.getBestCmap(), font["head"].unitsPerEm
    meant = sum(font["hmtx"][names[ord(c)]][0] for c in "toe box") * 5.0 / em
    assert text_width_mm("toe box", 5.0) == pytest.approx(meant)


def test_a_sign_the_font_lacks_becomes_its_plain_letter_or_a_question_mark():
    assert settable("Łódź Ж\n") == "Lódz ? "


def test_fitted_text_stays_within_its_room():
    text = "a very long name of a doll that goes on and on"
    assert text_width_mm(fitted(text, 30.0, 3.5), 3.5) <= 30.0
    assert fitted("toe", 30.0, 3.5) == "toe"


def test_wrapped_lines_keep_every_word_and_the_width():
    text = "cut with a sharp blade on a cutting mat away from the holding hand"
    lines = wrapped(text, 40.0, 3.5)
    assert " ".join(lines) == text
    assert all(text_width_mm(line, 3.5) <= 40.0 for line in lines)


@pytest.mark.parametrize("face", FONT_FILES)
def test_capitals_reach_about_two_thirds_of_the_size(face):
    assert 0.6 < cap_height(face) < 0.7
