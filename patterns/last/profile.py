"""The last seen from the side: the line over its top and front, and the one under and behind."""

from dataclasses import dataclass
from math import exp

import numpy as np
import numpy.typing as npt
from scipy.interpolate import Akima1DInterpolator, PchipInterpolator

from patterns.last.leg import Leg
from patterns.last.shape_numbers import ShapeNumbers
from patterns.last.wanted import Wanted

FloatArray = npt.NDArray[np.float64]

# Height of the sole as a share of the heel raise: a level seat, an even fall, flat at the ball.
# Common practice, no source.
SOLE_STATIONS = (-0.3, 0.0, 0.2, 0.45, 0.66, 0.76, 1.0, 1.3)
SOLE_SHARES = (1.0, 1.0, 1.0, 0.45, 0.0, 0.0, 0.0, 0.0)
BALL_STATION = 0.68  # where the height over the ball is set
INSTEP_STATION = 0.5
TOE_STATION = 0.9  # the toe's height is the highest place beyond
USUAL_BALL_HEIGHT = 0.385  # of the ball's width
SEAT_START = 0.10  # the sole is met by the round of the heel here, further on if it is rounder
STEPS = 24  # points between two knots of a drawn line


@dataclass(frozen=True)
class SideProfile:
    """Both lines as dense points (x, z) in units of foot length, from the tip of the toe on.

    Parameters
    ----------
    front, back : arrays of shape (n, 2)
        Up the front and under and up the back, both ending at the lowest level section.
    front_instep, back_instep : int
        Index of the point above, and on the sole below, the middle of the foot.
    """

    front: FloatArray
    back: FloatArray
    front_instep: int
    back_instep: int


_SOLE = PchipInterpolator(SOLE_STATIONS, SOLE_SHARES)


def sole_shape(x: FloatArray, heel_raise: float) -> FloatArray:
    """Return the height of the sole at stations, in units of foot length."""
    return np.asarray(heel_raise * _SOLE(np.clip(x, -0.3, 1.3)), dtype=float)


def side_profile(wanted: Wanted, leg: Leg, numbers: ShapeNumbers) -> SideProfile:
    """Return the side profile of a foot with given measures and shape numbers."""
    front, front_instep = _front(wanted, leg, numbers)
    back, back_instep = _back(wanted, leg, numbers)
    return SideProfile(front, back, front_instep, back_instep)


def _front(wanted: Wanted, leg: Leg, numbers: ShapeNumbers) -> tuple[FloatArray, int]:
    toe, instep = wanted["toe_height"], wanted["instep_height"]
    ball = USUAL_BALL_HEIGHT * wanted["ball_width"] * exp(numbers.ball_height)
    start = leg.level_start
    leg_heights = np.array([start, start + 0.5 * (leg.ankle - start), leg.ankle])
    front = leg.front_at(leg_heights)
    # Half way up from instep to leg the line has come back most of the way.
    bend = (front[0] + 0.4 * (INSTEP_STATION - front[0]), instep + 0.42 * (start - instep))
    knots = [
        (1.0, 0.42 * toe),
        (0.988, 0.74 * toe),
        (0.955, 0.94 * toe),
        (TOE_STATION, toe),
        (0.81, 0.5 * (toe + ball)),
        (BALL_STATION, ball),
        (INSTEP_STATION, instep),
        bend,
        *zip(front, leg_heights, strict=True),
    ]
    line = _drawn(knots)
    tip = line[: 3 * STEPS + 1, 1]
    np.minimum(tip, toe, out=tip)  # the curve may swing a hair over a toe higher than the ball
    return line[: 8 * STEPS + 1], 6 * STEPS


def _back(wanted: Wanted, leg: Leg, numbers: ShapeNumbers) -> tuple[FloatArray, int]:
    toe, seat = wanted["toe_height"], wanted["heel_raise"]
    start = leg.level_start
    rise = min(1.0, (start - seat) / 0.48)
    leg_heights = np.array([start, start + 0.5 * (leg.ankle - start), leg.ankle])
    back = leg.back_at(leg_heights)
    corner = exp(-numbers.heel_corner)
    met = SEAT_START * corner**0.75
    tip = _drawn([(1.0, 0.42 * toe), (0.99, 0.10 * toe), (0.955, 0.0), (0.90, 0.0), (0.85, 0.0)])
    ahead = np.linspace(0.955, INSTEP_STATION, 50)[1:]
    stations = np.append(ahead, np.linspace(INSTEP_STATION, met, 44)[1:])
    sole = np.column_stack([stations, sole_shape(stations, seat)])
    heel = _drawn(
        [
            (met + 0.1, float(sole_shape(np.array(met + 0.1), seat))),
            (met + 0.05, float(sole_shape(np.array(met + 0.05), seat))),
            (met, seat),
            (0.045 * corner, seat + 0.010 * rise * corner),
            (0.012 * corner, seat + 0.05 * rise * corner),
            (0.0, seat + 0.13 * rise),
            (0.35 * max(back[0], -0.1) - 0.005, seat + 0.26 * rise),
            (0.85 * back[0], seat + 0.39 * rise),
            *zip(back, leg_heights, strict=True),
        ]
    )
    line = np.vstack([tip[: 2 * STEPS + 1], sole, heel[2 * STEPS + 1 : 8 * STEPS + 1]])
    return line, 2 * STEPS + len(ahead)


def _drawn(knots: list[tuple[float, float]]) -> FloatArray:
    """Return a smooth line through knots, `STEPS` points a gap, the knots among them."""
    points = np.array(knots, dtype=float)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    share = np.arange(STEPS) / STEPS
    places = (along[:-1, None] + share * np.diff(along)[:, None]).ravel()
    curve = Akima1DInterpolator(along, points, method="makima")
    return np.asarray(curve(np.append(places, along[-1])), dtype=float)
