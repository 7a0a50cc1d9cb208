"""Our own fonts: how wide words are, and which signs can be set."""

import unicodedata
from functools import cache
from pathlib import Path
from typing import Literal

from fontTools.ttLib import TTFont

Face = Literal["sans", "bold", "italic", "serif"]

FONT_FOLDER = Path(__file__).parent / "fonts"
FONT_FILES: dict[Face, str] = {
    "sans": "workshop-sans-regular.ttf",
    "bold": "workshop-sans-bold.ttf",
    "italic": "workshop-sans-italic.ttf",
    "serif": "workshop-serif-regular.ttf",
}
FAMILIES: dict[Face, str] = {
    "sans": "Workshop Sans",
    "bold": "Workshop Sans",
    "italic": "Workshop Sans",
    "serif": "Workshop Serif",
}

# Letters of the Latin script that no decomposition turns into a letter of the font.
_PLAIN_LETTERS = str.maketrans("ŁłĐđĦħŦŧıŒœ", "LlDdHhTtiOo")
_MISSING_SIGN = "?"


@cache
def font_bytes(face: Face) -> bytes:
    """Return the whole TrueType file of a face."""
    return (FONT_FOLDER / FONT_FILES[face]).read_bytes()


@cache
def open_font(face: Face) -> TTFont:
    """Return the opened font of a face, for reading only."""
    return TTFont(FONT_FOLDER / FONT_FILES[face], recalcTimestamp=False)


@cache
def glyph_names(face: Face) -> dict[int, str]:
    """Return the glyph name of each character code the face can set."""
    return dict(open_font(face).getBestCmap())


@cache
def units_per_em(face: Face) -> int:
    """Return the size of the em square in font units."""
    return int(open_font(face)["head"].unitsPerEm)


@cache
def cap_height(face: Face) -> float:
    """Return the height of capitals as a share of the font size."""
    return float(open_font(face)["OS/2"].sCapHeight) / units_per_em(face)


@cache
def advance(face: Face, character: str) -> float:
    """Return the width of one settable character as a share of the font size."""
    glyph = glyph_names(face)[ord(character)]
    return float(open_font(face)["hmtx"][glyph][0]) / units_per_em(face)


def settable(text: str, face: Face = "sans") -> str:
    """Return the text with every sign the font lacks replaced by its plain letter or ``?``.

    >>> settable("Łucja")
    'Lucja'
    """
    return "".join(_settable_character(character, face) for character in text)


def _settable_character(character: str, face: Face) -> str:
    known = glyph_names(face)
    if character in "\n\r\t":
        return " "
    if ord(character) in known:
        return character
    plain = unicodedata.normalize("NFKD", character).translate(_PLAIN_LETTERS)
    plain = "".join(part for part in plain if not unicodedata.combining(part))
    return plain if plain and all(ord(part) in known for part in plain) else _MISSING_SIGN


def text_width_mm(text: str, size_mm: float, face: Face = "sans") -> float:
    """Return how wide a line of text is at a font size, without kerning."""
    return size_mm * sum(advance(face, character) for character in settable(text, face))


def fitted(text: str, width_mm: float, size_mm: float, face: Face = "sans") -> str:
    """Return the text, cut short with an ellipsis if it is wider than ``width_mm``."""
    if text_width_mm(text, size_mm, face) <= width_mm:
        return text
    for length in range(len(text) - 1, 0, -1):
        shorter = text[:length].rstrip() + "…"
        if text_width_mm(shorter, size_mm, face) <= width_mm:
            return shorter
    return "…"


def wrapped(text: str, width_mm: float, size_mm: float, face: Face = "sans") -> tuple[str, ...]:
    """Return the text in lines no wider than ``width_mm``; a longer word is cut short."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, size_mm, face) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(fitted(word, width_mm, size_mm, face))
    return tuple(lines)
