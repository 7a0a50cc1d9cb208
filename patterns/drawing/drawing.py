"""Drawing: the one value both writers draw, in millimetres with y up."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import cos, pi, radians, sin
from typing import Literal

from patterns.drawing.fonts import Face, text_width_mm
from patterns.pieces.piece import Point, Ring

LineKind = Literal[
    "cut",
    "net",
    "fold",
    "stitch",
    "mark",
    "notch",
    "tight way",
    "hole",
    "leader",
    "hide",
    "hatch",
    "grid",
    "square",
    "scale",
    "rule",
    "register",
    "trim",
    "contour",
    "detail",
    "measure",
    "measure behind",
    "measure thin",
    "witness",
]
FillKind = Literal["hide", "defect", "piece", "foot", "bar", "here", "grade", "sole", "part"]
Anchor = Literal["start", "middle", "end"]
Ink = Literal["ink", "quiet", "faint", "accent", "second"]

# Pen widths are of the series 0.25 0.35 0.5 0.7 1.0 1.4 mm, wide to narrow 2:1: ISO 128-2:2022.
NARROW_MM = 0.25
WIDE_MM = 0.5
FOOT_NARROW_MM = 0.35
FOOT_WIDE_MM = 0.7
MEASURE_MM = 1.4

# How far letters reach above and below the baseline, as a share of the font size.
ASCENT = 0.74
DESCENT = 0.22
CIRCLE_CORNERS = 48


@dataclass(frozen=True, slots=True)
class Pen:
    """How a kind of line is drawn: width, dashes and gaps in turn, and ink."""

    width_mm: float
    dashes_mm: tuple[float, ...] = ()
    ink: Ink = "ink"


# Line types by use: ISO 128-2:2022 (continuous wide and narrow, dashed, dash-dot). The dash
# lengths are ours, short enough to show on pieces a few millimetres wide.
PENS: dict[LineKind, Pen] = {
    "cut": Pen(WIDE_MM),
    "net": Pen(NARROW_MM, ink="quiet"),
    "fold": Pen(NARROW_MM, (4.0, 0.8, 0.25, 0.8)),
    "stitch": Pen(NARROW_MM, (1.2, 0.8), ink="accent"),
    "mark": Pen(NARROW_MM),
    "notch": Pen(NARROW_MM),
    "tight way": Pen(NARROW_MM, ink="second"),
    "hole": Pen(NARROW_MM),
    "leader": Pen(NARROW_MM, ink="quiet"),
    "hide": Pen(WIDE_MM),
    "hatch": Pen(NARROW_MM, ink="accent"),
    "grid": Pen(NARROW_MM, ink="quiet"),
    "square": Pen(NARROW_MM, ink="faint"),
    "scale": Pen(NARROW_MM),
    "rule": Pen(NARROW_MM, ink="faint"),
    "register": Pen(NARROW_MM),
    "trim": Pen(NARROW_MM, (0.25, 1.5), ink="quiet"),
    "contour": Pen(FOOT_WIDE_MM),
    "detail": Pen(FOOT_NARROW_MM, ink="quiet"),
    "measure": Pen(MEASURE_MM, ink="accent"),
    "measure behind": Pen(FOOT_WIDE_MM, (1.6, 1.3), ink="accent"),
    "measure thin": Pen(WIDE_MM, ink="accent"),
    "witness": Pen(FOOT_NARROW_MM, ink="quiet"),
}


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle."""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float

    @property
    def width_mm(self) -> float:
        """Return right minus left."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """Return top minus bottom."""
        return self.top_mm - self.bottom_mm

    def grown(self, by_mm: float) -> "Box":
        """Return the box larger by so much on every side."""
        return Box(
            self.left_mm - by_mm,
            self.bottom_mm - by_mm,
            self.right_mm + by_mm,
            self.top_mm + by_mm,
        )

    def ring(self) -> Ring:
        """Return the four corners, counter-clockwise from the lower left."""
        return (
            (self.left_mm, self.bottom_mm),
            (self.right_mm, self.bottom_mm),
            (self.right_mm, self.top_mm),
            (self.left_mm, self.top_mm),
        )


def box_round(points: Iterable[Point]) -> Box:
    """Return the smallest box round the points; a box of no size at the origin if none."""
    corners = tuple(points)
    if not corners:
        return Box(0.0, 0.0, 0.0, 0.0)
    xs, ys = zip(*corners, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


@dataclass(frozen=True, slots=True)
class Turn:
    """A mirroring (x to -x), then a turn counter-clockwise about the origin, scale and move."""

    x_mm: float = 0.0
    y_mm: float = 0.0
    angle_deg: float = 0.0
    scale: float = 1.0
    mirrored: bool = False

    def __call__(self, point: Point) -> Point:
        """Return where the point comes to lie."""
        x, y = (-point[0] if self.mirrored else point[0]), point[1]
        # Quarter turns are exact, so that a turned outline keeps its very figures.
        quarter = {0.0: (1, 0), 90.0: (0, 1), 180.0: (-1, 0), 270.0: (0, -1)}
        angle = radians(self.angle_deg)
        c, s = quarter.get(self.angle_deg % 360.0, (cos(angle), sin(angle)))
        return (
            self.x_mm + self.scale * (c * x - s * y),
            self.y_mm + self.scale * (s * x + c * y),
        )

    def many(self, points: Iterable[Point]) -> tuple[Point, ...]:
        """Return where each of the points comes to lie."""
        return tuple(self(point) for point in points)


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points, open or closed, drawn as its kind is drawn."""

    points_mm: tuple[Point, ...]
    kind: LineKind
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Fill:
    """A filled ring, holes left open, drawn under every stroke.

    A fill of kind ``part`` is the room of the pattern piece named by ``part``. It shows nothing of
    itself, so papers leave it out; pages mark a piece by it.
    """

    ring_mm: Ring
    kind: FillKind
    holes_mm: tuple[Ring, ...] = ()
    part: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text: ``(x, y)`` is where the anchor meets the baseline."""

    text: str
    x_mm: float
    y_mm: float
    size_mm: float = 3.5
    anchor: Anchor = "start"
    angle_deg: float = 0.0
    face: Face = "sans"
    ink: Ink = "ink"

    @property
    def width_mm(self) -> float:
        """Return how wide the line of text is."""
        return text_width_mm(self.text, self.size_mm, self.face)

    def ring(self) -> Ring:
        """Return the four corners of the rectangle the letters stand in."""
        width = self.width_mm
        start = {"start": 0.0, "middle": -width / 2, "end": -width}[self.anchor]
        box = Box(start, -DESCENT * self.size_mm, start + width, ASCENT * self.size_mm)
        return Turn(self.x_mm, self.y_mm, self.angle_deg).many(box.ring())


@dataclass(frozen=True, slots=True)
class Drawing:
    """Fills, strokes and words. ``scale`` tells millimetres drawn per millimetre meant."""

    strokes: tuple[Stroke, ...] = ()
    fills: tuple[Fill, ...] = ()
    words: tuple[Words, ...] = ()
    scale: float = 1.0

    @property
    def extents(self) -> Box:
        """Return the box round everything drawn, half the widest pen included."""
        widest = max((PENS[stroke.kind].width_mm for stroke in self.strokes), default=0.0)
        return box_round(self._all_points()).grown(widest / 2)

    def _all_points(self) -> Iterable[Point]:
        for stroke in self.strokes:
            yield from stroke.points_mm
        for fill in self.fills:
            yield from fill.ring_mm
        for words in self.words:
            yield from words.ring()

    def turned(self, turn: Turn) -> "Drawing":
        """Return the drawing moved and turned; words follow but are never mirrored or resized."""
        return replace(
            self,
            strokes=tuple(
                replace(stroke, points_mm=turn.many(stroke.points_mm)) for stroke in self.strokes
            ),
            fills=tuple(
                replace(
                    fill,
                    ring_mm=turn.many(fill.ring_mm),
                    holes_mm=tuple(turn.many(hole) for hole in fill.holes_mm),
                )
                for fill in self.fills
            ),
            words=tuple(_turned_words(words, turn) for words in self.words),
        )

    def without_parts(self) -> "Drawing":
        """Return the drawing as papers show it, without the rooms of pieces."""
        return replace(self, fills=tuple(fill for fill in self.fills if fill.kind != "part"))

    def moved(self, x_mm: float, y_mm: float) -> "Drawing":
        """Return the drawing moved by so much."""
        return self.turned(Turn(x_mm, y_mm))


def _turned_words(words: Words, turn: Turn) -> Words:
    x_mm, y_mm = turn((words.x_mm, words.y_mm))
    return replace(words, x_mm=x_mm, y_mm=y_mm, angle_deg=words.angle_deg + turn.angle_deg)


def joined(drawings: Iterable[Drawing]) -> Drawing:
    """Return one drawing of all, the first one's scale kept."""
    parts = tuple(drawings)
    return Drawing(
        strokes=tuple(stroke for part in parts for stroke in part.strokes),
        fills=tuple(fill for part in parts for fill in part.fills),
        words=tuple(words for part in parts for words in part.words),
        scale=parts[0].scale if parts else 1.0,
    )


