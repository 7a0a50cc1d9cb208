"""Write pieces and layouts as SVG for other programs: millimetres, one named group a piece."""

import re
from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

from patterns.drawing.drawing import Box, box_round
from patterns.drawing.inks import INKS, web_colour
from patterns.exchange.outline_sheet import LaidPiece, OutlineSheet
from patterns.pieces.piece import Point

MARGIN_MM = 5.0
TEXT_MM = 3.0
PLACES = 4  # a ten-thousandth of a millimetre
# Stroke width in mm and dashes for each kind of line; wide to narrow 2:1, ISO 128-2:2022.
_LINES: dict[str, tuple[float, str]] = {
    "cut": (0.5, ""),
    "net": (0.25, ""),
    "fold": (0.25, "4 0.8 0.25 0.8"),
    "stitch": (0.25, "1.2 0.8"),
    "mark": (0.25, ""),
    "tight-way": (0.25, ""),
    "hole": (0.25, ""),
    "hide": (0.5, ""),
    "defect": (0.25, ""),
}
_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def sheet_svg(sheet: OutlineSheet, *, title: str) -> bytes:
    """Return a sheet as an SVG file whose user unit is one millimetre, y down.

    Each piece and hide is a group with an ``id`` of its own and a ``title`` with its name; within
    it a path or circle for each line, its kind as ``class``. No styles, scripts or references.
    """
    points = [p for laid in sheet.pieces for p in laid.turn.many(laid.piece.cut_mm)]
    points += [p for hide in sheet.hides for p in hide.outline_mm]
    box = box_round(points).grown(MARGIN_MM)
    # Words stand below a piece.
    most_words = max((len(laid.words) for laid in sheet.pieces), default=0)
    box = Box(box.left_mm, box.bottom_mm - TEXT_MM * most_words, box.right_mm, box.top_mm)
    width, height = _number(box.width_mm), _number(box.height_mm)
    ids = _Ids()
    rows = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">',
        f"<title>{_words(title)}</title>",
        '<g fill="none" stroke="#000000" stroke-linejoin="round">',
    ]
    for hide in sheet.hides:
        rows.append(f"<g id={ids.of('hide ' + hide.name)}><title>{_words(hide.name)}</title>")
        rows.append(_path(hide.outline_mm, "hide", box, closed=True))
        rows += [_path(ring, "defect", box, closed=True) for ring in hide.defects_mm]
        rows.append("</g>")
    for laid in sheet.pieces:
        rows += _piece(laid, ids, box)
    rows += ["</g>", '<g id="words" fill="#000000" font-family="sans-serif" font-size="2.4">']
    for laid in sheet.pieces:
        rows += _text(laid, box)
    rows += ["</g>", "</svg>", ""]
    return "\n".join(rows).encode()


def _piece(laid: LaidPiece, ids: "_Ids", box: Box) -> Iterable[str]:
    piece, turn = laid.piece, laid.turn
    yield f"<g id={ids.of(laid.name)}><title>{_words(laid.name)}</title>"
    yield _path(turn.many(piece.cut_mm), "cut", box, closed=True)
    if piece.net_mm != piece.cut_mm:
        yield _path(turn.many(piece.net_mm), "net", box, closed=True)
    for line in piece.lines:
        yield _path(turn.many(line.points_mm), line.kind.replace(" ", "-"), box, closed=False)
    for hole in piece.holes:
        x, y = turn((hole.x_mm, hole.y_mm))
        yield (
            f'<circle class="hole" cx="{_number(x - box.left_mm)}" cy="{_number(box.top_mm - y)}"'
            f' r="{_number(hole.diameter_mm / 2)}" {_pen("hole")}/>'
        )
    yield "</g>"


def _text(laid: LaidPiece, box: Box) -> Iterable[str]:
    below = box_round(laid.turn.many(laid.piece.cut_mm))
    for row, line in enumerate(laid.words, start=1):
        x, y = below.left_mm - box.left_mm, box.top_mm - below.bottom_mm + row * TEXT_MM
        yield f'<text x="{_number(x)}" y="{_number(y)}">{_words(line)}</text>'


def _path(points: Iterable[Point], kind: str, box: Box, *, closed: bool) -> str:
    steps = [f"{_number(x - box.left_mm)},{_number(box.top_mm - y)}" for x, y in points]
    end = " Z" if closed else ""
    return f'<path class="{kind}" d="M {" L ".join(steps)}{end}" {_pen(kind)}/>'


def _pen(kind: str) -> str:
    width, dashes = _LINES[kind]
    colour = f' stroke="{web_colour(INKS["accent"])}"' if kind in ("stitch", "defect") else ""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'stroke-width="{width}"{colour}{dashed}'


def _number(value: float) -> str:
    text = f"{value:.{PLACES}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _words(text: str) -> str:
    return escape(_NOT_IN_XML.sub(" ", text))


class _Ids:
    """Names as XML ids, each once."""

    def __init__(self) -> None:
        self._taken: set[str] = set()

    def of(self, name: str) -> str:
        """Return a quoted id made from a name."""
        base = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-") or "piece"
        if not base[0].isalpha():
            base = f"p-{base}"
        found, number = base, 1
        while found in self._taken:
            number += 1
            found = f"{base}-{number}"
        self._taken.add(found)
        return quoteattr(found)
