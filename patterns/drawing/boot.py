"""Draw the finished boot from the side, from the very pieces it is made of."""

from math import asin, degrees

from patterns.drawing.boot_parts import (
    BootSide,
    boot_side,
    eyelet_parts,
    heel_part,
    heel_seat,
    lace_parts,
    outsole_part,
    side_part,
    toe_box_part,
    tongue_part,
)
from patterns.drawing.drawing import ASCENT, Box, Drawing, Stroke, Turn, Words, joined
from patterns.drawing.fonts import text_width_mm
from patterns.drawing.stacking import stacked
from patterns.foot_shape import FootShape
from patterns.pieces.piece import PieceSet, Point

BOOT_DRAWING = "boot 1"  # changes whenever the same pieces come to look different

# One size of picture for feet of any size, so that pens and figures suit every boot.
PICTURE_WIDTH_MM = 64.0
PICTURE_HEIGHT_MM = 74.0
FIGURE_MM = 3.4
AWAY_MM = 7.0  # from the boot to a dimension line
WITNESS_MM = 1.2  # how far the thin lines go beyond it
ARROW_MM = 2.2
GROUND_GAP_MM = 0.4  # the ground is drawn just under the sole, so that both lines are seen
GROUND_REACH_MM = 3.0


def draw_boot(piece_set: PieceSet, shape: FootShape) -> Drawing:
    """Return the finished boot seen on its outer side, standing on the ground.

    Parameters
    ----------
    piece_set : PieceSet
        Pieces of a laced boot with an ``outer side``; its edges, holes and stitches are drawn.
    shape : FootShape
        The foot they were drafted for.

    Returns
    -------
    Drawing
        The outer side as its piece lies, at the scale told in ``scale``, with the height of the
        boot and the length of the foot in mm beside it.

    Raises
    ------
    PatternError
        The pieces are not those of a boot that is laced in front.
    """
    side = boot_side(piece_set, shape)
    stand = Stand(side)
    boot = stand.boot()
    size = boot.extents
    scale = min(PICTURE_WIDTH_MM / size.width_mm, PICTURE_HEIGHT_MM / size.height_mm)
    whole = joined((boot, stand.ground(size, 1 / scale), stand.dimensions(size, 1 / scale)))
    drawn = whole.turned(Turn(scale=scale, mirrored=side.mirrored))
    return Drawing(drawn.strokes, drawn.fills, drawn.words, scale=scale)


class Stand:
    """How a boot stands on the ground: level, or tipped forward by a heel its foot does not have.

    A doll's foot keeps its pose, so a heel higher than the foot's own raise lifts the whole boot
    at the back; the tip of its sole stays on the ground.
    """

    def __init__(self, side: BootSide) -> None:
        self.side = side
        heel_mm = side.heel_mm if side.heel_lifts else 0.0
        self.lift_mm = max(0.0, heel_mm - side.shape.raise_mm)
        sole = outsole_part(side).ring_mm
        self.tip_mm: Point = (max(x for x, _ in sole), -side.sole_mm)
        reach = self.tip_mm[0] + side.sole_larger_mm
        self.tilt_deg = -degrees(asin(min(self.lift_mm / reach, 0.7)))

    def tipped(self, drawing: Drawing) -> Drawing:
        """Return a drawing of the level boot as it stands."""
        if self.lift_mm == 0:
            return drawing
        there = drawing.moved(-self.tip_mm[0], -self.tip_mm[1])
        return there.turned(Turn(*self.tip_mm, angle_deg=self.tilt_deg))

    def boot(self) -> Drawing:
        """Return the boot itself, with its heel where it has one."""
        side = self.side
        upper = stacked(
            [
                *lace_parts(side),
                *eyelet_parts(side),
                toe_box_part(side),
                side_part(side),
                tongue_part(side),
                outsole_part(side),
            ]
        )
        if not side.heel_lifts:
            return upper
        under = self.tipped(Drawing((Stroke(heel_seat(side), "cut"),))).strokes[0].points_mm
        heel = stacked([heel_part(side, under, self.tip_mm[1])])
        return joined((self.tipped(upper), heel))

    def ground(self, size: Box, unit: float) -> Drawing:
        """Return the ground line; `unit` is what comes out as one millimetre."""
        level = self.tip_mm[1] - GROUND_GAP_MM * unit
        reach = GROUND_REACH_MM * unit
        ends = ((size.left_mm - reach, level), (size.right_mm + reach, level))
        return Drawing((Stroke(ends, "leader"),))

    def dimensions(self, size: Box, unit: float) -> Drawing:
        """Return the height of the boot behind it and the length of the foot below it."""
        side, away = self.side, AWAY_MM * unit
        height, length = side.values["boot_height_mm"], side.foot_length_mm
        behind = min(x for x, _ in (*side.net_mm, *outsole_part(side).ring_mm)) - 1.3 * away
        below = self.tip_mm[1] - self.lift_mm - away
        back = side.topline_mm[1]
        upright = _dimension(
            (behind, 0.0), (behind, height), (-0.4 * unit, back[0] - unit), unit, self.tilt_deg
        )
        level = _dimension(
            (0.0, below), (length, below), (below + away - 1.6 * unit,) * 2, unit, self.tilt_deg
        )
        return self.tipped(joined((upright, level)))


def _dimension(
    start: Point, end: Point, from_mm: tuple[float, float], unit: float, tilt_deg: float
) -> Drawing:
    """Return a dimension line with arrows, its figure set into it, and lines to what is measured.

    `from_mm` tells where the witness lines begin: heights under a level line, else places beside
    an upright one. The figure stays level however the line is tipped later.
    """
    upright = start[0] == end[0]
    length = max(abs(end[0] - start[0]), abs(end[1] - start[1]))
    text = f"{length:.1f}".removesuffix(".0") + " mm"
    along = (0.0, 1.0) if upright else (1.0, 0.0)
    room = FIGURE_MM * 1.3 if upright else text_width_mm(text, FIGURE_MM) + 2.4
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    strokes = []
    for point, way, seen_from in ((start, -1.0, from_mm[0]), (end, 1.0, from_mm[1])):
        out = (way * along[0], way * along[1])
        inner = (
            middle[0] + out[0] * room / 2 * unit,
            middle[1] + out[1] * room / 2 * unit,
        )
        strokes += [Stroke((inner, point), "leader"), _arrow(point, out, unit)]
        near = (seen_from, point[1]) if upright else (point[0], seen_from)
        beyond = (-WITNESS_MM * unit, 0.0) if upright else (0.0, -WITNESS_MM * unit)
        strokes.append(Stroke((near, (point[0] + beyond[0], point[1] + beyond[1])), "leader"))
    base = middle[1] - ASCENT / 2 * FIGURE_MM * unit
    words = Words(text, middle[0], base, FIGURE_MM, "middle", -tilt_deg, ink="quiet")
    return Drawing(tuple(strokes), words=(words,))


def _arrow(tip: Point, out: Point, unit: float) -> Stroke:
    back, aside = ARROW_MM * unit, ARROW_MM * unit / 4
    ends = [
        (tip[0] - back * out[0] + side * out[1], tip[1] - back * out[1] + side * out[0])
        for side in (aside, -aside)
    ]
    return Stroke((ends[0], tip, ends[1]), "leader")
