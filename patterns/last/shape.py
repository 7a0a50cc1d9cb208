"""A last's grid built from measures and shape numbers, in units of the foot's length."""

from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import numpy as np
import numpy.typing as npt

from patterns.last.leg import Leg, leg_of
from patterns.last.profile import INSTEP_STATION, side_profile
from patterns.last.sections import section_rings
from patterns.last.shape_numbers import ShapeNumbers
from patterns.last.stations import Stations, foot_and_fan, leg_stations
from patterns.last.wanted import Wanted

FloatArray = npt.NDArray[np.float64]

LEG_STEP = 0.024  # of foot length: the most between two level sections


@dataclass(frozen=True, slots=True)
class Fineness:
    """How many points a grid has: turns round a section, sections of foot and fan."""

    turns: int
    foot: int
    fan: int


COARSE = Fineness(turns=48, foot=30, fan=26)
FINE = Fineness(turns=72, foot=38, fan=34)


@dataclass(frozen=True)
class Shape:
    """A grid in units of foot length, outer side towards +y, with where its parts begin."""

    grid: FloatArray
    instep_station: int
    ankle_station: int


def shape_of(
    wanted: Wanted,
    numbers: ShapeNumbers,
    fineness: Fineness,
    *,
    top: float | None = None,
    leg: Leg | None = None,
) -> Shape:
    """Return the shape with given measures and shape numbers, up to a height.

    Above the highest girth known the last level section is carried on.
    """
    leg = leg_of(wanted) if leg is None else leg
    profile = side_profile(wanted, leg, numbers)
    heights = leg_heights(leg, leg.top if top is None else max(top, leg.ankle))
    counts = (fineness.foot, fineness.fan)
    foot = foot_and_fan(wanted, numbers, profile, leg, counts)
    grid = _grid(foot.followed_by(leg_stations(leg, heights)), fineness.turns)
    first_level = fineness.foot + fineness.fan
    _set_heel(grid, wanted["heel_raise"], fineness.foot)
    _set_level_girths(grid[first_level:], leg.girth_at(heights))
    return Shape(grid, fineness.foot - 1, first_level)


def leg_heights(leg: Leg, top: float) -> FloatArray:
    """Return the heights of level sections: every girth known, and even steps between."""
    fixed = sorted({leg.level_start, leg.ankle, *(h for h in leg.known if h < top), top})
    heights = [fixed[0]]
    for low, high in pairwise(fixed):
        if high - low > 1e-9:
            heights += list(np.linspace(low, high, max(1, ceil((high - low) / LEG_STEP)) + 1)[1:])
    return np.array(heights)


def _grid(rows: Stations, turns: int) -> FloatArray:
    span = rows.front - rows.back
    height = np.hypot(span[:, 0], span[:, 1])
    y, rise = section_rings(
        rows.half_width,
        height,
        rows.widest,
        rows.lower_power,
        rows.upper_power,
        rows.ridge,
        turns,
    )
    share = rise / np.where(height > 1e-12, height, 1.0)[:, None]
    x = rows.back[:, :1] + share * span[:, :1]
    z = rows.back[:, 1:] + share * span[:, 1:]
    grid = np.stack([x, y + rows.middle[:, None], z], axis=-1)
    grid[0] = [1.0, rows.middle[0], 0.5 * (rows.front[0, 1] + rows.back[0, 1])]
    return grid


def _set_level_girths(level: FloatArray, girths: FloatArray) -> None:
    """Scale level sections about their middles so that each has exactly the girth asked for."""
    step = np.linalg.norm(np.roll(level, -1, axis=1) - level, axis=2)
    factor = (girths / step.sum(axis=1))[:, None, None]
    half = level.shape[1] // 2
    middle = 0.5 * (level[:, :1, :2] + level[:, half : half + 1, :2])
    level[:, :, :2] = middle + factor * (level[:, :, :2] - middle)


def _set_heel(grid: FloatArray, seat: float, foot: int) -> None:
    """Stretch the rear half a hair so that the rearmost point of the heel lies at x = 0."""
    points = grid.reshape(-1, 3)
    rear = float(points[points[:, 2] < 0.3 + seat, 0].min())
    behind = grid[foot:, :, 0]
    behind[...] = INSTEP_STATION - (INSTEP_STATION - behind) * INSTEP_STATION / (
        INSTEP_STATION - rear
    )
