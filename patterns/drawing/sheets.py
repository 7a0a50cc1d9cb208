"""Lay drawings on sheets of paper at true scale: packed where they fit, tiled where not."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from patterns.drawing.drawing import Box, Drawing, Stroke, Turn
from patterns.drawing.furniture import ENGLISH, PEN_ROOM_MM, PageNumber, SheetWords, furniture
from patterns.drawing.packing import Packed, pack_boxes
from patterns.drawing.paper import TRUE_PRINTER, Paper, Printer, content_box, page_size
from patterns.drawing.pdf import Page, PagePart, pages_pdf
from patterns.drawing.tiling import Tiling, marked_drawing, tiling_of

GAP_MM = 5.0


def tiled_pdf(
    drawings: Sequence[Drawing],
    *,
    paper: Paper = "A4",
    title: str,
    made_on: date,
    first_block: Drawing | None = None,
    banner: str = "",
    printer: Printer = TRUE_PRINTER,
    words: SheetWords = ENGLISH,
    language: str = "en",
    document_id: bytes | None = None,
) -> bytes:
    """Return a PDF of the drawings at true scale; see `lay_on_sheets` for how they lie."""
    pages = lay_on_sheets(
        drawings,
        paper=paper,
        title=title,
        first_block=first_block,
        banner=banner,
        printer=printer,
        words=words,
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
    printer: Printer = TRUE_PRINTER,
    words: SheetWords = ENGLISH,
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
    printer : Printer
        Sheets come out true from this one; all sizes here are as they come out.
    words : SheetWords
        The sentences on every page.
    """
    upright, lying = (
        content_box(paper, landscape=landscape, printer=printer) for landscape in (False, True)
    )
    boxes = _Boxes(upright, lying)
    packed, whole = _best_packing(drawings, boxes, first_block)
    sheets = _packed_sheets(drawings, packed, boxes, landscape=whole, first_block=first_block)
    placed = {spot.index for spot in packed}
    for index, drawing in enumerate(drawings):
        if index not in placed:
            sheets.extend(_tile_sheets(drawing, boxes))
    pages = []
    for number, sheet in enumerate(sheets, start=1):
        width, height = page_size(paper, landscape=sheet.landscape, printer=printer)
        round_it = furniture(
            width,
            height,
            title,
            PageNumber(number, len(sheets)),
            words=words,
            banner=banner,
            tiling=sheet.tiling,
            tile=sheet.tile,
        )
        makes = printer.makes(landscape=sheet.landscape)
        pages.append(Page(width, height, (*sheet.parts, PagePart(round_it)), makes))
    return tuple(pages)


class _Boxes(NamedTuple):
    """What is free for drawings of an upright sheet and of one lying."""

    upright: Box
    lying: Box


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One page before its header and footer."""

    landscape: bool
    parts: tuple[PagePart, ...]
    tiling: Tiling | None = None
    tile: int = 0


def _block_height(first_block: Drawing | None) -> float:
    return first_block.extents.height_mm + GAP_MM if first_block else 0.0


def _sizes(drawings: Sequence[Drawing]) -> list[tuple[float, float]]:
    return [(d.extents.width_mm, d.extents.height_mm) for d in drawings]


def _best_packing(
    drawings: Sequence[Drawing], boxes: _Boxes, first_block: Drawing | None
) -> tuple[tuple[Packed, ...], bool]:
    """Return the packing with the fewest sheets, and whether its later sheets lie landscape."""
    upright, lying = boxes
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
    boxes: _Boxes,
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
        box = boxes.lying if lying else boxes.upright
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


def _tile_sheets(drawing: Drawing, boxes: _Boxes) -> list[_Sheet]:
    tiling = tiling_of(drawing, boxes)
    box = boxes.lying if tiling.landscape else boxes.upright
    marked = marked_drawing(tiling, box)
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
