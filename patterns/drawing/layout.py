"""Draw a layout: the hides with their defects, and where every piece lies, at a stated scale."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from patterns.drawing.drawing import (
    ASCENT,
    DESCENT,
    Box,
    Drawing,
    Fill,
    Stroke,
    Turn,
    Words,
    box_round,
    joined,
)
from patterns.drawing.fonts import text_width_mm, wrapped
from patterns.drawing.free_spot import Spot, free_spot
from patterns.drawing.labels import LEAST_SIZE_MM, long_way_deg
from patterns.drawing.marks import arrow_strokes
from patterns.hide import GradedArea, Hide
from patterns.layout.values import Layout, LayoutRequest, Placement
from patterns.pieces.piece import Piece, Point, Ring

# Reduced scales of one to so many, as used on drawings, with 3 and 4 for paper well filled.
SCALE_DIVISORS = (1, 2, 3, 4, 5, 10, 20)
GRID_MM = 50.0
HATCH_STEP_MM = 2.2
SCALE_BAR_MM = 100.0
KEY_SIZE_MM = 3.5
NAME_SIZES_MM = (3.8, 3.5, LEAST_SIZE_MM)
FLESH_WORDS = "FLESH SIDE UP – turned over"
GRAIN_WORDS = "grain side up"
FLESH_SIZE_MM, GRAIN_SIZE_MM = 9.0, 3.5
_HIDE_GAP_MM = 12.0
_TICK_MM = 2.2
_SPOT_MM = 1.0


@dataclass(frozen=True, slots=True)
class KeyLine:
    """A number written on a piece too small for its name."""

    number: int
    name: str
    mirrored: bool


def layout_scale(hides: Sequence[Hide], width_mm: float, height_mm: float) -> float:
    """Return the largest usual scale at which every hide fits into such a room.

    >>> layout_scale([Hide("H-0001", ((0, 0), (600, 0), (600, 400), (0, 400)))], 180, 200)
    0.25
    """
    boxes = [box_round(hide.outline_mm) for hide in hides]
    for divisor in SCALE_DIVISORS:
        if all(b.width_mm <= width_mm * divisor for b in boxes) and all(
            b.height_mm <= height_mm * divisor for b in boxes
        ):
            return 1.0 / divisor
    return 1.0 / SCALE_DIVISORS[-1]


def draw_layout(
    request: LayoutRequest,
    layout: Layout,
    *,
    pieces: Sequence[Piece] | None = None,
    scale: float | None = None,
    flesh_up: bool = False,
) -> Drawing:
    """Return every hide of a layout, one under the other, with what lies on it.

    Parameters
    ----------
    request : LayoutRequest
    layout : Layout
    pieces : sequence of Piece, optional
        The pieces themselves; given, their net lines are drawn too.
    scale : float, optional
        Millimetres drawn per millimetre of hide; left out, the largest usual one within
        170 by 150 mm. Pens and words keep their size at every scale.
    flesh_up : bool
        Draw the hides turned over, as seen from the flesh side; each says so in large words.
    """
    chosen = scale or layout_scale(request.hides, 170.0, 150.0)
    level = 0.0
    parts: list[Drawing] = []
    for hide in request.hides:
        bare, key = draw_hide(hide, request, layout, pieces=pieces, scale=chosen, flesh_up=flesh_up)
        part = joined((bare, _key_below(key, bare.extents)))
        parts.append(part.moved(-part.extents.left_mm, level - part.extents.top_mm))
        level = parts[-1].extents.bottom_mm - _HIDE_GAP_MM
    return joined(parts)


def _key_below(key: Sequence[KeyLine], hide: Box) -> Drawing:
    """Return what the numbers on small pieces stand for, in lines under the hide."""
    text = "; ".join(
        f"{line.number} {line.name}{', mirrored' if line.mirrored else ''}" for line in key
    )
    lines = wrapped(text, hide.width_mm, KEY_SIZE_MM) if text else ()
    first = hide.bottom_mm - 2.0 * KEY_SIZE_MM
    return Drawing(
        words=tuple(
            Words(line, hide.left_mm, first - k * 1.4 * KEY_SIZE_MM, KEY_SIZE_MM)
            for k, line in enumerate(lines)
        )
    )


def draw_hide(
    hide: Hide,
    request: LayoutRequest,
    layout: Layout,
    *,
    pieces: Sequence[Piece] | None = None,
    scale: float,
    flesh_up: bool = False,
    spots: Sequence[tuple[Point, str]] = (),
) -> tuple[Drawing, tuple[KeyLine, ...]]:
    """Return one hide with its pieces, and the key of the numbers written on small pieces.

    Turned over (``flesh_up``), everything lies mirrored, left to right, but for the words; the
    rulers keep the figures of the hide's record. ``spots`` are places on the hide with a word to
    write there, such as the thickness measured.
    """
    shrink = Turn(scale=scale, mirrored=flesh_up)
    outline = shrink.many(hide.outline_mm)
    grades = [Fill(shrink.many(area.outline_mm), "grade") for area in hide.areas]
    defects = [shrink.many(ring) for ring in hide.defects_mm]
    laid = [
        (place, _laid_ring(place, request, shrink))
        for place in layout.placements
        if place.container == hide.id
    ]
    ground = Drawing(
        strokes=(
            Stroke(outline, "hide", closed=True),
            *(line for ring in defects for line in _hatch(ring)),
            *(Stroke(ring, "mark", closed=True) for ring in defects),
            *(Stroke(ring, "cut", closed=True) for _, ring in laid),
            *_net_strokes(laid, pieces, shrink),
        ),
        fills=(
            Fill(outline, "hide"),
            *grades,
            *(Fill(ring, "defect") for ring in defects),
            *(Fill(ring, "piece") for _, ring in laid),
        ),
        scale=scale,
    )
    names, key = _piece_names(laid, ground)
    measured = _spot_words(spots, shrink)
    words_taken = [words.ring() for words in measured.words]
    bare = _bare(outline, [*(ring for _, ring in laid), *words_taken], defects)
    notes = [
        *(
            _beside_word(kind or "defect", ring, bare)
            for (kind, _ring), ring in zip(hide.named_defects, defects, strict=True)
        ),
        *(_grade_word(area, shrink.many(area.outline_mm), bare) for area in hide.areas),
    ]
    frame = _frame(hide, box_round(outline), scale, flesh_up=flesh_up)
    return joined((ground, names, measured, *notes, frame)), key


def _spot_words(spots: Sequence[tuple[Point, str]], shrink: Turn) -> Drawing:
    """Return each word beside a small cross that marks its place."""
    crosses: list[Stroke] = []
    words: list[Words] = []
    for place, text in spots:
        x, y = shrink(place)
        crosses += [
            Stroke(((x - _SPOT_MM, y), (x + _SPOT_MM, y)), "mark"),
            Stroke(((x, y - _SPOT_MM), (x, y + _SPOT_MM)), "mark"),
        ]
        words.append(Words(text, x + 2.0, y - 1.1, LEAST_SIZE_MM, ink="second"))
    return Drawing(tuple(crosses), words=tuple(words))


def _laid_ring(place: Placement, request: LayoutRequest, shrink: Turn) -> Ring:
    piece = next(piece for piece in request.pieces if piece.id == place.id)
    laid = Turn(place.x_mm, place.y_mm, place.rotation_deg, mirrored=place.mirrored)
    return shrink.many(laid.many(piece.outline_mm))


def _net_strokes(
    laid: Sequence[tuple[Placement, Ring]], pieces: Sequence[Piece] | None, shrink: Turn
) -> list[Stroke]:
    known = {piece.name: piece for piece in pieces or ()}
    strokes = []
    for place, _ in laid:
        piece = known.get(place.id)
        if piece is None or piece.net_mm == piece.cut_mm:
            continue
        turn = Turn(place.x_mm, place.y_mm, place.rotation_deg, mirrored=place.mirrored)
        strokes.append(Stroke(shrink.many(turn.many(piece.net_mm)), "net", closed=True))
    return strokes


def _hatch(ring: Ring) -> list[Stroke]:
    """Return slanting lines that fill a ring."""
    shape, box = Polygon(ring), box_round(ring)
    height = box.height_mm
    strokes = []
    start = box.left_mm - height
    for k in range(ceil((box.width_mm + height) / HATCH_STEP_MM)):
        x = start + k * HATCH_STEP_MM
        line = LineString([(x, box.bottom_mm), (x + height, box.top_mm)])
        inside = shape.intersection(line)
        strokes += [
            Stroke(tuple((p[0], p[1]) for p in part.coords), "hatch")
            for part in getattr(inside, "geoms", [inside])
            if isinstance(part, LineString) and not part.is_empty
        ]
    return strokes


def _piece_names(
    laid: Sequence[tuple[Placement, Ring]], ground: Drawing
) -> tuple[Drawing, tuple[KeyLine, ...]]:
    lines = {"net": [s for s in ground.strokes if s.kind == "net"]}["net"]
    words: list[Words] = []
    key: list[KeyLine] = []
    for place, ring in laid:
        free = Polygon(ring).buffer(-0.6)
        near = [LineString([*s.points_mm, s.points_mm[0]]).buffer(0.5) for s in lines]
        free = free.difference(shapely.union_all(near)) if near else free
        written = _name_in(free, ring, place)
        if not written:
            key.append(KeyLine(len(key) + 1, place.id, place.mirrored))
            written = _lines_in(free, ring, (str(len(key)),))
        words.extend(written)
    return Drawing(words=tuple(words)), tuple(key)


def _name_in(free: BaseGeometry, ring: Ring, place: Placement) -> tuple[Words, ...]:
    if not place.mirrored:
        return _lines_in(free, ring, (place.id,))
    one = _lines_in(free, ring, (place.id, "mirrored"))
    return one or _lines_in(free, ring, (f"{place.id}, mirrored",))


def _lines_in(free: BaseGeometry, ring: Ring, lines: tuple[str, ...]) -> tuple[Words, ...]:
    """Return the lines of text in a clear spot of a piece, the largest size that fits."""
    for size in NAME_SIZES_MM:
        width = max(text_width_mm(line, size) for line in lines)
        height = size * (ASCENT + DESCENT + 1.2 * (len(lines) - 1))
        for angle in (0.0, long_way_deg(ring)):
            spot = free_spot(free, width, height, angle_deg=angle)
            if spot is not None:
                return _words_at(spot, lines, size)
    return ()


def _words_at(spot: Spot, lines: tuple[str, ...], size: float) -> tuple[Words, ...]:
    turn = Turn(spot.x_mm, spot.y_mm, spot.angle_deg)
    top = spot.height_mm / 2 - ASCENT * size
    return tuple(
        Words(line, *turn((0.0, top - 1.2 * size * k)), size, "middle", spot.angle_deg)
        for k, line in enumerate(lines)
    )


def _bare(outline: Ring, laid: Sequence[Ring], defects: Sequence[Ring]) -> BaseGeometry:
    """Return the leather with nothing on it, with a little room to every line."""
    taken = [Polygon(ring).buffer(0.8) for ring in (*laid, *defects)]
    return Polygon(outline).buffer(-0.8).difference(shapely.union_all(taken))


def _beside_word(text: str, ring: Ring, bare: BaseGeometry) -> Drawing:
    """Return a word beside a small area, with a leader to it; nothing where all is covered."""
    size = LEAST_SIZE_MM
    middle = Polygon(ring).centroid
    width, height = text_width_mm(text, size, "italic"), size * (ASCENT + DESCENT)
    reach = max(box_round(ring).width_mm, box_round(ring).height_mm) / 2 + width
    near = bare.intersection(middle.buffer(reach + 6.0))
    spot = free_spot(near, width, height, near=(middle.x, middle.y))
    if spot is None:
        return Drawing()
    baseline = spot.y_mm - height / 2 + DESCENT * size
    words = Words(text, spot.x_mm, baseline, size, "middle", face="italic", ink="accent")
    return Drawing(words=(words,))


def _grade_word(area: GradedArea, ring: Ring, bare: BaseGeometry) -> Drawing:
    size = LEAST_SIZE_MM
    grade = f"grade {area.grade}"
    text = f"{area.name}, {grade}" if area.name else grade
    free = bare.intersection(Polygon(ring))
    height = size * (ASCENT + DESCENT)
    spot = free_spot(free, text_width_mm(text, size, "italic"), height)
    if spot is None:
        return Drawing()
    baseline = spot.y_mm - height / 2 + DESCENT * size
    return Drawing(
        words=(Words(text, spot.x_mm, baseline, size, "middle", face="italic", ink="quiet"),)
    )


def _frame(hide: Hide, box: Box, scale: float, *, flesh_up: bool) -> Drawing:
    """Return the ruler along two sides, the tight-way arrow, the scale bar, the name, the face."""
    left, bottom = box.left_mm - 4.0, box.bottom_mm - 4.0
    rulers = joined(
        (
            _ruler(box.left_mm, box.right_mm, bottom, scale, upright=False, mirrored=flesh_up),
            _ruler(box.bottom_mm, box.top_mm, left, scale, upright=True, mirrored=False),
        )
    )
    top = box.top_mm + 5.0
    title = Words(hide.id, box.left_mm, top, 4.4, face="bold")
    # Above everything, so large that it is read from a step away: a missed turn makes every left
    # piece a right one.
    face = Words(
        FLESH_WORDS if flesh_up else GRAIN_WORDS,
        box.left_mm,
        top + (8.5 if flesh_up else 7.0),
        FLESH_SIZE_MM if flesh_up else GRAIN_SIZE_MM,
        face="bold" if flesh_up else "sans",
        ink="accent" if flesh_up else "quiet",
    )
    text = "tight way of the hide"
    # On a narrow hide the arrow stands to the right of the name, not on it.
    arrow_right = max(
        box.right_mm,
        box.left_mm + title.width_mm + text_width_mm(text, 3.5, "italic") + 33.0,
    )
    arrow = Drawing(arrow_strokes((arrow_right - 24.0, top + 1.0), (arrow_right, top + 1.0)))
    tight = Words(text, arrow_right - 27.0, top, 3.5, "end", face="italic", ink="second")
    bar = _scale_bar(box.left_mm, bottom - 13.0, scale)
    return joined((rulers, arrow, Drawing(words=(face, title, tight)), bar))


def _ruler(
    start: float, end: float, level: float, scale: float, *, upright: bool, mirrored: bool
) -> Drawing:
    """Return a rule with a tick every 50 mm of hide; numbers where there is room for them.

    Mirrored, it is read from right to left, with the figures of the side it was turned from.
    """
    every = 1 if GRID_MM * scale >= 9.0 else 2 if GRID_MM * scale >= 5.0 else 4
    strokes = [_axis_stroke((start, level), (end, level), upright)]
    words = []
    step = GRID_MM * scale
    for k in range(ceil(start / step - 1e-9), floor(end / step + 1e-9) + 1):
        at = k * step
        strokes.append(_axis_stroke((at, level), (at, level - _TICK_MM), upright))
        if k % every == 0:
            text = f"{(-k if mirrored else k) * GRID_MM:.0f}"
            if upright:
                words.append(
                    Words(text, level - _TICK_MM - 0.8, at - 1.0, LEAST_SIZE_MM, "end", ink="quiet")
                )
            else:
                below = level - _TICK_MM - 0.8 - ASCENT * LEAST_SIZE_MM
                words.append(Words(text, at, below, LEAST_SIZE_MM, "middle", ink="quiet"))
    return Drawing(tuple(strokes), words=tuple(words))


def _axis_stroke(a: tuple[float, float], b: tuple[float, float], upright: bool) -> Stroke:
    points = ((a[1], a[0]), (b[1], b[0])) if upright else (a, b)
    return Stroke(points, "grid")


def scale_words(scale: float) -> str:
    """Return a scale as drawings state it.

    >>> scale_words(0.2)
    'scale 1 : 5'
    """
    return f"scale 1 : {1.0 / scale:.4g}"


def _scale_bar(x: float, y: float, scale: float) -> Drawing:
    length = SCALE_BAR_MM * scale
    strokes = (
        Stroke(((x, y), (x + length, y)), "scale"),
        *(
            Stroke(((x + length * share, y), (x + length * share, y + 1.8)), "scale")
            for share in (0.0, 0.5, 1.0)
        ),
    )
    text = f"{SCALE_BAR_MM:.0f} mm on the hide, {scale_words(scale)}"
    return Drawing(strokes, words=(Words(text, x + length + 3.0, y, 3.5),))
