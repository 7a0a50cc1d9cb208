"""Draw a nest: the outlines of one piece for several feet, laid over one another and named."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi, sin

import shapely

from patterns.drawing.drawing import Drawing, LineKind, Stroke, Words, box_round
from patterns.pieces.piece import Point, Ring

LABEL_MM = 3.2
LABEL_STEP = 1.35  # of the letters' height: from one name to the next
AWAY_MM = 7.0
RAYS = 72  # ways looked in for the one along which the outlines lie furthest apart
TITLE_MM = 3.8


@dataclass(frozen=True, slots=True)
class NestRing:
    """The outline of a piece for one foot, laid over the others, and the foot's name."""

    name: str
    ring_mm: Ring


def draw_nest(title: str, rings: Sequence[NestRing]) -> Drawing:
    """Return the outlines over one another at true scale, each led to its name at the right.

    The first outline, which the others are held against, is drawn wide, the others narrow.

    Parameters
    ----------
    title : str
        The piece's name.
    rings : sequence of NestRing, length n >= 1
    """
    box = box_round(point for ring in rings for point in ring.ring_mm)
    strokes = [
        Stroke(ring.ring_mm, _kind(number), closed=True) for number, ring in enumerate(rings)
    ]
    spots = _spots(rings)
    edge = box.right_mm + AWAY_MM
    height = LABEL_STEP * LABEL_MM
    level = (box.top_mm + box.bottom_mm) / 2 + height * (len(rings) - 1) / 2
    order = sorted(range(len(rings)), key=lambda number: -spots[number][1])
    words = [
        Words(title, box.left_mm, box.top_mm + 2.5, TITLE_MM, face="italic", ink="quiet"),
    ]
    for place, number in enumerate(order):
        y = level - place * height
        words.append(
            Words(
                rings[number].name,
                edge,
                y - 0.35 * LABEL_MM,
                LABEL_MM,
                face="bold" if number == 0 else "sans",
            )
        )
        strokes.append(Stroke((spots[number], (edge - 0.8, y)), "leader"))
    return Drawing(tuple(strokes), words=tuple(words))


def _kind(number: int) -> LineKind:
    return "cut" if number == 0 else ("mark" if number % 2 else "fold")


def _spots(rings: Sequence[NestRing]) -> list[Point]:
    """Return a place on each outline, all on one ray along which they lie furthest apart.

    Only rays towards the names are looked at, so that no leader crosses the piece.
    """
    middle = shapely.Polygon(rings[0].ring_mm).representative_point()
    reach = 2.0 * max(max(abs(x), abs(y)) for ring in rings for x, y in ring.ring_mm) + 1.0
    best: list[Point] = []
    widest = -1.0
    for step in range(-RAYS // 6, RAYS // 6 + 1):
        angle = 2 * pi * step / RAYS
        ray = shapely.LineString(
            [(middle.x, middle.y), (middle.x + reach * cos(angle), middle.y + reach * sin(angle))]
        )
        places = [_outermost(ring.ring_mm, ray, middle) for ring in rings]
        spread = _spread(places, middle)
        if spread > widest:
            widest, best = spread, places
    return best


def _outermost(ring: Ring, ray: shapely.LineString, middle: shapely.Point) -> Point:
    """Return where a ray leaves an outline for the last time; the nearest corner if it misses."""
    met = shapely.intersection(shapely.LinearRing(ring), ray)
    points = shapely.get_coordinates(met)
    if not len(points):
        near = min(ring, key=lambda point: ray.distance(shapely.Point(point)))
        return (float(near[0]), float(near[1]))
    far = max(points, key=lambda point: middle.distance(shapely.Point(point)))
    return (float(far[0]), float(far[1]))


def _spread(places: Sequence[Point], middle: shapely.Point) -> float:
    """Return the least gap between neighbouring outlines along the ray."""
    away = sorted(middle.distance(shapely.Point(place)) for place in places)
    gaps = [after - before for before, after in pairwise(away)]
    return min(gaps, default=0.0)
