"""Closed shapes of an SVG drawing as rings in millimetres, y up.

Read: ``path`` (all commands), ``polygon``, closed ``polyline``, ``rect``, ``circle``, ``ellipse``,
with ``transform`` of themselves and their groups, and the drawing's ``viewBox`` with its width in
mm, cm, in, pt, pc or px (96 to the inch, CSS Values and Units Level 4, 6.2).
"""

import io
import math
import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from xml.sax import SAXException, SAXParseException
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl

from defusedxml.common import DefusedXmlException
from defusedxml.sax import parse as parse_xml

from patterns.exchange.outline_file import FLAT_MM, checked_far, line_fault
from patterns.geometry.outline import POINTS_MAX
from patterns.pieces.piece import Point, Ring

Matrix = tuple[float, float, float, float, float, float]

MM_PER_UNIT = {
    "mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96,
    "": 25.4 / 96,
}  # fmt: skip
LENGTH = re.compile(r"\s*([-+]?[\d.]+(?:[eE][-+]?\d{1,2})?)\s*([a-z%]*)\s*", re.ASCII)
TOKEN = re.compile(r"([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,2})?)", re.ASCII)
TRANSFORM = re.compile(r"(\w+)\s*\(([^)]*)\)")
SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
LETTERS_MOST = 40 * 4 * POINTS_MAX  # two numbers with all their figures take some 40 letters
STEPS_LEAST, STEPS_MOST = 4, 64
NOT_DRAWN = frozenset({"defs", "clipPath", "mask", "pattern", "symbol", "marker"})
# How many numbers follow each path command.
NUMBERS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def svg_rings(data: bytes) -> list[Ring]:
    """Return every closed shape of an SVG file.

    Raises
    ------
    OutlineError
        No SVG that can be read; the message names the line.
    """
    reader = _Reader()
    try:
        parse_xml(io.BytesIO(data), reader)
    except SAXParseException as error:
        raise line_fault(error.getLineNumber() or 1, "is no SVG that can be read") from None
    except (SAXException, DefusedXmlException):
        raise line_fault(1, "holds something no drawing needs, such as an entity") from None
    if not reader.is_svg:
        raise line_fault(1, "does not begin an SVG drawing")
    return reader.rings


class _Reader(ContentHandler):
    """Collects rings while the file is read, with the transforms of the groups they stand in."""

    def __init__(self) -> None:
        super().__init__()
        self.rings: list[Ring] = []
        self.is_svg = False
        self._matrices: list[Matrix] = [SAME]
        self._hidden = 0
        self._points = 0

    @property
    def _line(self) -> int:
        locator = getattr(self, "_locator", None)
        return locator.getLineNumber() if locator is not None else 1

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802 - of the base
        tag = name.rpartition(":")[2]
        given = {key: attrs.getValue(key) for key in attrs.getNames()}
        matrix = self._matrices[-1]
        if tag == "svg" and not self.is_svg:
            self.is_svg = True
            matrix = _page_matrix(given, self._line)
        if "transform" in given:
            matrix = _times(matrix, _transform(given["transform"], self._line))
        self._matrices.append(matrix)
        if tag in NOT_DRAWN:
            self._hidden += 1
        if self.is_svg and not self._hidden:
            self._take(_shapes(tag, given, self._line, matrix), matrix)

    def endElement(self, name: str) -> None:  # noqa: N802 - of the base
        self._matrices.pop()
        if name.rpartition(":")[2] in NOT_DRAWN:
            self._hidden -= 1

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


def _page_matrix(given: Mapping[str, str], line: int) -> Matrix:
    """Return what turns the drawing's units into mm with y up."""
    box = [float(text) for text in TOKEN.sub(r" \2 ", given.get("viewBox", "")).split()]
    width, unit = _length(given.get("width", ""), line)
    if len(box) == 4 and box[2] > 0 and unit != "%":
        scale = width * MM_PER_UNIT[unit] / box[2] if width else MM_PER_UNIT[""]
        return (scale, 0.0, 0.0, -scale, -scale * box[0], scale * (box[1] + box[3]))
    height, height_unit = _length(given.get("height", ""), line)
    up = height * MM_PER_UNIT.get(height_unit, 1.0)
    scale = MM_PER_UNIT[""]
    return (scale, 0.0, 0.0, -scale, 0.0, up)


