"""Lay drawings on sheets of paper at true scale: packed where they fit, tiled where not."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil
from typing import Literal

from patterns.drawing.drawing import (
    ASCENT,
    Box,
    Drawing,
    Fill,
    Stroke,
    Turn,
    Words,
    joined,
)
from patterns.drawing.fonts import fitted, text_width_mm
from patterns.drawing.labels import LEAST_SIZE_MM
from patterns.drawing.packing import Packed, pack_boxes
from patterns.drawing.pdf import Page, PagePart, pages_pdf

Paper = Literal["A4", "Letter"]

# A4: ISO 216, 210 x 297 mm. Letter: 8.5 x 11 inches.
PAPER_SIZES_MM: dict[Paper, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}

MARGIN_MM = 10.0  # what common printers leave white; nothing is drawn there
OVERLAP_MM = 10.0
HEADER_MM = 9.0
FOOTER_MM = 18.0
GAP_MM = 5.0
BAR_MM = 100.0
PEN_ROOM_MM = 0.2  # keeps half a pen and its round end inside the margin
CROSS_MM = 3.0
MAP_CELL_MM = 4.6
BANNER_MM = 7.0
PRINT_NOTE = "Print at 100 %, not fit to page; this bar must measure 100 mm"


@dataclass(frozen=True, slots=True)
class _Tiling:
    """A drawing too large for a sheet, cut into tiles that overlap."""

    drawing: Drawing
    landscape: bool
    columns: int
    rows: int
    step_x_mm: float
    step_y_mm: float

    @property
    def count(self) -> int:
        return self.columns * self.rows


def tiled_pdf(
    drawings: Sequence[Drawing],
    *,
    paper: Paper = "A4",
    title: str,
    made_on: date,
    first_block: Drawing | None = None,
    banner: str = "",
    language: str = "en",
    document_id: bytes | None = None,
) -> bytes:
    """Return a PDF of the drawings at true scale; see `lay_on_sheets` for how they lie."""
    pages = lay_on_sheets(
        drawings, paper=paper, title=title, first_block=first_block, banner=banner
    )
    return pages_pdf(
        pages, title=title, made_on=made_on, language=language, document_id=document_id
    )


def lay_on_sheets(
    drawings: Sequence[Drawing],
    *,
    paper: Paper = "A4",
    title: str,
    first_block: Drawing | None = None,
    banner: str = "",
) -> tuple[Page, ...]:
    """Return the pages that show each drawing at true scale.

    Drawings that fit a sheet are packed so that none is split; a larger one is tiled over sheets
    of its own, which overlap by 10 mm and carry crosses to join them by. Every page has a bar of
    100 mm, and nothing is drawn in its 10 mm margin.

    Parameters
    ----------
    drawings : sequence of Drawing
        One a piece, with its words.
    paper : "A4" or "Letter"
    title : str
        Written on every page.
    first_block : Drawing, optional
        Heading and table for the top of the first page, no wider than `content_box` there.
    banner : str
        What must not be missed, in large words at the foot of every page.
    """
    packed, whole = _best_packing(drawings, paper, first_block)
    sheets = _packed_sheets(drawings, packed, paper, landscape=whole, first_block=first_block)
    placed = {spot.index for spot in packed}
    for index, drawing in enumerate(drawings):
        if index not in placed:
            sheets.extend(_tile_sheets(drawing, paper))
    return tuple(
        _finished(sheet, paper, title, number, len(sheets), banner)
        for number, sheet in enumerate(sheets, start=1)
    )


def page_size(paper: Paper, *, landscape: bool = False) -> tuple[float, float]:
    """Return width and height of a sheet in mm."""
    width, height = PAPER_SIZES_MM[paper]
    return (height, width) if landscape else (width, height)


def content_box(paper: Paper, *, landscape: bool = False) -> Box:
    """Return the part of a page free for drawings: inside margin, header and footer."""
    width, height = page_size(paper, landscape=landscape)
    return Box(MARGIN_MM, MARGIN_MM + FOOTER_MM, width - MARGIN_MM, height - MARGIN_MM - HEADER_MM)


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One page before its header and footer."""

    landscape: bool
    parts: tuple[PagePart, ...]
    tiling: _Tiling | None = None
    tile: int = 0


def _block_height(first_block: Drawing | None) -> float:
    return first_block.extents.height_mm + GAP_MM if first_block else 0.0


def _sizes(drawings: Sequence[Drawing]) -> list[tuple[float, float]]:
    return [(d.extents.width_mm, d.extents.height_mm) for d in drawings]


