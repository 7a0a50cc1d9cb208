"""FootShape: the two drawings the projection method works from, an outline and a side profile."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from patterns.geometry.curves import Point, extent_across, value_curve
from patterns.measures import CompleteMeasures

# Height of the sole over the ground at stations along the foot, as a share of the heel raise,
# and of the toe spring. Common practice, no source: seat level, an even fall, flat at the ball.
SOLE_STATIONS = (0.0, 0.22, 0.45, 0.66, 0.76, 1.0)
RAISE_SHARES = (1.0, 0.97, 0.45, 0.0, 0.0, 0.0)


_RAISE_STEPS = 400
_RAISE_CURVE = value_curve(
    SOLE_STATIONS, RAISE_SHARES, [k / _RAISE_STEPS for k in range(_RAISE_STEPS + 1)]
)


def sole_height_mm(x_mm: float, foot_length_mm: float, raise_mm: float) -> float:
    """Return how high the sole of the foot lies over the ground at a station."""
    if raise_mm == 0:
        return 0.0
    return raise_mm * _raise_share(x_mm / foot_length_mm)


def _raise_share(station: float) -> float:
    """Return the share of the heel raise at a station, by a curve drawn once."""
    place = min(max(station, 0.0), 1.0) * _RAISE_STEPS
    step = min(int(place), _RAISE_STEPS - 1)
    return _RAISE_CURVE[step] + (place - step) * (_RAISE_CURVE[step + 1] - _RAISE_CURVE[step])


@dataclass(frozen=True, slots=True)
class FootShape:
    """Outline from above and profile from the side, in the foot's own frame.

    Parameters
    ----------
    outline_mm : tuple of (x, y)
        Closed ring round the sole, counter-clockwise, heel at x = 0.
    front_mm : tuple of (x, z)
        From the tip of the toe over the instep up the front of the leg.
    back_mm : tuple of (x, z)
        From the top of the leg down its back to the heel seat.
    measures : CompleteMeasures
        All thirteen measures.
    lateral_sign : int
        +1 where the outer side lies towards +y (a left foot), else -1.
    """

    outline_mm: tuple[Point, ...]
    front_mm: tuple[Point, ...]
    back_mm: tuple[Point, ...]
    measures: CompleteMeasures
    lateral_sign: int

    @property
    def foot_length_mm(self) -> float:
        """Return the foot's length as measured."""
        return self.measures.values_mm["foot_length"]

    @property
    def raise_mm(self) -> float:
        """Return the foot's own heel raise."""
        return self.measures.values_mm["heel_raise"]

    @property
    def top_mm(self) -> float:
        """Return the height up to which both front and back of the leg are known."""
        return min(self.front_mm[-1][1], self.back_mm[0][1])

    def sole_at(self, x_mm: float) -> float:
        """Return the height of the sole at a station."""
        return sole_height_mm(x_mm, self.foot_length_mm, self.raise_mm)

    def ridge_at(self, x_mm: float) -> float:
        """Return the height of the foot's top at a station of its front half."""
        return height_at(self.front_mm, x_mm)

    def breadth_at(self, x_mm: float) -> float:
        """Return the outline's whole breadth at a station."""
        low, high = self.sides_at(x_mm)
        return high - low

    def sides_at(self, x_mm: float) -> tuple[float, float]:
        """Return the outline's least and greatest y at a station, taken inside its length."""
        xs = [x for x, _ in self.outline_mm]
        low, high = min(xs), max(xs)
        inside = min(max(x_mm, low + 1e-6), high - 1e-6)
        return extent_across(self.outline_mm, inside) or (0.0, 0.0)

    def depth_at(self, z_mm: float) -> float:
        """Return the leg's depth from back to front at a height."""
        return across_at(self.front_mm, z_mm) - across_at(self.back_mm, z_mm)


def height_at(run_mm: Sequence[Point], x_mm: float) -> float:
    """Return the height at which a run first reaches a station coming from the toe."""
    for (xa, za), (xb, zb) in pairwise(run_mm):
        if min(xa, xb) <= x_mm <= max(xa, xb) and xa != xb:
            return za + (x_mm - xa) / (xb - xa) * (zb - za)
    return run_mm[0][1] if x_mm > run_mm[0][0] else run_mm[-1][1]


def across_at(run_mm: Sequence[Point], z_mm: float) -> float:
    """Return the place at which a run crosses a height, the highest such place of the run."""
    steps = list(pairwise(run_mm))
    if run_mm[0][1] < run_mm[-1][1]:
        steps.reverse()
    for (xa, za), (xb, zb) in steps:
        if min(za, zb) <= z_mm <= max(za, zb) and za != zb:
            return xa + (z_mm - za) / (zb - za) * (xb - xa)
    top, bottom = (run_mm[-1], run_mm[0]) if steps and run_mm[-1][1] > run_mm[0][1] else (
        run_mm[0], run_mm[-1])  # fmt: skip
    return top[0] if z_mm > top[1] else bottom[0]
