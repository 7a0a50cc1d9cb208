"""A last's grid built from measures and shape numbers, in units of the foot's length."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import ceil, exp

import numpy as np
import numpy.typing as npt
from scipy.interpolate import PchipInterpolator

from patterns.last.leg import Leg, leg_of
from patterns.last.profile import (
    BALL_STATION,
    INSTEP_STATION,
    TOE_STATION,
    SideProfile,
    side_profile,
)
from patterns.last.sections import section_rings
from patterns.last.shape_numbers import ShapeNumbers
from patterns.last.wanted import Wanted

FloatArray = npt.NDArray[np.float64]

# The two widest places of the forefoot; the outer one lies further back. On a real foot they
# are some 0.10 of the length apart; a doll's foot is drawn more even. No source.
OUTER_BALL_STATION = 0.665
INNER_BALL_STATION = 0.70
# The forefoot's half breadths against half the ball's, at stations along the foot, before the
# tip is rounded: the toes lean a little to the inner side.
OUTER_TOES = ((OUTER_BALL_STATION, 1.0), (0.75, 0.962), (0.84, 0.86), (0.92, 0.74), (1.0, 0.62))
INNER_TOES = ((INNER_BALL_STATION, 1.0), (0.78, 0.970), (0.86, 0.91), (0.93, 0.83), (1.0, 0.74))
ROUND_START = 0.84  # the tip's round begins here
INSTEP_BREADTH, INSTEP_BREADTH_MOST = 0.80, 0.985  # of the ball's breadth
RIDGE_SHIFT = -0.05  # of the ball's breadth: the ridge of the foot lies on the inner side
TIP_CROWDING = 1.5  # how much closer sections lie towards the tip of the toe
LEG_STEP = 0.024  # of foot length: the most between two level sections


@dataclass(frozen=True, slots=True)
class Fineness:
    """How many points a grid has: turns round a section, sections of foot and fan."""

    turns: int
    foot: int
    fan: int


COARSE = Fineness(turns=48, foot=30, fan=26)
FINE = Fineness(turns=96, foot=46, fan=42)


@dataclass(frozen=True)
class Shape:
    """A grid in units of foot length, outer side towards +y, with where its parts begin."""

    grid: FloatArray
    instep_station: int
    ankle_station: int


@dataclass(frozen=True)
class _Stations:
    """One row a section: ends of its middle line, half breadth and how it is rounded."""

    front: FloatArray  # (sections, 2), x and z of the top or front
    back: FloatArray  # (sections, 2), of the bottom or back
    half_width: FloatArray
    middle: FloatArray  # y of the section's own middle
    ridge: FloatArray
    widest: FloatArray
    lower_power: FloatArray
    upper_power: FloatArray


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
    foot = _foot_stations(wanted, numbers, profile, fineness)
    fan = _fan_stations(wanted, numbers, profile, leg, fineness)
    level = _level_stations(leg, heights)
    rows = _Stations(
        *(
            np.concatenate([getattr(part, name) for part in (foot, fan, level)])
            for name in _Stations.__dataclass_fields__
        )
    )
    grid = _grid(rows, fineness.turns)
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


@lru_cache(maxsize=8)
def foot_places(count: int) -> tuple[float, ...]:
    """Return the stations of upright sections from the tip of the toe to the middle of the foot.

    They crowd towards the tip; the places where measures are taken are among them.
    """
    fixed = (TOE_STATION, INNER_BALL_STATION, OUTER_BALL_STATION)
    span = (1.0 - INSTEP_STATION) ** (1.0 / TIP_CROWDING)

    def depth(x: float) -> float:
        return float((1.0 - x) ** (1.0 / TIP_CROWDING) / span * (count - 1))

    rows = [0, *(round(depth(x)) for x in fixed), count - 1]
    curve = PchipInterpolator(rows, [depth(x) for x in (1.0, *fixed, INSTEP_STATION)])
    depths = curve(np.arange(count)) / (count - 1) * span
    places = 1.0 - depths**TIP_CROWDING
    places[rows] = [1.0, *fixed, INSTEP_STATION]
    return tuple(float(x) for x in places)


def _breadth_in_instep(numbers: ShapeNumbers) -> float:
    """Return the breadth at the instep against the ball's; never so wide as to pass it."""
    usual = -np.log(1.0 - INSTEP_BREADTH / INSTEP_BREADTH_MOST)
    return float(INSTEP_BREADTH_MOST * (1.0 - exp(-usual * exp(numbers.instep_width))))


