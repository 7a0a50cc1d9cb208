"""A piece drawn reduced, its joining edges numbered, for instructions rather than for cutting."""

from collections.abc import Mapping
from itertools import pairwise

from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from patterns.drawing.drawing import Drawing, Stroke, Turn, Words, circle
from patterns.geometry.curves import polyline_length_mm
from patterns.pieces.piece import Piece, Point

NUMBER_MM = 3.0
RING_MM = 2.3  # radius of the ring round a number
INWARD_MM = 3.4  # of its middle from the edge
UNSEEN_MM = 0.03  # a third of the narrowest pen


def draw_numbered(piece: Piece, numbers: Mapping[str, int], *, scale: float) -> Drawing:
    """Return a piece at a scale with the number of each join in a ring at its edge.

    Parameters
    ----------
    piece : Piece
    numbers : mapping from an edge's name to its number
    scale : float
        Millimetres drawn per millimetre of the piece, above zero.
    """
    turn = Turn(scale=scale)
    strokes = [
        Stroke(_fewer(turn.many(piece.cut_mm)), "cut", closed=True),
        Stroke(_fewer(turn.many(piece.net_mm)), "net", closed=True),
    ]
    strokes += [
        Stroke(_fewer(turn.many(line.points_mm)), line.kind)
        for line in piece.lines
        if line.kind in ("fold", "stitch", "mark")
    ]
    for hole in piece.holes:
        x, y = turn((hole.x_mm, hole.y_mm))
        strokes.append(circle(x, y, max(0.4, scale * hole.diameter_mm / 2.0), "hole"))
    body = Polygon(turn.many(piece.net_mm)).buffer(0)
    words = []
    for edge in piece.edges:
        if edge.name not in numbers:
            continue
        x, y = _beside(turn.many(edge.points_mm), body)
        strokes.append(circle(x, y, RING_MM, "leader"))
        words.append(
            Words(
                str(numbers[edge.name]), x, y - NUMBER_MM * 0.36, NUMBER_MM, "middle", face="bold"
            )
        )
    return Drawing(tuple(strokes), words=tuple(words), scale=scale)


def _fewer(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Return the line through fewer points, nowhere a visible distance away."""
    return tuple(LineString(points).simplify(UNSEEN_MM).coords)


def _beside(points: tuple[Point, ...], body: Polygon) -> Point:
    """Return a place just inside the middle of an edge, or outside where the piece is narrow."""
    (x, y), (along_x, along_y) = _middle(points)
    for side in (1.0, -1.0):
        found = (x - side * along_y * INWARD_MM, y + side * along_x * INWARD_MM)
        if body.contains(Spot(*found).buffer(RING_MM)):
            return found
    outward = (x - along_y * INWARD_MM, y + along_x * INWARD_MM)
    if body.contains(Spot(*outward)):
        return (x + along_y * INWARD_MM, y - along_x * INWARD_MM)
    return outward


def _middle(points: tuple[Point, ...]) -> tuple[Point, Point]:
    """Return the point half way along a line, and the way it runs there, one long."""
    left = polyline_length_mm(points) / 2.0
    for (x0, y0), (x1, y1) in pairwise(points):
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        if length and left <= length:
            share = left / length
            way = ((x1 - x0) / length, (y1 - y0) / length)
            return (x0 + share * (x1 - x0), y0 + share * (y1 - y0)), way
        left -= length
    return points[-1], (1.0, 0.0)