def _best_packing(
    drawings: Sequence[Drawing], paper: Paper, first_block: Drawing | None
) -> tuple[tuple[Packed, ...], bool]:
    """Return the packing with the fewest sheets, and whether its later sheets lie landscape."""
    upright, lying = (content_box(paper, landscape=landscape) for landscape in (False, True))
    used = _block_height(first_block)
    first = (upright.width_mm, max(upright.height_mm - used, 0.0))
    best: tuple[tuple[Packed, ...], bool] = ((), False)
    fewest, sizes = -1, _sizes(drawings)
    for landscape, box in ((False, upright), (True, lying)):
        for may_turn in (False, True):
            rest = (box.width_mm, box.height_mm)
            packed = pack_boxes(sizes, [first, rest], gap_mm=GAP_MM, may_turn=may_turn)
            pages = max((spot.sheet for spot in packed), default=0) + 1
            split = len(drawings) - len(packed)
            if fewest < 0 or pages + 100 * split < fewest:
                best, fewest = (packed, landscape), pages + 100 * split
    return best


def _packed_sheets(
    drawings: Sequence[Drawing],
    packed: Sequence[Packed],
    paper: Paper,
    *,
    landscape: bool,
    first_block: Drawing | None,
) -> list[_Sheet]:
    count = max((spot.sheet for spot in packed), default=0) + 1
    if not packed and first_block is None:
        return []
    used = _block_height(first_block)
    sheets = []
    for number in range(count):
        lying = landscape and number > 0
        box = content_box(paper, landscape=lying)
        parts = [
            _packed_part(drawings[spot.index], spot, box, used if number == 0 else 0.0)
            for spot in packed
            if spot.sheet == number
        ]
        if number == 0 and first_block is not None:
            block = first_block.extents
            parts.insert(
                0, PagePart(first_block, box.left_mm - block.left_mm, box.top_mm - block.top_mm)
            )
        sheets.append(_Sheet(lying, tuple(parts)))
    return sheets


def _packed_part(drawing: Drawing, spot: Packed, box: Box, used_mm: float) -> PagePart:
    shown = drawing.turned(Turn(angle_deg=90.0)) if spot.turned else drawing
    extents = shown.extents
    return PagePart(
        shown,
        box.left_mm + spot.x_mm - extents.left_mm,
        # Packing counts up from below; on paper the pieces hang from the top.
        box.top_mm - used_mm - spot.y_mm - extents.top_mm,
    )


def _tiling(drawing: Drawing, paper: Paper) -> _Tiling:
    """Return the way to tile a drawing that takes the fewest sheets."""
    best: _Tiling | None = None
    for turned in (False, True):
        shown = drawing.turned(Turn(angle_deg=90.0)) if turned else drawing
        size = shown.extents.grown(1.0)
        for landscape in (False, True):
            box = content_box(paper, landscape=landscape)
            step_x, step_y = box.width_mm - OVERLAP_MM, box.height_mm - OVERLAP_MM
            columns = max(1, ceil((size.width_mm - OVERLAP_MM) / step_x))
            rows = max(1, ceil((size.height_mm - OVERLAP_MM) / step_y))
            if best is None or columns * rows < best.count:
                best = _Tiling(shown, landscape, columns, rows, step_x, step_y)
    assert best is not None
    return best


def _tile_sheets(drawing: Drawing, paper: Paper) -> list[_Sheet]:
    tiling = _tiling(drawing, paper)
    box = content_box(paper, landscape=tiling.landscape)
    centred = _centred(tiling, box)
    marked = joined((centred, _join_marks(tiling, centred, box)))
    sheets = []
    for tile in range(tiling.count):
        row, column = divmod(tile, tiling.columns)
        frame = PagePart(Drawing((Stroke(box.grown(-PEN_ROOM_MM).ring(), "trim", closed=True),)))
        part = PagePart(
            marked,
            box.left_mm - column * tiling.step_x_mm,
            # Rows are counted from the top, as a reader lays the sheets out.
            box.bottom_mm - (tiling.rows - 1 - row) * tiling.step_y_mm,
            clip=box,
        )
        sheets.append(_Sheet(tiling.landscape, (part, frame), tiling, tile))
    return sheets


def _whole_size(tiling: _Tiling, box: Box) -> tuple[float, float]:
    return (
        (tiling.columns - 1) * tiling.step_x_mm + box.width_mm,
        (tiling.rows - 1) * tiling.step_y_mm + box.height_mm,
    )


def _centred(tiling: _Tiling, box: Box) -> Drawing:
    """Return the drawing in the middle of all its tiles together, their corner at the origin."""
    width, height = _whole_size(tiling, box)
    size = tiling.drawing.extents
    return tiling.drawing.moved(
        (width - size.width_mm) / 2 - size.left_mm, (height - size.height_mm) / 2 - size.bottom_mm
    )


