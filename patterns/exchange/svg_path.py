"""The ``d`` of an SVG path as rings of points: all commands, curves in short straight pieces."""

import math
import re
from collections.abc import Sequence
from itertools import pairwise

from patterns.exchange.outline_file import line_fault
from patterns.pieces.piece import Point

TOKEN = re.compile(r"([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,2})?)", re.ASCII)
STEPS_LEAST, STEPS_MOST = 4, 64
# How many numbers follow each path command.
NUMBERS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def finite_number(text: str, line: int) -> float:
    """Return a number; raises OutlineError for what is none, or none that ends."""
    try:
        value = float(text)
    except ValueError:
        raise line_fault(line, f"has “{text[:20]}” where a number belongs") from None
    if not math.isfinite(value):
        raise line_fault(line, f"has “{text[:20]}”, which is no finite number")
    return value


def path_rings(text: str, line: int, flat: float) -> list[list[Point]]:
    """Return the closed parts of a path; an open one that ends where it began is closed too.

    ``flat`` is how far a curve may lie from the straight pieces it becomes.
    """
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
            waiting.append(finite_number(number, line))
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
