"""A foot's tracings read for its last: breadths along the sole, the lines of front and back."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d
from shapely import MultiPoint, Polygon

from patterns.foot import Foot
from patterns.geometry.curves import Point, without_doubles
from patterns.projection.shape import split_profile

FloatArray = npt.NDArray[np.float64]

READ_POINTS = 401  # places at which a tracing is read
STEADY = 0.010  # of foot length: the shake of a hand that is evened out
HEEL_BAND, BALL_BAND = (0.08, 0.22), (0.60, 0.72)  # the axis runs through the middles of these
TOES_FROM = 0.66  # of foot length: from here on an outline is bridged
LOW_PART = 0.3  # of foot length above the heel: the part of a profile that is as long as the foot
ANKLE_BAND = (0.35, 0.75)  # of foot length above the heel: where the leg is looked at
DEPTH_OF_ROUND = 1.12  # depth of the leg at the ankle over that of a circle of the same girth


@dataclass(frozen=True)
class Outline:
    """Half breadths either side of the foot's axis, in units of foot length."""

    stations: FloatArray
    outer: FloatArray
    inner: FloatArray

    def half_breadths(self, x: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return outer and inner half breadths at stations along the foot."""
        return np.interp(x, self.stations, self.outer), np.interp(x, self.stations, self.inner)


@dataclass(frozen=True)
class Profile:
    """Lines of front and back, in units of foot length; each height or station has one place."""

    ridge_stations: FloatArray  # rising, from the middle of the foot to the tip of the toe
    ridge: FloatArray
    tip: float
    heights: FloatArray  # rising, of the leg and the back of the heel
    front: FloatArray
    back: FloatArray

    @property
    def top(self) -> float:
        """Return the height up to which front and back are drawn."""
        return float(self.heights[-1])

    def ridge_at(self, x: float) -> float:
        """Return the height of the foot's top at a station of its front half."""
        return float(np.interp(x, self.ridge_stations, self.ridge))

    def front_at(self, heights: FloatArray) -> FloatArray:
        """Return the place along the foot of the front at heights."""
        return np.interp(heights, self.heights, self.front)

    def back_at(self, heights: FloatArray) -> FloatArray:
        """Return the place along the foot of the back at heights."""
        return np.interp(heights, self.heights, self.back)


@dataclass(frozen=True)
class Drawings:
    """What was traced of one foot; either may be missing."""

    outline: Outline | None
    profile: Profile | None

    def measures(self, heel_raise: float) -> dict[str, float]:
        """Return the measures the drawings show, in units of foot length."""
        shown: dict[str, float] = {}
        if self.outline is not None:
            shown |= _shown_by_outline(self.outline)
        if self.profile is not None:
            shown |= _shown_by_profile(self.profile, heel_raise)
        return shown


def drawings_of(foot: Foot) -> Drawings | None:
    """Return a foot's tracings, turned to its axis and stretched to its length; None without.

    Raises
    ------
    FootError
        A profile that does not go up the leg and down again.
    """
    if foot.sole_outline_mm is None and foot.side_profile_mm is None:
        return None
    length = foot.foot_length_mm
    sign = 1.0 if foot.foot_side == "left" else -1.0
    outline = profile = None
    if foot.sole_outline_mm is not None:
        ring = np.array(foot.sole_outline_mm, dtype=float) * [1.0, sign] / length
        outline = _outline(ring)
    if foot.side_profile_mm is not None:
        heel_raise = foot.measures_mm.get("heel_raise", 0.0)
        profile = _profile(foot.side_profile_mm, length, heel_raise)
    return Drawings(outline, profile)


def _outline(ring: FloatArray) -> Outline:
    x, y = ring.T
    x = (x - x.min()) / np.ptp(x)
    # Closer towards both tips, where the outline turns square to the foot.
    stations = 0.5 - 0.5 * np.cos(np.linspace(0.0, np.pi, READ_POINTS))
    low, high = _extents(_toes_bridged(np.column_stack([x, y])), stations)
    middle = 0.5 * (low + high)
    axis = np.polyfit(
        [np.mean(band) for band in (HEEL_BAND, BALL_BAND)],
        [_mean_within(stations, middle, band) for band in (HEEL_BAND, BALL_BAND)],
        1,
    )
    shift = np.polyval(axis, stations)
    steady = STEADY * READ_POINTS / 1.5
    outer = _steadied(high - shift, steady)
    inner = _steadied(shift - low, steady)
    return Outline(stations, outer, inner)


def _toes_bridged(ring: FloatArray) -> FloatArray:
    """Return a ring whose hollows between the toes are bridged, as a taut upper bridges them."""
    fore = MultiPoint(ring[ring[:, 0] > TOES_FROM]).convex_hull
    whole = Polygon(ring).buffer(0.0).union(fore)
    return np.array(
        Polygon(whole.exterior if whole.geom_type == "Polygon" else ring).exterior.coords
    )


def _mean_within(stations: FloatArray, values: FloatArray, band: tuple[float, float]) -> float:
    return float(values[(stations > band[0]) & (stations < band[1])].mean())


def _extents(ring: FloatArray, stations: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the least and greatest y of a closed ring at stations."""
    a, b = ring, np.roll(ring, -1, axis=0)
    inside = np.clip(stations, 1e-9, 1.0 - 1e-9)[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (inside - a[:, 0]) / (b[:, 0] - a[:, 0])
    on_edge = (share >= 0.0) & (share <= 1.0)
    y = a[:, 1] + np.where(on_edge, share, 0.0) * (b[:, 1] - a[:, 1])
    low = np.where(on_edge, y, np.inf).min(axis=1)
    high = np.where(on_edge, y, -np.inf).max(axis=1)
    return low, high


def _steadied(values: FloatArray, spread: float) -> FloatArray:
    """Return values with the shake of a hand evened out, their ends kept."""
    even = np.asarray(gaussian_filter1d(values, spread, mode="nearest"), dtype=float)
    near_end = np.minimum(np.arange(len(values)), np.arange(len(values))[::-1]) / (3.0 * spread)
    share = np.clip(near_end, 0.0, 1.0)
    return np.asarray(share * even + (1.0 - share) * values, dtype=float)


def _profile(run_mm: Sequence[Point], length: float, heel_raise_mm: float) -> Profile:
    run = without_doubles(run_mm)
    front_mm, back_mm = split_profile(run, length, heel_raise_mm, max(z for _, z in run))
    front, back = np.array(front_mm) / length, np.array(back_mm[::-1]) / length
    seat = heel_raise_mm / length
    rear = float(back[back[:, 1] < LOW_PART + seat, 0].min())
    tip = int(front[:, 0].argmax())
    reach = float(front[tip, 0]) - rear
    front, back = front[tip:].copy(), back.copy()
    front[:, 0], back[:, 0] = (front[:, 0] - rear) / reach, (back[:, 0] - rear) / reach
    half = int(np.argmax(front[:, 0] <= 0.45))
    ridge = front[: half + 1]
    stations = np.linspace(0.45, 1.0, READ_POINTS)
    along = np.minimum.accumulate(ridge[:, 0])
    spread = STEADY * READ_POINTS / 0.55
    heights = np.linspace(seat, min(front[-1, 1], back[-1, 1]), READ_POINTS)
    rise = STEADY * READ_POINTS / float(np.ptp(heights))
    leg = front[half:]
    climbing = np.maximum.accumulate(leg[:, 1])
    return Profile(
        ridge_stations=stations,
        ridge=_steadied(np.interp(-stations, -along, ridge[:, 1]), spread),
        tip=float(front[0, 1]),
        heights=heights,
        front=_steadied(np.interp(heights, climbing, leg[:, 0]), rise),
        back=_steadied(np.interp(heights, np.maximum.accumulate(back[:, 1]), back[:, 0]), rise),
    )


def _shown_by_outline(outline: Outline) -> dict[str, float]:
    x = outline.stations
    ahead, beside = (x > 0.62) & (x < 0.80), (x > 0.52) & (x < 0.75)
    inner = int(np.where(ahead, outline.inner, 0.0).argmax())
    outer = int(np.where(beside, outline.outer, 0.0).argmax())
    across = outline.inner[inner] + outline.outer[outer]
    heel = x < 0.25
    return {
        "ball_width": float(np.hypot(x[inner] - x[outer], across)),
        "heel_width": float(outline.outer[heel].max() + outline.inner[heel].max()),
    }


def _shown_by_profile(profile: Profile, heel_raise: float) -> dict[str, float]:
    shown = {
        "instep_height": profile.ridge_at(0.5),
        "toe_height": float(profile.ridge[profile.ridge_stations >= 0.9].max()),
    }
    low, high = (bound + heel_raise for bound in ANKLE_BAND)
    within = (profile.heights > max(low, 1.15 * shown["instep_height"])) & (profile.heights < high)
    if within.any():
        depth = np.where(within, profile.front - profile.back, np.inf)
        thinnest = int(depth.argmin())
        shown["ankle_height"] = float(profile.heights[thinnest])
        shown["ankle_girth"] = float(depth[thinnest]) * pi / DEPTH_OF_ROUND
    return shown
