"""Where the words and the arrow of a piece go, so that they cover no line."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import atan2, degrees, radians, sin

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from patterns.drawing.drawing import (
    ASCENT,
    DESCENT,
    Drawing,
    Stroke,
    Turn,
    Words,
    box_round,
    joined,
)
from patterns.drawing.fonts import Face, text_width_mm
from patterns.drawing.free_spot import Spot, free_spot
from patterns.drawing.marks import ARROW_HEIGHT_MM, arrow_strokes
from patterns.pieces.piece import Piece, Point, Ring

# Capitals at least 2 mm high: the smallest size keeps that with either face of Workshop Sans.
LEAST_SIZE_MM = 3.2
LABEL_SIZES_MM = (4.2, 3.6, LEAST_SIZE_MM)
LINE_SPACING = 1.28
CLEARANCE_MM = 0.8
ARROW_LENGTHS_MM = (28.0, 22.0, 17.0, 13.0, 10.0, 8.0)


@dataclass(frozen=True, slots=True)
class LabelLine:
    """One line of a label: its face, and how much larger than the others it is set."""

    text: str
    face: Face = "sans"
    larger: float = 1.0


def _block_size(lines: Sequence[LabelLine], size_mm: float) -> tuple[float, float]:
    width = max(text_width_mm(line.text, size_mm * line.larger, line.face) for line in lines)
    tallest = (ASCENT + DESCENT) * size_mm * lines[0].larger
    return width, tallest + (len(lines) - 1) * size_mm * LINE_SPACING


def _block_words(lines: Sequence[LabelLine], size_mm: float, spot: Spot) -> tuple[Words, ...]:
    turn = Turn(spot.x_mm, spot.y_mm, spot.angle_deg)
    top = spot.height_mm / 2 - ASCENT * size_mm * lines[0].larger
    words = []
    for k, line in enumerate(lines):
        x_mm, y_mm = turn((0.0, top - k * size_mm * LINE_SPACING))
        size = size_mm * line.larger
        words.append(Words(line.text, x_mm, y_mm, size, "middle", spot.angle_deg, line.face))
    return tuple(words)


def _free_area(piece: Piece, outline: Drawing) -> BaseGeometry:
    inside = Polygon(piece.cut_mm).buffer(-CLEARANCE_MM)
    return inside.difference(_room_round(outline.strokes[1:]))


def _room_round(strokes: Sequence[Stroke]) -> BaseGeometry:
    """Return the area too near to lines for words."""
    lines = [
        LineString([*stroke.points_mm, stroke.points_mm[0]] if stroke.closed else stroke.points_mm)
        for stroke in strokes
    ]
    return shapely.MultiLineString(lines).buffer(CLEARANCE_MM)


def label(
    piece: Piece,
    outline: Drawing,
    given_arrow: tuple[Stroke, ...],
    blocks: Sequence[tuple[LabelLine, ...]],
) -> Drawing:
    """Return words and tight-way arrow of a piece, clear of every line.

    The words go inside if there is room, else beside the piece with a leader. An arrow that the
    piece brings along stays where it is unless the words would then have to go outside: its
    direction counts, not its place.

    Parameters
    ----------
    piece : Piece
    outline : Drawing
        Every line of the piece but the tight-way arrow, the cut line first.
    given_arrow : tuple of Stroke
        The arrow as the piece has it; empty if it has none.
    blocks : sequence of tuples of LabelLine
        The label's lines in one or more arrangements, the best first.
    """
    free = _free_area(piece, outline)
    if given_arrow:
        words = _words_inside(piece, free.difference(_room_round(given_arrow)), blocks)
        if words is not None:
            return joined((words[0], Drawing(given_arrow)))
    for arrow_area in (free.intersection(Polygon(piece.net_mm)), free):
        inside = _label_inside(piece, free, arrow_area, blocks)
        if inside is not None:
            return inside
    arrow = Drawing(given_arrow) if given_arrow else _arrow_in(piece, free)
    return _outside_label(piece, blocks[0], arrow)


def _label_inside(
    piece: Piece,
    free: BaseGeometry,
    arrow_area: BaseGeometry,
    blocks: Sequence[tuple[LabelLine, ...]],
) -> Drawing | None:
    """Return words and arrow at the largest size at which both have room; None if none."""
    for size_mm in LABEL_SIZES_MM:
        found = _words_inside(piece, free, blocks, (size_mm,))
        if found is None:
            continue
        words, spot = found
        rest = arrow_area.difference(spot.shape().buffer(CLEARANCE_MM))
        arrow = _arrow_in(piece, rest, (spot.x_mm, spot.y_mm))
        if arrow is not None:
            return joined((words, arrow))
    return None


def _words_inside(
    piece: Piece,
    free: BaseGeometry,
    blocks: Sequence[tuple[LabelLine, ...]],
    sizes_mm: Sequence[float] = LABEL_SIZES_MM,
) -> tuple[Drawing, Spot] | None:
    for size_mm in sizes_mm:
        for lines in blocks:
            spot = _block_spot(piece, free, _block_size(lines, size_mm))
            if spot is not None:
                return Drawing(words=_block_words(lines, size_mm, spot)), spot
    return None


def _block_spot(piece: Piece, free: BaseGeometry, size: tuple[float, float]) -> Spot | None:
    for angle_deg in (0.0, long_way_deg(piece.cut_mm)):
        spot = free_spot(free, *size, angle_deg=angle_deg)
        if spot is not None:
            return spot
    return None


@lru_cache(maxsize=32)  # asked for at every size a label is tried in
def long_way_deg(outline_mm: Ring) -> float:
    """Return the angle of an outline's long side, so turned that words read from the right."""
    corners = list(Polygon(outline_mm).minimum_rotated_rectangle.exterior.coords)
    sides = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(corners)]
    dx, dy = max(sides, key=lambda side: side[0] ** 2 + side[1] ** 2)
    return readable_deg(degrees(atan2(dy, dx)))


