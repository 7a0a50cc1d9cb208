"""What every sheet carries beside its drawings: head, bar of 100 mm, map of the tiles, banner."""

from dataclasses import dataclass
from typing import Literal

from patterns.drawing.drawing import Box, Drawing, Fill, Stroke, Words, joined
from patterns.drawing.fonts import fitted, text_width_mm
from patterns.drawing.labels import LEAST_SIZE_MM
from patterns.drawing.paper import FOOTER_MM, MARGIN_MM
from patterns.drawing.tiling import Tiling, tile_letter

BAR_MM = 100.0
PEN_ROOM_MM = 0.2  # keeps half a pen and its round end inside the margin
MAP_CELL_MM = 4.6
BANNER_MM = 7.0


@dataclass(frozen=True, slots=True)
class SheetWords:
    """The sentences on every sheet, for whoever writes them in another language.

    ``corrected`` is written where a sheet is drawn larger or smaller for a printer.
    """

    page: str = "page {number} of {count}"
    print_note: str = "Print at 100 %, not fit to page; this bar must measure 100 mm"
    tile_note: str = "sheet {letter} of {count}; join at the crosses"
    corrected: str = ""


ENGLISH = SheetWords()


@dataclass(frozen=True, slots=True)
class PageNumber:
    """Which page of how many."""

    number: int
    count: int


def furniture(
    width_mm: float,
    height_mm: float,
    title: str,
    page: PageNumber,
    *,
    words: SheetWords = ENGLISH,
    banner: str = "",
    tiling: Tiling | None = None,
    tile: int = 0,
) -> Drawing:
    """Return what stands round the drawings of a page of that size, in page coordinates."""
    page_words = words.page.format(number=page.number, count=page.count)
    if words.corrected:
        page_words = f"{words.corrected} · {page_words}"
    header = _header(width_mm, height_mm, title, page_words)
    footer = [_check_bar(MARGIN_MM, MARGIN_MM, words.print_note)]
    right = width_mm - MARGIN_MM
    if tiling is not None:
        footer.append(_page_map(tiling, tile, right, words.tile_note))
        right -= tiling.columns * MAP_CELL_MM + 3.0
    if banner:
        footer.append(_banner(banner, MARGIN_MM + BAR_MM + 6.0, right))
    return joined((header, *footer))


def _header(width: float, height: float, title: str, page_words: str) -> Drawing:
    top = height - MARGIN_MM
    left = MARGIN_MM + PEN_ROOM_MM
    room = width - 2 * MARGIN_MM - text_width_mm(page_words, 3.4) - 6.0
    return Drawing(
        strokes=(Stroke(((left, top - 5.5), (width - left, top - 5.5)), "rule"),),
        words=(
            Words(fitted(title, room, 3.6, "serif"), MARGIN_MM, top - 3.6, 3.6, face="serif"),
            Words(page_words, width - MARGIN_MM, top - 3.6, 3.4, "end", ink="quiet"),
        ),
    )


def _banner(text: str, left: float, right: float) -> Drawing:
    """Return large words between the bar and the map of tiles, as large as they fit."""
    size = min(BANNER_MM, BANNER_MM * (right - left) / text_width_mm(text, BANNER_MM, "bold"))
    level = MARGIN_MM + 8.0
    return Drawing(words=(Words(text, left, level, size, face="bold", ink="accent"),))


def _check_bar(x: float, y: float, note: str) -> Drawing:
    """Return the 100 mm bar with a tick every 10 mm, and what to do with it."""
    # The ends of the pens stay inside the margin too.
    x, level = x + 0.5, y + 5.0
    strokes = [Stroke(((x, level), (x + BAR_MM, level)), "scale")]
    words = [Words(note, x, y + 0.9, 3.3, ink="accent")]
    for tick in range(0, 101, 10):
        tall = 3.4 if tick % 50 == 0 else 2.0
        strokes.append(Stroke(((x + tick, level), (x + tick, level + tall)), "scale"))
        if tick % 50 == 0:
            anchor: Literal["start", "middle", "end"] = (
                "start" if tick == 0 else "end" if tick == 100 else "middle"
            )
            text = "100 mm" if tick == 100 else str(tick)
            words.append(Words(text, x + tick, level + 4.4, LEAST_SIZE_MM, anchor))
    return Drawing(tuple(strokes), words=tuple(words))


def _page_map(tiling: Tiling, tile_in_hand: int, right: float, note: str) -> Drawing:
    """Return the small map of tiles with the one in hand filled."""
    cell = min(MAP_CELL_MM, (FOOTER_MM - 3.0) / tiling.rows)
    left = right - 0.5 - tiling.columns * cell
    fills, strokes, words = [], [], []
    for tile in range(tiling.count):
        row, column = divmod(tile, tiling.columns)
        x = left + column * cell
        y = MARGIN_MM + 0.5 + (tiling.rows - 1 - row) * cell
        square = Box(x, y, x + cell, y + cell)
        if tile == tile_in_hand:
            fills.append(Fill(square.ring(), "here"))
        strokes.append(Stroke(square.ring(), "scale", closed=True))
        if cell >= MAP_CELL_MM:
            words.append(Words(tile_letter(tile), x + cell / 2, y + 1.2, LEAST_SIZE_MM, "middle"))
    text = note.format(letter=tile_letter(tile_in_hand), count=tiling.count)
    words.append(Words(text, left - 2.5, MARGIN_MM + 0.9, 3.3, "end"))
    return Drawing(tuple(strokes), tuple(fills), tuple(words))