def _length(text: str, line: int) -> tuple[float, str]:
    if not text:
        return 0.0, ""
    found = LENGTH.fullmatch(text)
    if found is None or (found[2] not in MM_PER_UNIT and found[2] != "%"):
        raise line_fault(line, f"has the length “{text[:20]}”; write it in mm")
    return _number(found[1], line), found[2]


def _number(text: str, line: int) -> float:
    try:
        value = float(text)
    except ValueError:
        raise line_fault(line, f"has “{text[:20]}” where a number belongs") from None
    if not math.isfinite(value):
        raise line_fault(line, f"has “{text[:20]}”, which is no finite number")
    return value


def _numbers(text: str, line: int) -> list[float]:
    left = TOKEN.sub("", text).strip(" ,\t\r\n")
    if left or any(letter for letter, _number_text in TOKEN.findall(text)):
        raise line_fault(line, f"has “{text[:30]}” where numbers belong")
    return [_number(number, line) for _letter, number in TOKEN.findall(text)]


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
    if tag == "path":
        return _path(given.get("d", ""), line, FLAT_MM / size)
    if tag in ("polygon", "polyline"):
        v = _numbers(given.get("points", ""), line)
        if len(v) % 2:
            raise line_fault(line, "has an odd number of coordinates")
        ring = list(zip(v[::2], v[1::2], strict=True))
        return [ring] if tag == "polygon" or (ring and ring[0] == ring[-1]) else []
    if tag == "rect":
        x, y, w, h = (_length(given.get(key, ""), line)[0] for key in ("x", "y", "width", "height"))
        return [[(x, y), (x + w, y), (x + w, y + h), (x, y + h)]]
    if tag in ("circle", "ellipse"):
        x, y, r, rx, ry = (
            _length(given.get(key, ""), line)[0] for key in ("cx", "cy", "r", "rx", "ry")
        )
        across, up = (r, r) if tag == "circle" else (rx, ry)
        turns = [2 * math.pi * k / STEPS_MOST for k in range(STEPS_MOST)]
        return [[(x + across * math.cos(t), y + up * math.sin(t)) for t in turns]]
    return []


def _path(text: str, line: int, flat: float) -> list[list[Point]]:
    """Return the closed parts of a path; an open one that ends where it began is closed too."""
    if TOKEN.sub("", text).strip(" ,\t\r\n"):
        raise line_fault(line, "has a path that cannot be read")
    pen = _Pen(flat)
    for letter, values in _commands(text, line):
        pen.draw(letter, values)
    pen.lift()
    return [ring for ring, closed in pen.rings if closed and len(ring) >= 3]


def _commands(text: str, line: int) -> list[tuple[str, list[float]]]:
    found: list[tuple[str, list[float]]] = []
    letter, waiting = "", list[float]()
    for said, number in [*TOKEN.findall(text), ("Z" if text else "", "")][:-1]:
        if said:
            if waiting:
                raise line_fault(line, f"has a path whose {letter} lacks numbers")
            if said.upper() not in NUMBERS:
                raise line_fault(line, f"has the path command {said}, which there is not")
            letter = said
            if letter in "Zz":
                found.append((letter, []))
        elif not letter or letter in "Zz":
            raise line_fault(line, "has a path that does not begin with M")
        else:
            waiting.append(_number(number, line))
            if len(waiting) == NUMBERS[letter.upper()]:
                found.append((letter, waiting))
                waiting = []
                # Numbers that follow a move without a letter are lines (SVG 2, 9.3.3).
                letter = {"M": "L", "m": "l"}.get(letter, letter)
    if waiting:
        raise line_fault(line, f"has a path whose {letter} lacks numbers")
    return found


