"""Draw pattern pieces at true scale, each with its words where they cover no line."""

from dataclasses import replace
from functools import lru_cache
from math import cos, radians, sin, sqrt
from typing import Literal

from shapely.geometry import LineString
from shapely.ops import nearest_points

from patterns.drawing.drawing import Drawing, Fill, LineKind, Stroke, Turn, joined
from patterns.drawing.labels import LabelLine, label
from patterns.drawing.marks import arrow_strokes, hole_strokes
from patterns.drawing.packing import pack_boxes
from patterns.pieces.piece import Edge, Material, Notch, Piece, PieceSet

FootSide = Literal["pair", "left", "right"]

MATERIAL_WORDS: dict[Material, str] = {
    "upper": "upper leather",
    "lining": "lining",
    "card": "card",
    "sole": "sole",
}

PIECES_DRAWING = "pieces 3"  # changes whenever the same pieces come to look different
PIECE_GAP_MM = 6.0
_LINE_KINDS: dict[str, LineKind] = {"fold": "fold", "stitch": "stitch", "mark": "mark"}


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
    """Return which face lies up as drawn; card and clay have no faces to tell apart.

    A sole of leather lies with its grain side to the ground: from above, the flesh side is up.
    """
    if piece.material == "card":
        return "either side up"
    return "seen from above" if piece.material == "sole" else f"{piece.face_up} side up"


def stretch_words(piece: Piece) -> str:
    """Return how far the upper leather of a piece must give at most; nothing where unknown.

    As in the fit messages, 99 % of its area give no more, but for the strip of the lasting edge.
    """
    if piece.checks is None or piece.material != "upper":
        return ""
    return f"stretches up to {piece.checks.stretch_p99_off_band_pct:.0f} %"


def turned_over(piece_set: PieceSet) -> PieceSet:
    """Return the pieces for marking on the flesh side: upper leather as seen from its back.

    What lies flesh side up already, and what is not of upper leather, stays as it is.
    """
    return replace(
        piece_set,
        pieces=tuple(
            replace(mirrored_piece(piece), face_up="flesh")
            if piece.material == "upper" and piece.face_up == "grain"
            else piece
            for piece in piece_set.pieces
        ),
    )


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
    with_stretch: bool = False,
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
    with_stretch : bool
        Whether the label also says how far the leather must give, where that is known.
    """
    return _drawn_piece(piece, mirrored, foot_side, labelled, with_stretch)


@lru_cache(maxsize=128)  # a page's drawing and its sheets show the same pieces
def _drawn_piece(
    piece: Piece, mirrored: bool, foot_side: FootSide, labelled: bool, with_stretch: bool
) -> Drawing:
    drawn = mirrored_piece(piece) if mirrored else piece
    outline = Drawing(strokes=_outline_strokes(drawn))
    if not labelled:
        return outline
    blocks = _label_blocks(drawn, foot_side, mirrored)
    if with_stretch and (said := stretch_words(piece)):
        blocks = tuple((*block, LabelLine(said)) for block in blocks)
    return joined((outline, label(drawn, outline, _given_arrow(drawn), blocks)))


def draw_piece_set(
    piece_set: PieceSet,
    *,
    width_mm: float | None = None,
    labelled: bool = True,
    with_parts: bool = False,
    with_stretch: bool = False,
) -> Drawing:
    """Return all pieces of a set at true scale, side by side without overlap.

    Parameters
    ----------
    piece_set : PieceSet
    width_mm : float, optional
        Width to stay within where the pieces allow; left out, about 4 wide to 3 high.
    labelled : bool
        Whether words and arrows are written; leave them out where the set is shown small.
    with_parts : bool
        Whether each piece's room is named, for a page that marks pieces.
    with_stretch : bool
        Whether it is written on each piece how far its leather must give, where that is known.
    """
    drawings = tuple(
        draw_piece(
            piece, foot_side=piece_set.foot_side, labelled=labelled, with_stretch=with_stretch
        )
        for piece in piece_set.pieces
    )
    if with_parts:
        drawings = tuple(
            replace(drawing, fills=(*drawing.fills, Fill(piece.cut_mm, "part", part=piece.name)))
            for drawing, piece in zip(drawings, piece_set.pieces, strict=True)
        )
    boxes = [drawing.extents for drawing in drawings]
    sizes = [(box.width_mm, box.height_mm) for box in boxes]
    area = sum((w + PIECE_GAP_MM) * (h + PIECE_GAP_MM) for w, h in sizes)
    across = max([width_mm or sqrt(area * 1.55), *(w for w, _ in sizes)])
    deep = sum(h + PIECE_GAP_MM for _, h in sizes)
    packed = pack_boxes(sizes, [(across, deep)], gap_mm=PIECE_GAP_MM, may_turn=False)
    return joined(
        drawings[spot.index].moved(
            spot.x_mm - boxes[spot.index].left_mm,
            # Packing counts up from below; a picture is read from the top.
            -spot.y_mm - boxes[spot.index].top_mm,
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
    strokes.extend(
        Stroke(line.points_mm, _LINE_KINDS[line.kind])
        for line in piece.lines
        if line.kind != "tight way"
    )
    for hole in piece.holes:
        strokes.extend(hole_strokes(hole.x_mm, hole.y_mm, hole.diameter_mm))
    strokes.extend(
        stroke for notch in piece.notches if (stroke := _notch_stroke(piece, notch)) is not None
    )
    return tuple(strokes)


def _given_arrow(piece: Piece) -> tuple[Stroke, ...]:
    return tuple(
        stroke
        for line in piece.lines
        if line.kind == "tight way"
        for stroke in arrow_strokes(line.points_mm[0], line.points_mm[-1])
    )


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


def _label_blocks(
    piece: Piece, foot_side: FootSide, mirrored: bool
) -> tuple[tuple[LabelLine, ...], ...]:
    """Return the label in a wide and a tall arrangement."""
    name = LabelLine(piece.name, "bold", 1.1)
    count = f"mirror image; {piece.mirrored_quantity} of these" if mirrored else ""
    count = count or count_words(piece, foot_side)
    what, face = MATERIAL_WORDS[piece.material], face_words(piece)
    wide = (name, LabelLine(count), LabelLine(f"{what}, {face}"))
    pieces_of_count = count.replace(" and ", "|and ").replace(", ", ",|").split("|")
    tall = (name, *(LabelLine(part) for part in (*pieces_of_count, what, face)))
    return (wide, tall)