def circle(x_mm: float, y_mm: float, radius_mm: float, kind: LineKind) -> Stroke:
    """Return a circle as a closed stroke of many corners."""
    return Stroke(ellipse_points((x_mm, y_mm), radius_mm, radius_mm), kind, closed=True)


def ellipse_points(
    centre: Point, across_mm: float, up_mm: float, *, from_deg: float = 0.0, to_deg: float = 360.0
) -> tuple[Point, ...]:
    """Return points along an ellipse or a part of one; a full one does not repeat its start."""
    full = to_deg - from_deg >= 360.0
    count = CIRCLE_CORNERS if full else CIRCLE_CORNERS // 2 + 1
    span = (to_deg - from_deg) * pi / 180.0
    steps = (radians(from_deg) + span * k / (count if full else count - 1) for k in range(count))
    return tuple((centre[0] + across_mm * cos(a), centre[1] + up_mm * sin(a)) for a in steps)


def smooth_curve(
    corners: Sequence[Point], *, closed: bool = False, per_span: int = 8
) -> tuple[Point, ...]:
    """Return a smooth line through the corners (centripetal Catmull-Rom curve).

    Parameters
    ----------
    corners : sequence of (x, y), length n >= 3
    closed : bool
        Whether the line runs back to its start; the start is then not repeated.
    per_span : int
        Points drawn between two corners.
    """
    n = len(corners)
    if closed:
        padded = [corners[-1], *corners, corners[0], corners[1]]
    else:
        first = _beyond(corners[1], corners[0])
        padded = [first, *corners, _beyond(corners[-2], corners[-1])]
    points: list[Point] = []
    for k in range(n if closed else n - 1):
        points.extend(_span(padded[k : k + 4], per_span))
    if not closed:
        points.append(corners[-1])
    return tuple(points)


def _beyond(inner: Point, end: Point) -> Point:
    return (2 * end[0] - inner[0], 2 * end[1] - inner[1])


def _span(four: Sequence[Point], per_span: int) -> list[Point]:
    knots = [0.0]
    for before, after in pairwise(four):
        gap = ((after[0] - before[0]) ** 2 + (after[1] - before[1]) ** 2) ** 0.25
        knots.append(knots[-1] + max(gap, 1e-6))
    return [
        _on_span(four, knots, knots[1] + (knots[2] - knots[1]) * k / per_span)
        for k in range(per_span)
    ]


def _on_span(four: Sequence[Point], knots: Sequence[float], t: float) -> Point:
    def mix(a: Point, b: Point, start: float, end: float) -> Point:
        share = (t - start) / (end - start)
        return (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)

    first = [mix(four[k], four[k + 1], knots[k], knots[k + 1]) for k in range(3)]
    second = [mix(first[k], first[k + 1], knots[k], knots[k + 2]) for k in range(2)]
    return mix(second[0], second[1], knots[1], knots[2])
