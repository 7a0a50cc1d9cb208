"""Where a standing foot begins and ends: its heel, toe, ground, axis and how its heel is raised."""

from dataclasses import dataclass
from math import atan2, degrees

import numpy as np
import numpy.typing as npt

from patterns.mesh.foot_mesh import FloatArray

FOOT_HEIGHT = 0.3  # of foot length: below it the foot, above it the leg
# Of foot length: from, to and how high; the foot's axis joins the middles of these two bands.
HEEL_BAND, BALL_BAND = (0.08, 0.22, 0.20), (0.60, 0.72, 0.30)
SEAT_BAND = (0.05, 0.20)  # of foot length: where the heel's seat is looked for
RAISE_LEAST, RAISE_MOST = 0.03, 0.45  # of foot length: what counts as a raised heel


@dataclass(frozen=True, slots=True)
class FootSpan:
    """Where a standing foot begins and ends along x, its ground, and how high its heel stands."""

    heel: float
    toe: float
    ground: float
    lift: float

    @property
    def length(self) -> float:
        """Return the foot's length."""
        return self.toe - self.heel

    def low(self, points: FloatArray) -> npt.NDArray[np.bool_]:
        """Return which points belong to the foot below the leg."""
        top = self.ground + FOOT_HEIGHT * self.length + self.lift
        return np.asarray(points[:, 2] <= top, dtype=bool)


def foot_span(points: FloatArray) -> FootSpan:
    """Return the span of what lies near the ground, whatever the leg above does."""
    ground = float(points[:, 2].min())
    span = FootSpan(float(points[:, 0].min()), float(points[:, 0].max()), ground, 0.0)
    for _ in range(5):
        low = points[span.low(points), 0]
        heel, toe = float(low.min()), float(low.max())
        length = max(toe - heel, 1e-300)
        along = (points[:, 0] - heel) / length
        seat = points[(along > SEAT_BAND[0]) & (along < SEAT_BAND[1]), 2]
        lift = float(seat.min()) - ground if len(seat) else 0.0
        raised = RAISE_LEAST * length < lift < RAISE_MOST * length
        span = FootSpan(heel, toe, ground, lift if raised else 0.0)
    return span


def frame_corner(points: FloatArray) -> tuple[float, float, float]:
    """Return the heel's end, the middle of the foot's width and the ground."""
    span = foot_span(points)
    return span.heel, sum(_axis_middles(points, span)) / 2, span.ground


def axis_angle_deg(points: FloatArray) -> float:
    """Return the angle of the foot's axis from the x axis, counter-clockwise from above."""
    span = foot_span(points)
    heel, ball = _axis_middles(points, span)
    apart = span.length * (BALL_BAND[0] + BALL_BAND[1] - HEEL_BAND[0] - HEEL_BAND[1]) / 2
    return degrees(atan2(ball - heel, apart))


def _axis_middles(points: FloatArray, span: FootSpan) -> tuple[float, float]:
    """Return y of the two points that the foot's axis goes through, at heel and ball."""
    height, along = points[:, 2] - span.ground, points[:, 0] - span.heel
    middles = []
    for (start, end, top), lift in ((HEEL_BAND, span.lift), (BALL_BAND, 0.0)):
        inside = (along > start * span.length) & (along < end * span.length)
        inside &= height < top * span.length + lift
        across = points[inside if inside.any() else span.low(points), 1]
        middles.append(float(across.min() + across.max()) / 2)
    return middles[0], middles[1]
