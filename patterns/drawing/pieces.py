"""Draw pattern pieces at true scale, each with its words where they cover no line."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, cos, degrees, radians, sin, sqrt
from typing import Literal

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from patterns.drawing.drawing import (
    ASCENT,
    DESCENT,
    Drawing,
    LineKind,
    Stroke,
    Turn,
    Words,
    box_round,
    circle,
    joined,
)
from patterns.drawing.fonts import Face, text_width_mm
from patterns.drawing.free_spot import Spot, free_spot
from patterns.drawing.packing import pack_boxes
from patterns.pieces.piece import Edge, Line, Material, Notch, Piece, PieceSet, Point, Ring

FootSide = Literal["pair", "left", "right"]

MATERIAL_WORDS: dict[Material, str] = {
    "upper": "upper leather",
    "lining": "lining",
    "card": "card",
    "sole": "sole",
}

# Capitals at least 2 mm high: the smallest size keeps that with either face of Workshop Sans.
LEAST_SIZE_MM = 3.2
LABEL_SIZES_MM = (4.2, 3.6, LEAST_SIZE_MM)
LINE_SPACING = 1.28
CLEARANCE_MM = 0.8
ARROW_LENGTHS_MM = (28.0, 22.0, 17.0, 13.0, 10.0, 8.0)
ARROW_HEAD_MM = 2.4
ARROW_HEIGHT_MM = 2.6
PIECE_GAP_MM = 6.0
_LINE_KINDS: dict[str, LineKind] = {
    "fold": "fold",
    "stitch": "stitch",
    "mark": "mark",
    "tight way": "tight way",
}


def count_words(piece: Piece, foot_side: FootSide = "pair") -> str:
    """Return how many to cut and which of them mirrored, in words.

    >>> from patterns.pieces.piece import Piece
    >>> square = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0))
    >>> count_words(Piece("toe box", 2, 1, "upper", square, square))
    'cut 1 as drawn and 1 mirrored'
    """
    if foot_side != "pair":
        return f"{foot_side} foot: cut {piece.quantity}" + _mirrored_tail(piece)
    if piece.mirror_free:
        return f"cut {piece.quantity}, either way up"
    return f"cut {piece.quantity}" if not piece.mirrored_quantity else _cut_words(piece)


def _mirrored_tail(piece: Piece) -> str:
    return f", {piece.mirrored_quantity} mirrored" if piece.mirrored_quantity else ""


def _cut_words(piece: Piece) -> str:
    drawn = piece.quantity - piece.mirrored_quantity
    if not drawn:
        return f"cut {piece.quantity} mirrored"
    return f"cut {drawn} as drawn and {piece.mirrored_quantity} mirrored"


def face_words(piece: Piece) -> str:
    """Return which face lies up as drawn; card has no faces to tell apart."""
    return "either side up" if piece.material == "card" else f"{piece.face_up} side up"


def mirrored_piece(piece: Piece) -> Piece:
    """Return the piece's mirror image (x to -x); rings keep their direction of travel."""
    turn = Turn(mirrored=True)
    return replace(
        piece,
        net_mm=turn.many(reversed(piece.net_mm)),
        cut_mm=turn.many(reversed(piece.cut_mm)),
        edges=tuple(
            replace(edge, points_mm=turn.many(reversed(edge.points_mm))) for edge in piece.edges
        ),
        holes=tuple(replace(hole, x_mm=-hole.x_mm) for hole in piece.holes),
        notches=tuple(
            replace(notch, t=1.0 - notch.t, angle_deg=180.0 - notch.angle_deg)
            for notch in piece.notches
        ),
        lines=tuple(replace(line, points_mm=turn.many(line.points_mm)) for line in piece.lines),
        tight_way_deg=(180.0 - piece.tight_way_deg) % 360.0,
    )