class _Pen:
    """Follows a path's commands and leaves points."""

    def __init__(self, flat: float) -> None:
        self.rings: list[tuple[list[Point], bool]] = []
        self._flat = flat
        self._ring: list[Point] = []
        self._at: Point = (0.0, 0.0)
        self._handle: tuple[str, Point] = ("", (0.0, 0.0))

    def lift(self) -> None:
        if self._ring:
            self.rings.append((self._ring, self._ring[0] == self._ring[-1]))
        self._ring = []

    def draw(self, letter: str, v: list[float]) -> None:
        kind = letter.upper()
        dx, dy = self._at if letter.islower() else (0.0, 0.0)
        if kind == "Z":
            if self._ring:
                self._at = self._ring[0]
                self.rings.append((self._ring, True))
                self._ring = []
            self._handle = ("", self._at)
            return
        if kind == "M":
            self.lift()
            self._at = (v[0] + dx, v[1] + dy)
            self._ring = [self._at]
        elif kind == "A":
            self._arc(v, (v[5] + dx, v[6] + dy))
        elif kind in "HV":
            x, y = self._at
            self._line((v[0] + dx, y) if kind == "H" else (x, v[0] + dy))
        else:
            points = [(x + dx, y + dy) for x, y in zip(v[::2], v[1::2], strict=True)]
            self._bend(kind, points)
            return
        self._handle = ("", self._at)

    def _line(self, end: Point) -> None:
        if not self._ring:
            self._ring = [self._at]
        self._ring.append(end)
        self._at = end

    def _bend(self, kind: str, points: list[Point]) -> None:
        """Draw a line or a Bezier curve; S and T take up the last curve's handle, mirrored."""
        x, y = self._at
        family, handle = self._handle
        if kind in "ST":
            is_same = family == {"S": "C", "T": "Q"}[kind]
            points = [(2 * x - handle[0], 2 * y - handle[1]) if is_same else (x, y), *points]
            kind = {"S": "C", "T": "Q"}[kind]
        corners = [self._at, *points]
        if kind == "L":
            self._line(points[-1])
        else:
            steps = self._steps(corners)
            for k in range(1, steps + 1):
                self._line(_on_curve(corners, k / steps))
            self._ring[-1] = self._at = points[-1]  # without the rounding of the last step
        self._handle = (kind, points[-2] if len(points) > 1 else points[-1])

    def _steps(self, corners: list[Point]) -> int:
        bend = sum(math.dist(a, b) for a, b in pairwise(corners))
        return max(STEPS_LEAST, min(STEPS_MOST, math.ceil(math.sqrt(bend / self._flat) / 2)))

    def _arc(self, v: list[float], end: Point) -> None:
        """Draw an elliptical arc (SVG 2, appendix B.2.4: endpoint to centre)."""
        rx, ry, turn = abs(v[0]), abs(v[1]), math.radians(v[2])
        if rx == 0.0 or ry == 0.0 or self._at == end:
            self._line(end)
            return
        c, s = math.cos(turn), math.sin(turn)
        hx, hy = (self._at[0] - end[0]) / 2, (self._at[1] - end[1]) / 2
        x1, y1 = c * hx + s * hy, -s * hx + c * hy
        grow = math.sqrt(max(1.0, (x1 / rx) ** 2 + (y1 / ry) ** 2))
        rx, ry = rx * grow, ry * grow
        below = (rx * y1) ** 2 + (ry * x1) ** 2
        root = math.sqrt(max(0.0, ((rx * ry) ** 2 - below) / below))
        root = -root if bool(v[3]) == bool(v[4]) else root
        cx1, cy1 = root * rx * y1 / ry, -root * ry * x1 / rx
        cx = c * cx1 - s * cy1 + (self._at[0] + end[0]) / 2
        cy = s * cx1 + c * cy1 + (self._at[1] + end[1]) / 2
        start = math.atan2((y1 - cy1) / ry, (x1 - cx1) / rx)
        sweep = math.atan2((-y1 - cy1) / ry, (-x1 - cx1) / rx) - start
        if v[4] and sweep < 0:
            sweep += 2 * math.pi
        elif not v[4] and sweep > 0:
            sweep -= 2 * math.pi
        steps = max(STEPS_LEAST, math.ceil(STEPS_MOST * abs(sweep) / (2 * math.pi)))
        for k in range(1, steps):
            t = start + sweep * k / steps
            x, y = rx * math.cos(t), ry * math.sin(t)
            self._line((cx + c * x - s * y, cy + s * x + c * y))
        self._line(end)


def _on_curve(corners: Sequence[Point], t: float) -> Point:
    """Return a point of a Bezier curve by de Casteljau's construction."""
    points = list(corners)
    while len(points) > 1:
        points = [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for a, b in pairwise(points)]
    return points[0]
