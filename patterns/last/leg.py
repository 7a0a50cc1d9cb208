"""The leg of a last: level sections whose girth, depth and place follow the height."""

from collections.abc import Callable
from dataclasses import dataclass
from math import pi

import numpy as np
import numpy.typing as npt
from scipy.interpolate import PchipInterpolator

from patterns.last.drawings import Profile
from patterns.last.wanted import Wanted

FloatArray = npt.NDArray[np.float64]

# Depth (front to back) and breadth of a level section against a circle of the same girth, and
# the middle of the leg in foot lengths from the heel. Source: measured on the sample leg,
# tests/data/feet, whose ankle is deeper than broad and whose calf is nearly round.
ANKLE_DEPTH, ANKLE_BREADTH = 1.12, 0.88
CALF_DEPTH, CALF_BREADTH = 1.06, 0.94
ANKLE_MIDDLE, CALF_MIDDLE = 0.1735, 0.1395
FRONT_MOST = 0.445  # a thick leg is moved back so that its front stays behind the instep
# The girth grows below the ankle with the square of the depth below; from the sample foot, whose
# girth 0.15 of the length below its ankle is 11 % more.
GROWTH_BELOW = 5.0
FORWARD_BELOW = 2.0  # and the leg's middle comes forward with the square of the depth, times this
# Breadth of a leg against its traced depth: beyond these the girth and the drawing disagree.
SLIMMEST, BROADEST = 0.6, 1.6
BREADTH_ROUNDS = 8
LEVEL_RUN_MOST = 0.06  # of foot length: how far below the ankle sections lie level already
LEVEL_RUN_SHARE = 0.3  # of the room between instep and ankle