def _foot_stations(
    wanted: Wanted, numbers: ShapeNumbers, profile: SideProfile, fineness: Fineness
) -> _Stations:
    x = np.array(foot_places(fineness.foot))
    top = _height_over(profile.front[: profile.front_instep + 1], x)
    bottom = _height_over(profile.back[: profile.back_instep + 1], x)
    ball = 0.5 * wanted["ball_width"] * exp(numbers.ball_width)
    instep = _breadth_in_instep(numbers)
    outer = _outline(instep, OUTER_TOES)(x) * ball
    inner = _outline(instep, INNER_TOES)(x) * ball
    into = np.clip((x - ROUND_START) / (1.0 - ROUND_START), 0.0, 1.0)
    tip = np.sqrt(np.maximum(1.0 - into**2.6, 0.0))
    share = (1.0 - x) / (1.0 - INSTEP_STATION)
    ball_place = (1.0 - BALL_STATION) / (1.0 - INSTEP_STATION)
    ball_power = 2.35 * exp(numbers.ball_fullness)
    instep_power = 2.1 * exp(numbers.instep_fullness)
    upper = PchipInterpolator([0.0, 0.2, ball_place, 1.0], [2.4, 2.6, ball_power, instep_power])
    return _Stations(
        front=np.column_stack([x, top]),
        back=np.column_stack([x, bottom]),
        half_width=0.5 * (outer + inner) * tip,
        middle=0.5 * (outer - inner),
        ridge=RIDGE_SHIFT * wanted["ball_width"] * np.sin(np.pi * np.clip(share, 0.0, 1.0)),
        widest=PchipInterpolator([0.0, 0.2, 0.55, 1.0], [0.42, 0.40, 0.34, 0.30])(share),
        lower_power=PchipInterpolator([0.0, 0.08, 0.25, 1.0], [2.2, 3.0, 4.5, 4.5])(share),
        upper_power=upper(share),
    )


def _outline(instep: float, toes: tuple[tuple[float, float], ...]) -> PchipInterpolator:
    """Return half breadths against half the ball's, from the middle of the foot to the tip."""
    ball_station = toes[0][0]
    room = ball_station - INSTEP_STATION
    waist = [
        (INSTEP_STATION - 0.5 * room, instep - 0.5 * (1.0 - instep) * 0.9),
        (INSTEP_STATION, instep),
        (INSTEP_STATION + 0.4 * room, instep + 0.50 * (1.0 - instep)),
        (INSTEP_STATION + 0.75 * room, instep + 0.88 * (1.0 - instep)),
    ]
    stations, breadths = zip(*waist, *toes, strict=True)
    return PchipInterpolator(stations, breadths)


def _height_over(line: FloatArray, x: FloatArray) -> FloatArray:
    """Return the height of a line that runs from the toe back, at stations."""
    along = np.minimum.accumulate(line[:, 0])
    return np.asarray(np.interp(-x, -along, line[:, 1]), dtype=float)


def _fan_stations(
    wanted: Wanted, numbers: ShapeNumbers, profile: SideProfile, leg: Leg, fineness: Fineness
) -> _Stations:
    share = np.arange(1, fineness.fan + 1) / (fineness.fan + 1)
    ball = 0.5 * wanted["ball_width"] * exp(numbers.ball_width)
    instep = _breadth_in_instep(numbers) * ball
    heel = 0.5 * wanted["heel_width"] * exp(numbers.heel_width)
    leg_half = 0.5 * float(leg.breadths_at(np.array([leg.level_start]))[1][0])
    waist = exp(numbers.waist_width)
    breadths = [
        (0.0, instep),
        (0.13, (0.5 * instep + 0.5 * heel) * waist),
        (0.22, (0.15 * instep + 0.85 * heel) * (0.5 + 0.5 * waist)),
        (0.32, heel),
        (0.46, 0.99 * heel),
        (0.60, 0.93 * heel + 0.04 * leg_half),
        (0.78, max(0.5 * (0.9 * heel + leg_half), 0.98 * leg_half)),
        (1.0, leg_half),
    ]
    power = 2.1 * exp(numbers.instep_fullness)
    waist_power = 2.1 * exp(0.4 * numbers.instep_fullness + numbers.waist_fullness)
    return _Stations(
        front=_laid_off(profile.front[profile.front_instep :], share),
        back=_laid_off(profile.back[profile.back_instep :], share),
        half_width=_smooth(breadths)(share),
        middle=np.zeros(fineness.fan),
        ridge=np.zeros(fineness.fan),
        widest=PchipInterpolator([0.0, 0.4, 0.7, 1.0], [0.30, 0.27, 0.40, 0.5])(share),
        lower_power=PchipInterpolator([0.0, 0.35, 0.6, 1.0], [4.5, 4.0, 2.6, 2.0])(share),
        upper_power=PchipInterpolator(
            [0.0, 0.15, 0.4, 0.8, 1.0], [power, waist_power, 0.5 * waist_power + 1.0, 2.0, 2.0]
        )(share),
    )


def _smooth(knots: list[tuple[float, float]]) -> PchipInterpolator:
    places, values = zip(*knots, strict=True)
    return PchipInterpolator(places, values)


def _laid_off(line: FloatArray, share: FloatArray) -> FloatArray:
    """Return points at shares of a line's own length."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    asked = share * along[-1]
    return np.column_stack([np.interp(asked, along, line[:, k]) for k in (0, 1)])


def _level_stations(leg: Leg, heights: FloatArray) -> _Stations:
    count = len(heights)
    _, breadth = leg.breadths_at(heights)
    two, none = np.full(count, 2.0), np.zeros(count)
    return _Stations(
        front=np.column_stack([leg.front_at(heights), heights]),
        back=np.column_stack([leg.back_at(heights), heights]),
        half_width=0.5 * breadth,
        middle=none,
        ridge=none,
        widest=np.full(count, 0.5),
        lower_power=two,
        upper_power=two,
    )


def _grid(rows: _Stations, turns: int) -> FloatArray:
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
