"""Closed shapes of an SVG drawing as rings in millimetres, y up.

Read: ``path`` (all commands), ``polygon``, closed ``polyline``, ``rect``, ``circle``, ``ellipse``,
with ``transform`` of themselves and their groups, and the drawing's ``viewBox`` with its width and
height. What is not shown is left out. What would lie elsewhere or be of another size than it is
read (copies by reference, clipped shapes, drawings in the drawing, moves by style) is refused.
"""

import io
import math
import re
from collections.abc import Mapping, Sequence
from xml.sax import SAXException, SAXParseException
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl

from defusedxml.common import DefusedXmlException
from defusedxml.sax import parse as parse_xml

from patterns.errors import PatternError
from patterns.exchange.outline_file import FLAT_MM, checked_far, line_fault
from patterns.exchange.svg_page import Matrix, no_size, page_matrix, user_length
from patterns.exchange.svg_path import STEPS_MOST, TOKEN, finite_number, path_rings
from patterns.geometry.outline import POINTS_MAX
from patterns.pieces.piece import Point, Ring

TRANSFORM = re.compile(r"(\w+)\s*\(([^)]*)\)")
SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
LETTERS_MOST = 40 * 4 * POINTS_MAX  # two numbers with all their figures take some 40 letters
NOT_DRAWN = frozenset(
    {"defs", "clipPath", "mask", "pattern", "symbol", "marker", "foreignObject", "metadata"}
)
# Each would need more than the file's shapes to say where it lies or what is seen of it.
REFUSED_TAGS = {
    "use": "draws a copy of another shape by reference; save the drawing with its copies as shapes",
    "svg": "holds a drawing inside the drawing; take it out of its frame",
    "switch": "draws one of several shapes by choice; leave only the one that counts",
}
REFUSED_ATTRIBUTES = {
    "clip-path": "shows only a part of a shape (clip-path); cut the shape itself",
    "mask": "shows only a part of a shape (mask); cut the shape itself",
    "transform-origin": "turns a shape about a point of its own (transform-origin); apply the turn",
}
STYLE_MOVES = re.compile(r"\b(transform|translate|rotate|scale|offset|zoom|d|r|rx|ry|cx|cy)\s*:")
SHOWING = re.compile(r"\b(display|visibility)\s*:\s*([a-z]+)")
SHEET_MOVES = re.compile(r"\b(transform|display|visibility|clip-path|mask)\s*:")


def svg_rings(data: bytes, *, mm_per_unit: float | None = None) -> list[Ring]:
    """Return every closed shape of an SVG file.

    Parameters
    ----------
    data : bytes
    mm_per_unit : float, optional
        How long one unit of the drawing is; left out, the file must say how large it is.

    Raises
    ------
    OutlineError
        No SVG that can be read exactly; the message names the line.
    """
    reader = _Reader(mm_per_unit)
    try:
        parse_xml(io.BytesIO(data), reader)
    except SAXParseException as error:
        raise line_fault(error.getLineNumber() or 1, "is no SVG that can be read") from None
    except (SAXException, DefusedXmlException):
        raise line_fault(1, "holds something no drawing needs, such as an entity") from None
    except PatternError:
        raise
    except (LookupError, ValueError):  # the parser's own, of an encoding it does not know
        raise line_fault(1, "is written in an encoding that is not known; save as UTF-8") from None
    if not reader.is_svg:
        raise line_fault(1, "does not begin an SVG drawing")
    if reader.rings and reader.no_size_on:
        raise no_size(reader.no_size_on)
    return reader.rings


