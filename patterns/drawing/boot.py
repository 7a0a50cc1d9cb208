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
from patterns.drawing.dimensions import AWAY_MM, dimension
from patterns.drawing.drawing import Box, Drawing, Stroke, Turn, joined
from patterns.drawing.stacking import stacked
from patterns.foot_shape import FootShape
from patterns.pieces.piece import PieceSet, Point

BOOT_DRAWING = "boot 1"  # changes whenever the same pieces come to look different

# One size of picture for feet of any size, so that pens and figures suit every boot.
PICTURE_WIDTH_MM = 64.0
PICTURE_HEIGHT_MM = 74.0
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
        upright = dimension(
            (behind, 0.0), (behind, height), (-0.4 * unit, back[0] - unit), unit, self.tilt_deg
        )
        level = dimension(
            (0.0, below), (length, below), (below + away - 1.6 * unit,) * 2, unit, self.tilt_deg
        )
        return self.tipped(joined((upright, level)))
