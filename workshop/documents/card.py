"""The head, tables and cautions of drawn sheets, put together as drawings in mm."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from django.utils.translation import gettext as _

from patterns.drawing.drawing import Drawing, Ink, Stroke, Words
from patterns.drawing.fonts import Face, fitted, wrapped
from patterns.drawing.marks import arrow_strokes, hole_strokes
from workshop.documents.heading import SheetHeading, day_words

ROW_MM = 5.0
TEXT_MM = 3.5
SMALL_MM = 3.3
TITLE_MM = 8.4
CORRECTIONS_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: where it starts or, for figures, where it ends."""

    title: str
    at_mm: float
    anchor: Literal["start", "end"] = "start"
    width_mm: float = 40.0


class Card:
    """A block of words and rules, written from the top down."""

    def __init__(self, width_mm: float) -> None:
        self.width_mm = width_mm
        self.level_mm = 0.0
        self._strokes: list[Stroke] = []
        self._words: list[Words] = []

    def drawing(self) -> Drawing:
        """Return what has been written, the top left corner at the origin."""
        return Drawing(tuple(self._strokes), words=tuple(self._words))

    def space(self, height_mm: float) -> None:
        """Leave room."""
        self.level_mm -= height_mm

    def rule(self) -> None:
        """Draw a thin line across."""
        self._strokes.append(Stroke(((0.0, self.level_mm), (self.width_mm, self.level_mm)), "rule"))

    def write(
        self,
        text: str,
        *,
        at_mm: float = 0.0,
        size_mm: float = TEXT_MM,
        anchor: Literal["start", "middle", "end"] = "start",
        face: Face = "sans",
        ink: Ink = "ink",
        width_mm: float | None = None,
    ) -> None:
        """Write one line at the present level, cut short where it is too long."""
        room = self.width_mm if width_mm is None else width_mm
        shown = fitted(text, room, size_mm, face)
        self._words.append(Words(shown, at_mm, self.level_mm, size_mm, anchor, face=face, ink=ink))

    def paragraph(
        self, text: str, *, size_mm: float = SMALL_MM, face: Face = "sans", ink: Ink = "ink"
    ) -> None:
        """Write text over as many lines as it takes."""
        for line in wrapped(text, self.width_mm, size_mm, face):
            self.space(size_mm * 1.32)
            self.write(line, size_mm=size_mm, face=face, ink=ink)

    def table(self, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> None:
        """Write a table with thin rules between its rows."""
        self.space(4.2)
        for column in columns:
            self.write(
                column.title, at_mm=column.at_mm, size_mm=SMALL_MM, anchor=column.anchor,
                ink="quiet", width_mm=column.width_mm,
            )  # fmt: skip
        self.space(1.6)
        self.rule()
        for row in rows:
            self.space(ROW_MM - 1.4)
            for column, text in zip(columns, row, strict=True):
                self.write(
                    text, at_mm=column.at_mm, anchor=column.anchor, width_mm=column.width_mm,
                    face="bold" if column is columns[0] else "sans",
                )  # fmt: skip
            self.space(1.4)
            self.rule()

    def draw(self, strokes: Sequence[Stroke]) -> None:
        """Add lines given in the block's own coordinates."""
        self._strokes.extend(strokes)


def write_head(card: Card, kind: str, heading: SheetHeading, made_on: date) -> None:
    """Write workshop, date, the paper's kind, the style in large letters and whom it is for."""
    card.space(5.0)
    card.write(heading.workshop, size_mm=TEXT_MM, ink="quiet", width_mm=card.width_mm - 45.0)
    card.write(day_words(made_on), at_mm=card.width_mm, size_mm=TEXT_MM, anchor="end", ink="quiet")
    card.space(10.5)
    card.write(heading.style or kind, size_mm=TITLE_MM, face="serif")
    card.space(6.0)
    if heading.style:
        card.write(kind, size_mm=4.0, face="italic", ink="accent")
    card.write(heading.subject, at_mm=card.width_mm, size_mm=4.0, anchor="end", width_mm=140.0)
    card.space(3.0)


def write_corrections(card: Card, heading: SheetHeading) -> None:
    """Write which of the maker's corrections are drawn into the pieces."""
    if not heading.corrections:
        return
    shown = list(heading.corrections[:CORRECTIONS_SHOWN])
    more = len(heading.corrections) - len(shown)
    if more:
        shown.append(_("{n} more").format(n=more))
    card.paragraph(_("Corrected: {what}").format(what="; ".join(shown)), face="bold")
    card.space(2.0)


def write_line_legend(card: Card) -> None:
    """Write one row that shows each kind of line with its word."""
    card.space(7.0)
    level, step = card.level_mm + 1.1, card.width_mm / 6
    samples: tuple[tuple[str, tuple[Stroke, ...]], ...] = (
        (_("cut line"), (Stroke(((0, level), (9, level)), "cut"),)),
        (_("finished line"), (Stroke(((0, level), (9, level)), "net"),)),
        (_("fold"), (Stroke(((0, level), (9, level)), "fold"),)),
        (_("stitch line"), (Stroke(((0, level), (9, level)), "stitch"),)),
        (_("tight way"), arrow_strokes((0, level), (9, level))),
        (_("eyelet, centre"), hole_strokes(6.0, level, 2.5)),
    )
    for k, (text, strokes) in enumerate(samples):
        left = k * step
        moved = Drawing(strokes).moved(left + 0.3, 0.0)
        card.draw(moved.strokes)
        card.write(text, at_mm=left + 11.0, size_mm=SMALL_MM)
    card.space(3.0)