def draw_piece(
    piece: Piece,
    *,
    mirrored: bool = False,
    foot_side: FootSide = "pair",
    labelled: bool = True,
) -> Drawing:
    """Return one piece at true scale, in its own coordinates.

    Parameters
    ----------
    piece : Piece
    mirrored : bool
        Draw the mirror image instead.
    foot_side : "pair", "left" or "right"
        For which foot the pieces are, as the piece set tells.
    labelled : bool
        Whether name, count, material, face and tight-way arrow are written in or beside it.
    """
    drawn = mirrored_piece(piece) if mirrored else piece
    outline = Drawing(strokes=_outline_strokes(drawn))
    if not labelled:
        return outline
    label = _label(drawn, outline, _label_words(drawn, foot_side, mirrored))
    return joined((outline, label))


def draw_piece_set(piece_set: PieceSet, *, width_mm: float | None = None) -> Drawing:
    """Return all pieces of a set at true scale, side by side without overlap.

    Parameters
    ----------
    piece_set : PieceSet
    width_mm : float, optional
        Width to stay within where the pieces allow; left out, about 4 wide to 3 high.
    """
    drawings = labelled_pieces(piece_set)
    boxes = [drawing.extents for drawing in drawings]
    sizes = [(box.width_mm, box.height_mm) for box in boxes]
    area = sum((w + PIECE_GAP_MM) * (h + PIECE_GAP_MM) for w, h in sizes)
    across = max([width_mm or sqrt(area * 1.55), *(w for w, _ in sizes)])
    deep = sum(h + PIECE_GAP_MM for _, h in sizes)
    packed = pack_boxes(sizes, [(across, deep)], gap_mm=PIECE_GAP_MM, may_turn=False)
    return joined(
        drawings[spot.index].moved(
            spot.x_mm - boxes[spot.index].left_mm,
            spot.y_mm - boxes[spot.index].bottom_mm,
        )
        for spot in packed
    )


def labelled_pieces(piece_set: PieceSet) -> tuple[Drawing, ...]:
    """Return each piece of the set drawn with its label, in the set's order."""
    return tuple(draw_piece(piece, foot_side=piece_set.foot_side) for piece in piece_set.pieces)


def _outline_strokes(piece: Piece) -> tuple[Stroke, ...]:
    strokes = [Stroke(piece.cut_mm, "cut", closed=True)]
    if piece.net_mm != piece.cut_mm:
        strokes.append(Stroke(piece.net_mm, "net", closed=True))
    for line in piece.lines:
        strokes.extend(_line_strokes(line))
    for hole in piece.holes:
        strokes.extend(hole_strokes(hole.x_mm, hole.y_mm, hole.diameter_mm))
    strokes.extend(
        stroke for notch in piece.notches if (stroke := _notch_stroke(piece, notch)) is not None
    )
    return tuple(strokes)


def _line_strokes(line: Line) -> tuple[Stroke, ...]:
    if line.kind == "tight way":
        return arrow_strokes(line.points_mm[0], line.points_mm[-1])
    return (Stroke(line.points_mm, _LINE_KINDS[line.kind]),)


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
    length = sqrt((tip[0] - tail[0]) ** 2 + (tip[1] - tail[1]) ** 2)
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


def _notch_stroke(piece: Piece, notch: Notch) -> Stroke | None:
    """Return the cut of a notch: from the cut line inward; None if it meets no cut line."""
    edge = next((edge for edge in piece.edges if edge.name == notch.edge), None)
    if edge is None or len(edge.points_mm) < 2:
        return None
    foot = LineString(edge.points_mm).interpolate(notch.t, normalized=True)
    way = (cos(radians(notch.angle_deg)), sin(radians(notch.angle_deg)))
    far = _far_mm(edge)
    ray = LineString([(foot.x, foot.y), (foot.x + far * way[0], foot.y + far * way[1])])
    met = ray.intersection(LineString([*piece.cut_mm, piece.cut_mm[0]]))
    if met.is_empty:
        return None
    start, _ = nearest_points(met, foot)
    return Stroke(
        (
            (start.x, start.y),
            (start.x - notch.depth_mm * way[0], start.y - notch.depth_mm * way[1]),
        ),
        "notch",
    )


def _far_mm(edge: Edge) -> float:
    # A slanting notch meets the cut line further out than the allowance itself.
    return 3.0 * edge.allowance_mm + 1.0