def readable_deg(angle_deg: float) -> float:
    """Return the same slant as an angle words read well at: above -90, up to 90 degrees."""
    return 90.0 - (90.0 - angle_deg) % 180.0


def _arrow_in(piece: Piece, free: BaseGeometry, near: Point | None = None) -> Drawing | None:
    """Return the longest arrow that has a clear spot, with its words if they fit too."""
    angle = readable_deg(piece.tight_way_deg)
    words_height = LEAST_SIZE_MM * (ASCENT + DESCENT)
    for length in ARROW_LENGTHS_MM:
        worded = length >= text_width_mm("tight way", LEAST_SIZE_MM, "italic")
        heights = (
            (ARROW_HEIGHT_MM + words_height, ARROW_HEIGHT_MM) if worded else (ARROW_HEIGHT_MM,)
        )
        for height in heights:
            spot = free_spot(free, length, height, angle_deg=angle, near=near)
            if spot is not None:
                return _arrow_at(spot, worded=height > ARROW_HEIGHT_MM)
    return None


def _arrow_at(spot: Spot, *, worded: bool) -> Drawing:
    turn = Turn(spot.x_mm, spot.y_mm, spot.angle_deg)
    level = -spot.height_mm / 2 + ARROW_HEIGHT_MM / 2
    half = spot.width_mm / 2
    strokes = arrow_strokes(turn((-half, level)), turn((half, level)))
    if not worded:
        return Drawing(strokes)
    x_mm, y_mm = turn((0.0, level + ARROW_HEIGHT_MM / 2 + DESCENT * LEAST_SIZE_MM))
    words = Words(
        "tight way", x_mm, y_mm, LEAST_SIZE_MM, "middle", spot.angle_deg, "italic", "second"
    )
    return Drawing(strokes, words=(words,))


def _outside_label(piece: Piece, lines: tuple[LabelLine, ...], arrow: Drawing | None) -> Drawing:
    """Return the label beside the piece with a leader, and the arrow there too if it must."""
    bounds = box_round(piece.cut_mm)
    size_mm = LABEL_SIZES_MM[1]
    width, height = _block_size(lines, size_mm)
    below = bounds.width_mm > bounds.height_mm
    if below:
        centre = ((bounds.left_mm + bounds.right_mm) / 2, bounds.bottom_mm - 5.0 - height / 2)
    else:
        centre = (bounds.right_mm + 6.0 + width / 2, (bounds.bottom_mm + bounds.top_mm) / 2)
    spot = Spot(*centre, width, height, 0.0)
    parts = [
        Drawing(words=_block_words(lines, size_mm, spot)),
        Drawing((_leader(piece, spot, below=below),)),
    ]
    if arrow is None:
        angle = readable_deg(piece.tight_way_deg)
        reach = 10.0 * abs(sin(radians(angle))) + ARROW_HEIGHT_MM
        under = Spot(centre[0], centre[1] - height / 2 - 2.0 - reach / 2, 10.0, 2.6, angle)
        arrow = _arrow_at(under, worded=False)
    return joined((*parts, arrow))


def _leader(piece: Piece, spot: Spot, *, below: bool) -> Stroke:
    start = (
        (spot.x_mm, spot.y_mm + spot.height_mm / 2 + 0.6)
        if below
        else (spot.x_mm - spot.width_mm / 2 - 0.8, spot.y_mm)
    )
    meeting, _ = nearest_points(Polygon(piece.cut_mm).buffer(-0.4), shapely.Point(start))
    return Stroke((start, (meeting.x, meeting.y)), "leader")