@dataclass(frozen=True)
class Leg:
    """A leg's girth, depth, breadth and middle at any height, in units of foot length.

    Parameters
    ----------
    level_start, ankle, top : float
        Height of the lowest level section, of the smallest girth, of the highest girth known.
    known : tuple of float
        Heights at which a girth was asked for: sections must lie there.
    girth_at : callable
        Girth of the section at heights; above `top` the last one holds.
    calf : float
        Height at which the leg has its calf's proportions.
    profile : Profile or None
        Front and back as traced; the breadth then follows from the girth.
    """

    level_start: float
    ankle: float
    top: float
    known: tuple[float, ...]
    girth_at: Callable[[FloatArray], FloatArray]
    calf: float
    profile: Profile | None = None

    def breadths_at(self, heights: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return depth and breadth of ellipses that have the leg's girth at some heights."""
        if self.profile is not None:
            return self._traced_breadths(heights, self.profile)
        share = np.clip((heights - self.ankle) / (self.calf - self.ankle), 0.0, 1.0)
        depth = ANKLE_DEPTH + share * (CALF_DEPTH - ANKLE_DEPTH)
        breadth = ANKLE_BREADTH + share * (CALF_BREADTH - ANKLE_BREADTH)
        girth = self.girth_at(heights) / pi
        odd = ((depth - breadth) / (depth + breadth)) ** 2
        # Perimeter of an ellipse to the second term of its series: enough before the exact fit.
        size = girth / (0.5 * (depth + breadth) * (1.0 + odd / 4.0 + odd**2 / 64.0))
        return depth * size, breadth * size

    def _traced_breadths(
        self, heights: FloatArray, profile: Profile
    ) -> tuple[FloatArray, FloatArray]:
        seen = np.minimum(heights, profile.top)
        girth = self.girth_at(heights)
        depth = profile.front_at(seen) - profile.back_at(seen)
        # Above the drawing the leg keeps the proportion it had at the drawing's top.
        depth = depth * girth / self.girth_at(seen)
        breadth = depth
        for _ in range(BREADTH_ROUNDS):
            odd = ((depth - breadth) / (depth + breadth)) ** 2
            round_size = 2.0 * girth / pi / (1.0 + odd / 4.0 + odd**2 / 64.0)
            breadth = np.clip(round_size - depth, SLIMMEST * depth, BROADEST * depth)
        return depth, breadth

    def middle_at(self, heights: FloatArray) -> FloatArray:
        """Return the place along the foot of the leg's middle at some heights."""
        if self.profile is not None:
            seen = np.minimum(heights, self.profile.top)
            return 0.5 * (self.profile.front_at(seen) + self.profile.back_at(seen))
        share = np.clip((heights - self.ankle) / (self.calf - self.ankle), 0.0, 1.0)
        middle = ANKLE_MIDDLE + share**2 * (3.0 - 2.0 * share) * (CALF_MIDDLE - ANKLE_MIDDLE)
        depth_at_ankle, _ = self.breadths_at(np.array([self.ankle]))
        over = ANKLE_MIDDLE + 0.5 * float(depth_at_ankle[0]) - FRONT_MOST
        below = np.maximum(self.ankle - heights, 0.0)
        return np.asarray(middle - max(over, 0.0) + FORWARD_BELOW * below**2, dtype=float)

    def front_at(self, heights: FloatArray) -> FloatArray:
        """Return the place along the foot of the leg's front at some heights."""
        return self.middle_at(heights) + 0.5 * self.breadths_at(heights)[0]

    def back_at(self, heights: FloatArray) -> FloatArray:
        """Return the place along the foot of the leg's back at some heights."""
        return self.middle_at(heights) - 0.5 * self.breadths_at(heights)[0]


def leg_of(wanted: Wanted) -> Leg:
    """Return the leg that has the girths asked for, its smallest at the ankle's height."""
    ankle, calf = wanted["ankle_height"], wanted["calf_height"]
    room = ankle - wanted["instep_height"]
    level_start = ankle - min(LEVEL_RUN_MOST, LEVEL_RUN_SHARE * room)
    above, below = _known_girths(wanted)
    girth_at = _girth_curve(above, below, wanted["ankle_girth"])
    known = tuple(height for height, _ in [*below, *above] if height >= level_start)
    profile = wanted.drawings.profile if wanted.drawings is not None else None
    if profile is not None and profile.top < ankle:
        profile = None  # drawn too low to tell anything of the leg
    return Leg(level_start, ankle, above[-1][0], known, girth_at, calf, profile)


def _known_girths(
    wanted: Wanted,
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Return heights and girths from the ankle up, and below the ankle, both rising."""
    ankle = (wanted["ankle_height"], wanted["ankle_girth"])
    calf = (wanted["calf_height"], wanted["calf_girth"])
    above = sorted([ankle, calf, *(pair for pair in wanted.levels if pair[0] > ankle[0])])
    below = [pair for pair in wanted.levels if ankle[0] - 0.25 < pair[0] < ankle[0]]
    return above, below


def _girth_curve(
    above: list[tuple[float, float]], below: list[tuple[float, float]], smallest: float
) -> Callable[[FloatArray], FloatArray]:
    ankle = above[0][0]
    upper = _flat_at_first(above)
    knots = [(2.0 * ankle - height, girth) for height, girth in reversed(below)]
    reach = max([0.15, *(height - ankle + 0.1 for height, _ in knots)])
    usual = smallest * (1.0 + GROWTH_BELOW * reach**2)
    knots.append((ankle + reach, max(usual, 1.1 * knots[-1][1]) if knots else usual))
    lower = _flat_at_first([(ankle, smallest), *knots])
    top = above[-1][0]

    def girth_at(heights: FloatArray) -> FloatArray:
        up = upper(np.clip(heights, ankle, top))
        down = lower(np.maximum(2.0 * ankle - heights, ankle))
        return np.asarray(np.where(heights >= ankle, up, down), dtype=float)

    return girth_at


def _flat_at_first(knots: list[tuple[float, float]]) -> PchipInterpolator:
    """Return a curve through rising knots that never swings past them, level at the first."""
    first, girth = knots[0]
    mirrored = [(2.0 * first - knots[1][0], knots[1][1]), (first, girth), *knots[1:]]
    heights, girths = zip(*mirrored, strict=True)
    return PchipInterpolator(heights, girths)