def tile_letter(tile: int) -> str:
    """Return the letter of a tile: A to Z, then AA, AB and on.

    >>> tile_letter(0), tile_letter(27)
    ('A', 'AB')
    """
    letters = ""
    number = tile + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _join_marks(tiling: _Tiling, drawing: Drawing, box: Box) -> Drawing:
    """Return crosses in the middle of every overlap, between the letters of its two tiles."""
    marks = []
    for tile in range(tiling.count):
        row, column = divmod(tile, tiling.columns)
        left = column * tiling.step_x_mm
        bottom = (tiling.rows - 1 - row) * tiling.step_y_mm
        if column + 1 < tiling.columns:
            x = left + box.width_mm - OVERLAP_MM / 2
            pair = (tile_letter(tile), tile_letter(tile + 1))
            marks += [
                _join_cross(x, bottom + box.height_mm * share, pair, upright=False)
                for share in (0.2, 0.8)
            ]
        if row + 1 < tiling.rows:
            y = bottom + OVERLAP_MM / 2
            pair = (tile_letter(tile), tile_letter(tile + tiling.columns))
            marks += [
                _join_cross(left + box.width_mm * share, y, pair, upright=True)
                for share in (0.2, 0.8)
            ]
    return joined(marks)


def _join_cross(x: float, y: float, pair: tuple[str, str], *, upright: bool) -> Drawing:
    strokes = (
        Stroke(((x - CROSS_MM, y), (x + CROSS_MM, y)), "register"),
        Stroke(((x, y - CROSS_MM), (x, y + CROSS_MM)), "register"),
    )
    size = LEAST_SIZE_MM
    if upright:
        words = (
            Words(pair[0], x + 1.0, y + 1.0, size),
            Words(pair[1], x + 1.0, y - 1.0 - ASCENT * size, size),
        )
    else:
        words = (
            Words(pair[0], x - 1.0, y + 1.0, size, "end"),
            Words(pair[1], x + 1.0, y + 1.0, size),
        )
    return Drawing(strokes, words=words)


def _finished(
    sheet: _Sheet, paper: Paper, title: str, number: int, count: int, banner: str
) -> Page:
    width, height = page_size(paper, landscape=sheet.landscape)
    page_words = f"page {number} of {count}"
    header = _header(width, height, title, page_words)
    footer = [_check_bar(MARGIN_MM, MARGIN_MM)]
    right = width - MARGIN_MM
    if sheet.tiling is not None:
        footer.append(_page_map(sheet, right))
        right -= sheet.tiling.columns * MAP_CELL_MM + 3.0
    if banner:
        footer.append(_banner(banner, MARGIN_MM + BAR_MM + 6.0, right))
    furniture = PagePart(joined((header, *footer)))
    return Page(width, height, (*sheet.parts, furniture))


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


def _check_bar(x: float, y: float) -> Drawing:
    """Return the 100 mm bar with a tick every 10 mm, and what to do with it."""
    # The ends of the pens stay inside the margin too.
    x, level = x + 0.5, y + 5.0
    strokes = [Stroke(((x, level), (x + BAR_MM, level)), "scale")]
    words = [Words(PRINT_NOTE, x, y + 0.9, 3.3, ink="accent")]
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


def _page_map(sheet: _Sheet, right: float) -> Drawing:
    """Return the small map of tiles with the one in hand filled."""
    tiling = sheet.tiling
    assert tiling is not None
    cell = min(MAP_CELL_MM, (FOOTER_MM - 3.0) / tiling.rows)
    left = right - 0.5 - tiling.columns * cell
    fills, strokes, words = [], [], []
    for tile in range(tiling.count):
        row, column = divmod(tile, tiling.columns)
        x = left + column * cell
        y = MARGIN_MM + 0.5 + (tiling.rows - 1 - row) * cell
        square = Box(x, y, x + cell, y + cell)
        if tile == sheet.tile:
            fills.append(Fill(square.ring(), "here"))
        strokes.append(Stroke(square.ring(), "scale", closed=True))
        if cell >= MAP_CELL_MM:
            words.append(Words(tile_letter(tile), x + cell / 2, y + 1.2, LEAST_SIZE_MM, "middle"))
    note = f"sheet {tile_letter(sheet.tile)} of {tiling.count}; join at the crosses"
    words.append(Words(note, left - 2.5, MARGIN_MM + 0.9, 3.3, "end"))
    return Drawing(tuple(strokes), tuple(fills), tuple(words))