@dataclass(frozen=True, slots=True)
class _LabelLine:
    text: str
    face: Face = "sans"
    larger: float = 1.0


def _label_words(
    piece: Piece, foot_side: FootSide, mirrored: bool
) -> tuple[tuple[_LabelLine, ...], ...]:
    """Return the label in a wide and a tall arrangement."""
    name = _LabelLine(piece.name, "bold", 1.1)
    count = f"mirror image; {piece.mirrored_quantity} of these" if mirrored else ""
    count = count or count_words(piece, foot_side)
    what, face = MATERIAL_WORDS[piece.material], face_words(piece)
    wide = (name, _LabelLine(count), _LabelLine(f"{what}, {face}"))
    pieces_of_count = count.replace(" and ", "|and ").replace(", ", ",|").split("|")
    tall = (name, *(_LabelLine(part) for part in (*pieces_of_count, what, face)))
    return (wide, tall)


def _block_size(lines: Sequence[_LabelLine], size_mm: float) -> tuple[float, float]:
    width = max(text_width_mm(line.text, size_mm * line.larger, line.face) for line in lines)
    tallest = (ASCENT + DESCENT) * size_mm * lines[0].larger
    return width, tallest + (len(lines) - 1) * size_mm * LINE_SPACING


def _block_words(lines: Sequence[_LabelLine], size_mm: float, spot: Spot) -> tuple[Words, ...]:
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
    lines = [
        LineString([*stroke.points_mm, stroke.points_mm[0]] if stroke.closed else stroke.points_mm)
        for stroke in outline.strokes[1:]
    ]
    return inside.difference(shapely.union_all([line.buffer(CLEARANCE_MM) for line in lines]))


def _label(piece: Piece, outline: Drawing, blocks: tuple[tuple[_LabelLine, ...], ...]) -> Drawing:
    free = _free_area(piece, outline)
    has_arrow = any(line.kind == "tight way" for line in piece.lines)
    for size_mm in LABEL_SIZES_MM:
        for lines in blocks:
            spot = _block_spot(piece, free, _block_size(lines, size_mm))
            if spot is None:
                continue
            words = Drawing(words=_block_words(lines, size_mm, spot))
            rest = free.difference(spot.shape().buffer(CLEARANCE_MM))
            near = (spot.x_mm, spot.y_mm)
            arrow = Drawing() if has_arrow else _arrow_inside(piece, rest, near)
            if arrow is not None:
                return joined((words, arrow))
    arrow = Drawing() if has_arrow else _arrow_inside(piece, free)
    return _outside_label(piece, blocks[0], arrow)


def _block_spot(piece: Piece, free: BaseGeometry, size: tuple[float, float]) -> Spot | None:
    for angle_deg in (0.0, long_way_deg(piece.cut_mm)):
        spot = free_spot(free, *size, angle_deg=angle_deg)
        if spot is not None:
            return spot
    return None


def long_way_deg(outline_mm: Ring) -> float:
    """Return the angle of an outline's long side, so turned that words read from the right."""
    corners = list(Polygon(outline_mm).minimum_rotated_rectangle.exterior.coords)
    sides = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(corners)]
    dx, dy = max(sides, key=lambda side: side[0] ** 2 + side[1] ** 2)
    return readable_deg(degrees(atan2(dy, dx)))


def readable_deg(angle_deg: float) -> float:
    """Return the same slant as an angle words read well at: above -90, up to 90 degrees."""
    return 90.0 - (90.0 - angle_deg) % 180.0


def _arrow_inside(piece: Piece, free: BaseGeometry, near: Point | None = None) -> Drawing | None:
    """Return the tight-way arrow in a clear spot, inside the net line if there is room."""
    finished = free.intersection(Polygon(piece.net_mm))
    return _arrow_in(piece, finished, near) or _arrow_in(piece, free, near)


def _arrow_in(piece: Piece, free: BaseGeometry, near: Point | None) -> Drawing | None:
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


def _outside_label(piece: Piece, lines: tuple[_LabelLine, ...], arrow: Drawing | None) -> Drawing:
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