class _Reader(ContentHandler):
    """Collects rings while the file is read, with the transforms of the groups they stand in."""

    def __init__(self, mm_per_unit: float | None) -> None:
        super().__init__()
        self.rings: list[Ring] = []
        self.is_svg = False
        self.no_size_on = 0  # the line of a drawing that does not say how large it is
        self._mm_per_unit = mm_per_unit
        self._matrices: list[Matrix] = [SAME]
        self._hidden: list[bool] = [False]  # not drawn at all, with everything inside
        self._unseen: list[bool] = [False]  # visibility: what is inside may be seen again
        self._points = 0
        self._in_style = False

    @property
    def _line(self) -> int:
        locator = getattr(self, "_locator", None)
        return locator.getLineNumber() if locator is not None else 1

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802 - of the base
        tag = name.rpartition(":")[2]
        given = {key: attrs.getValue(key) for key in attrs.getNames()}
        matrix, is_first = self._matrices[-1], tag == "svg" and not self.is_svg
        if is_first:
            self.is_svg = True
            page = page_matrix(given, self._line, self._mm_per_unit)
            self.no_size_on = self._line if page is None else 0
            matrix = page or SAME
        showing = dict(SHOWING.findall(given.get("style", "")))
        display = showing.get("display", given.get("display", ""))
        seen = showing.get("visibility", given.get("visibility", ""))
        self._hidden.append(self._hidden[-1] or tag in NOT_DRAWN or display == "none")
        self._unseen.append(seen in ("hidden", "collapse") if seen else self._unseen[-1])
        self._in_style = tag == "style"
        if not self._hidden[-1]:
            self._refuse(tag, given, is_first=is_first)
        if "transform" in given:
            matrix = _times(matrix, _transform(given["transform"], self._line))
        self._matrices.append(matrix)
        if self.is_svg and not self._hidden[-1] and not self._unseen[-1]:
            self._take(_shapes(tag, given, self._line, matrix), matrix)

    def endElement(self, name: str) -> None:  # noqa: N802 - of the base
        for stack in (self._matrices, self._hidden, self._unseen):
            stack.pop()
        self._in_style = False

    def characters(self, content: str) -> None:
        """Refuse a style sheet that moves, hides or cuts what it names."""
        if self._in_style and SHEET_MOVES.search(content):
            raise line_fault(
                self._line, "has a style sheet that moves or hides shapes; apply it to the shapes"
            )

    def _refuse(self, tag: str, given: Mapping[str, str], *, is_first: bool) -> None:
        """Raise OutlineError for what the file's shapes alone do not tell exactly."""
        if tag in REFUSED_TAGS and not is_first:
            raise line_fault(self._line, REFUSED_TAGS[tag])
        style = given.get("style", "")
        for name, what in REFUSED_ATTRIBUTES.items():
            said = given.get(name, "none")
            if said != "none" or re.search(rf"\b{name}\s*:\s*(?!none)", style):
                raise line_fault(self._line, what)
        if STYLE_MOVES.search(style):
            raise line_fault(
                self._line, "moves or shapes something by its style; write it as attributes"
            )

    def _take(self, rings: Sequence[Sequence[Point]], matrix: Matrix) -> None:
        for ring in rings:
            self._points += len(ring)
            if self._points > 4 * POINTS_MAX:
                raise line_fault(self._line, f"is beyond {4 * POINTS_MAX} points; draw with fewer")
            moved = tuple(_apply(matrix, point) for point in ring)
            checked_far(moved, self._line)
            if len(moved) > 1 and moved[0] == moved[-1]:
                moved = moved[:-1]
            self.rings.append(moved)


def _numbers(text: str, line: int) -> list[float]:
    left = TOKEN.sub("", text).strip(" ,\t\r\n")
    if left or any(letter for letter, _number_text in TOKEN.findall(text)):
        raise line_fault(line, f"has “{text[:30]}” where numbers belong")
    return [finite_number(number, line) for _letter, number in TOKEN.findall(text)]


def _times(a: Matrix, b: Matrix) -> Matrix:
    return (
        a[0] * b[0] + a[2] * b[1],
        a[1] * b[0] + a[3] * b[1],
        a[0] * b[2] + a[2] * b[3],
        a[1] * b[2] + a[3] * b[3],
        a[0] * b[4] + a[2] * b[5] + a[4],
        a[1] * b[4] + a[3] * b[5] + a[5],
    )


def _apply(m: Matrix, point: Point) -> Point:
    x, y = point
    return (m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5])


