"""The marks on pieces that are made of several lines: holes and the tight-way arrow."""

from math import hypot

from patterns.drawing.drawing import Stroke, circle
from patterns.pieces.piece import Point

ARROW_HEAD_MM = 2.4
ARROW_HEIGHT_MM = 2.6


def hole_strokes(x_mm: float, y_mm: float, diameter_mm: float) -> tuple[Stroke, ...]:
    """Return a hole as a circle with cross hairs reaching past it."""
    reach = diameter_mm / 2 + 0.6
    return (
        circle(x_mm, y_mm, diameter_mm / 2, "hole"),
        Stroke(((x_mm - reach, y_mm), (x_mm + reach, y_mm)), "hole"),
        Stroke(((x_mm, y_mm - reach), (x_mm, y_mm + reach)), "hole"),
    )


def arrow_strokes(tail: Point, tip: Point) -> tuple[Stroke, ...]:
    """Return the tight-way arrow: a shaft with a head of two strokes at either end."""
    length = hypot(tip[0] - tail[0], tip[1] - tail[1])
    if length == 0.0:
        return ()
    along = ((tip[0] - tail[0]) / length, (tip[1] - tail[1]) / length)
    head = min(ARROW_HEAD_MM, length / 3)
    return (
        Stroke((tail, tip), "tight way"),
        _arrow_head(tip, along, head),
        _arrow_head(tail, (-along[0], -along[1]), head),
    )


def _arrow_head(tip: Point, along: Point, size_mm: float) -> Stroke:
    back, out = size_mm, size_mm * 0.42
    ends = [
        (
            tip[0] - back * along[0] - side * out * along[1],
            tip[1] - back * along[1] + side * out * along[0],
        )
        for side in (1, -1)
    ]
    return Stroke((ends[0], tip, ends[1]), "tight way")
