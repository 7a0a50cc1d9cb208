"""What a worn shoe stands on, seen from the side: outsole, platform, heel or wedge."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import atan2, degrees

import numpy as np
import numpy.typing as npt

from patterns.drawing.drawing import Drawing, Fill, Stroke, Turn
from patterns.drawing.view import View
from patterns.last.last import Last
from patterns.pieces.piece import Point

FEATHER_SHARE = 0.06  # of foot length above the sole: how far out the upper reaches there
GROUND_GAP_MM = 0.4  # the ground is drawn just under the sole, so that both lines are seen
GROUND_REACH_MM = 4.0
HEEL_LEAST_MM = 0.5  # a lower one is no heel
HEEL_SLACK_MM = 1.0  # so much a heel may differ from the foot's own raise
STEPS = 60

Numbers = Mapping[str, float | str | bool]
FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class WornSole:
    """The drawing of everything under the foot, and the height of the ground it stands on.

    On a wedge inside, foot and upper are tilted about `pivot_mm`, a place of the drawing.
    """

    drawing: Drawing
    ground_mm: float
    pivot_mm: Point
    tilt_deg: float

    def place(self, point: Point) -> Point:
        """Return where a place of the foot comes to stand."""
        x, y = point[0] - self.pivot_mm[0], point[1] - self.pivot_mm[1]
        return Turn(*self.pivot_mm, self.tilt_deg)((x, y))

    def untilted(self, ring: Sequence[Point]) -> tuple[Point, ...]:
        """Return places of the sole as the foot sees them before it is tilted."""
        x, y = self.pivot_mm
        back = Turn(angle_deg=-self.tilt_deg)
        moved = (back((point[0] - x, point[1] - y)) for point in ring)
        return tuple((a + x, b + y) for a, b in moved)

    def tilted(self, drawing: Drawing, scale: float = 1.0) -> Drawing:
        """Return a drawing of the foot as it comes to stand, drawn so much larger already."""
        if self.tilt_deg == 0.0:
            return drawing
        x, y = self.pivot_mm[0] * scale, self.pivot_mm[1] * scale
        return drawing.moved(-x, -y).turned(Turn(x, y, self.tilt_deg))


@dataclass(frozen=True, slots=True)
class SoleProfile:
    """What is under the foot, seen from the side, at stations from the back to the tip.

    ``top_mm`` and ``under_mm`` bound the outsole, ``back`` says where a heel or wedge fills the
    room down to ``ground_mm``. The foot is tilted by ``tilt_mm`` at its heel about ``pivot_mm``.
    """

    x_mm: FloatArray
    top_mm: FloatArray
    under_mm: FloatArray
    back: npt.NDArray[np.bool_]
    ground_mm: float
    tilt_mm: float
    pivot_mm: float


def sole_profile(values: Numbers, last: Last) -> SoleProfile:
    """Return what the foot stands on: it follows the foot's own raise, the heel fills the rest."""
    x = _reach(values, last)
    # The upper ends at the feather line; below it the sole is all there is to see.
    tilt = _tilt_mm(values, last)
    # A cast foot does not bend: it turns as a whole about the tip of its toes.
    pivot = last.foot_length_mm
    lifted = tilt * (1.0 - x / pivot)
    top = last.sole_height_mm(x) + lifted + _number(values, "feather_mm")
    thick = _number(values, "sole_thickness_mm") + _platform_mm(values, last)
    under = last.sole_height_mm(x) + lifted - thick
    ground = float(under.min())
    back = under - ground > HEEL_LEAST_MM
    if not values.get("wedge"):
        breast = x[0] + (x[-1] - x[0]) * _number(values, "heel_breast_pct", 27.0) / 100.0
        back &= x <= breast
    else:
        back &= x < (x[0] + x[-1]) / 2 + (x[-1] - x[0]) / 4
    return SoleProfile(x, top, under, back, ground, tilt, pivot)


def worn_sole(values: Numbers, last: Last, view: View) -> WornSole:
    """Return the drawing of what the foot stands on."""
    profile = sole_profile(values, last)
    x, under, back = profile.x_mm, profile.under_mm, profile.back
    ground, tilt, pivot = profile.ground_mm, profile.tilt_mm, profile.pivot_mm
    rings = [_ring(view, x, profile.top_mm, under)]
    if back.sum() > 1:
        rings.append(_ring(view, x[back], under[back], np.full(int(back.sum()), ground)))
    level = ground - GROUND_GAP_MM
    ends = view.flat(
        np.array([[x[0] - GROUND_REACH_MM, 0, level], [x[-1] + GROUND_REACH_MM, 0, level]])
    )
    line = Stroke(tuple((float(a), float(b)) for a, b in ends), "leader")
    drawing = Drawing(
        (line, *(Stroke(ring, "cut", closed=True) for ring in rings)),
        tuple(Fill(ring, "sole") for ring in rings),
    )
    at = view.flat(np.array([pivot, 0.0, 0.0]))
    # Seen with the toes to the left the heel is lifted counter-clockwise.
    angle = -np.sign(view.right[0]) * degrees(atan2(tilt, pivot))
    return WornSole(drawing, ground, (float(at[0]), float(at[1])), float(angle))


def _reach(values: Numbers, last: Last) -> FloatArray:
    """Return stations from the back of the outsole to its tip."""
    points = last.points_mm
    low = points[:, 2] - last.sole_height_mm(points[:, 0]) < FEATHER_SHARE * last.foot_length_mm
    around = sum(
        _number(values, key)
        for key in ("outsole_larger_mm", "leather_thickness_mm", "lining_thickness_mm")
    )
    back, tip = points[low, 0].min() - around, points[low, 0].max() + around
    return np.linspace(float(back), float(tip), STEPS)


def _tilt_mm(values: Numbers, last: Last) -> float:
    """Return how far a wedge inside lifts the heel above where the foot was cast for it."""
    extra = _number(values, "heel_height_mm") - last.heel_raise_mm
    return extra if extra > HEEL_SLACK_MM and values.get("wedge_inside") else 0.0


def _platform_mm(values: Numbers, last: Last) -> float:
    """Return how thick an even platform is: a heel the foot was not cast for is under all of it."""
    extra = _number(values, "heel_height_mm") - last.heel_raise_mm
    return extra if extra > HEEL_SLACK_MM and not values.get("wedge_inside") else 0.0


def _number(values: Numbers, key: str, otherwise: float = 0.0) -> float:
    return float(values.get(key, otherwise))


def _ring(view: View, x: FloatArray, top: FloatArray, under: FloatArray) -> tuple[Point, ...]:
    points = np.vstack(
        [
            np.column_stack([x, np.zeros_like(x), top]),
            np.column_stack([x, np.zeros_like(x), under])[::-1],
        ]
    )
    return tuple((float(a), float(b)) for a, b in view.flat(points))