def _transform(text: str, line: int) -> Matrix:
    matrix = SAME
    for name, inside in TRANSFORM.findall(text):
        matrix = _times(matrix, _one_transform(name, _numbers(inside, line), line))
    return matrix


def _one_transform(name: str, v: list[float], line: int) -> Matrix:
    if name == "matrix" and len(v) == 6:
        return (v[0], v[1], v[2], v[3], v[4], v[5])
    if name == "translate" and len(v) in (1, 2):
        return (1.0, 0.0, 0.0, 1.0, v[0], v[1] if len(v) == 2 else 0.0)
    if name == "scale" and len(v) in (1, 2):
        return (v[0], 0.0, 0.0, v[-1], 0.0, 0.0)
    if name == "rotate" and len(v) in (1, 3):
        c, s = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
        x, y = (v[1], v[2]) if len(v) == 3 else (0.0, 0.0)
        return (c, s, -s, c, x - c * x + s * y, y - s * x - c * y)
    if name in ("skewX", "skewY") and len(v) == 1:
        slope = math.tan(math.radians(v[0]))
        return (
            (1.0, slope, 0.0, 1.0, 0.0, 0.0)
            if name == "skewY"
            else (1.0, 0.0, slope, 1.0, 0.0, 0.0)
        )
    raise line_fault(line, f"has the transform “{name[:20]}”, which cannot be read")


def _shapes(tag: str, given: Mapping[str, str], line: int, matrix: Matrix) -> list[list[Point]]:
    """Return the closed rings one element draws, in the drawing's own units."""
    # Counted before anything is read: a million points are refused in a moment.
    if max(len(given.get("d", "")), len(given.get("points", ""))) > LETTERS_MOST:
        raise line_fault(line, f"is beyond {4 * POINTS_MAX} points; draw with fewer")
    size = max(math.hypot(matrix[0], matrix[1]), math.hypot(matrix[2], matrix[3]), 1e-9)
    flat = FLAT_MM / size
    if tag == "path":
        return path_rings(given.get("d", ""), line, flat)
    if tag in ("polygon", "polyline"):
        v = _numbers(given.get("points", ""), line)
        if len(v) % 2:
            raise line_fault(line, "has an odd number of coordinates")
        ring = list(zip(v[::2], v[1::2], strict=True))
        return [ring] if tag == "polygon" or (ring and ring[0] == ring[-1]) else []
    if tag == "rect":
        return _rect(given, line, flat)
    if tag in ("circle", "ellipse"):
        x, y, r, rx, ry = (
            user_length(given.get(key, ""), line) for key in ("cx", "cy", "r", "rx", "ry")
        )
        across, up = (r, r) if tag == "circle" else (rx or ry, ry or rx)
        if across <= 0.0 or up <= 0.0:
            return []
        turns = [2 * math.pi * k / STEPS_MOST for k in range(STEPS_MOST)]
        return [[(x + across * math.cos(t), y + up * math.sin(t)) for t in turns]]
    return []


def _rect(given: Mapping[str, str], line: int, flat: float) -> list[list[Point]]:
    """Return a rectangle, its corners rounded where the drawing rounds them (SVG 2, 10.2)."""
    x, y, w, h, rx, ry = (
        user_length(given.get(key, ""), line) for key in ("x", "y", "width", "height", "rx", "ry")
    )
    if w <= 0.0 or h <= 0.0:
        return []
    rx, ry = min(rx or ry, w / 2), min(ry or rx, h / 2)
    if rx <= 0.0 or ry <= 0.0:
        return [[(x, y), (x + w, y), (x + w, y + h), (x, y + h)]]
    corner = f"a{rx!r} {ry!r} 0 0 1"
    text = (
        f"M{x + rx!r} {y!r}h{w - 2 * rx!r}{corner} {rx!r} {ry!r}v{h - 2 * ry!r}{corner} {-rx!r}"
        f" {ry!r}h{2 * rx - w!r}{corner} {-rx!r} {-ry!r}v{2 * ry - h!r}{corner} {rx!r} {-ry!r}Z"
    )
    return path_rings(text, line, flat)
