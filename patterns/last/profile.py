"""The last seen from the side: the line over its top and front, and the one under and behind."""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp

import numpy as np
import numpy.typing as npt
from scipy.interpolate import Akima1DInterpolator, PchipInterpolator

from patterns.last.drawings import Profile
from patterns.last.leg import Leg
from patterns.last.shape_numbers import ShapeNumbers
from patterns.last.wanted import Wanted

FloatArray = npt.NDArray[np.float64]
Knots = list[tuple[float, float]]

# Height of the sole as a share of the heel raise: a level seat, an even fall, flat at the ball.
# Common practice, no source.
SOLE_STATIONS = (-0.3, 0.0, 0.2, 0.45, 0.66, 0.76, 1.0, 1.3)
SOLE_SHARES = (1.0, 1.0, 1.0, 0.45, 0.0, 0.0, 0.0, 0.0)
BALL_STATION = 0.68  # where the height over the ball is set
INSTEP_STATION = 0.5
TOE_STATION = 0.9  # the toe's height is the highest place beyond
USUAL_BALL_HEIGHT = 0.385  # of the ball's width
# From instep to ankle up the front: share of the rise, share of the way back. Source: the sample
# foot.
THROAT = ((0.25, 0.46), (0.45, 0.72), (0.62, 0.885))
SEAT_START = 0.10  # the sole is met by the round of the heel here, further on if it is rounder
TIP_SHARE = 0.42  # height of the toe's tip as a share of the toe's height
# Where a traced profile is read: stations over the foot, shares of the rise from instep to leg
# and of the climb from the heel's seat to the leg.
TRACED_STATIONS = (0.988, 0.965, 0.935, TOE_STATION, 0.86, 0.81, 0.75, BALL_STATION, 0.62, 0.56,
                   INSTEP_STATION)  # fmt: skip
TRACED_RISE = (0.2, 0.4, 0.6, 0.8)
TRACED_CLIMB = (0.24, 0.36, 0.5, 0.64, 0.78, 0.9)
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
    traced = _traced(wanted, leg)
    if traced is None:
        ridge, rise = _usual_front(wanted, leg, numbers)
    else:
        ridge, rise = _traced_front(traced, wanted, leg, numbers)
    line = _drawn([*ridge, *rise, *_leg_knots(leg, leg.front_at)])
    steps = STEPS * (len(ridge) - 1)
    tip = line[:steps]
    toe_part = tip[tip[:, 0] >= TOE_STATION, 1]
    # The curve may swing a hair over a toe that is higher than the ball.
    tip[: len(toe_part), 1] = np.minimum(toe_part, wanted["toe_height"])
    return line[: STEPS * (len(ridge) + len(rise)) + 1], steps


def _usual_front(wanted: Wanted, leg: Leg, numbers: ShapeNumbers) -> tuple[Knots, Knots]:
    """Return knots over the foot from the tip to its middle, and those up to the leg."""
    toe, instep = wanted["toe_height"], wanted["instep_height"]
    ball = USUAL_BALL_HEIGHT * wanted["ball_width"] * exp(numbers.ball_height)
    front = float(leg.front_at(np.array([leg.ankle]))[0])
    ridge = [
        (1.0, TIP_SHARE * toe),
        (0.988, 0.74 * toe),
        (0.955, 0.94 * toe),
        (TOE_STATION, toe),
        (0.81, 0.5 * (toe + ball)),
        (BALL_STATION, ball),
        (INSTEP_STATION, instep),
    ]
    rise = [
        (INSTEP_STATION - way * (INSTEP_STATION - front), instep + share * (leg.ankle - instep))
        for share, way in THROAT
    ]
    return ridge, rise


def _traced_front(
    traced: Profile, wanted: Wanted, leg: Leg, numbers: ShapeNumbers
) -> tuple[Knots, Knots]:
    """Return knots as traced, moved so far that the measures of toe and instep are met."""
    toe, instep, start = wanted["toe_height"], wanted["instep_height"], leg.level_start
    toe_factor = toe / traced.ridge_at(TOE_STATION)
    instep_drawn = traced.ridge_at(INSTEP_STATION)
    factor = PchipInterpolator(
        [INSTEP_STATION, BALL_STATION, TOE_STATION, 1.01],
        [instep / instep_drawn, exp(numbers.ball_height), toe_factor, toe_factor],
    )
    ridge = [(1.0, _tip_height(wanted, traced))]
    ridge += [(x, traced.ridge_at(x) * float(factor(x))) for x in TRACED_STATIONS]
    ridge[TRACED_STATIONS.index(TOE_STATION) + 1] = (TOE_STATION, toe)
    shares = np.array(TRACED_RISE)
    drawn = instep_drawn + shares * (start - instep_drawn)
    places = traced.front_at(drawn)
    rise = list(zip(places, instep + shares * (start - instep), strict=True))
    return ridge, [(float(x), float(z)) for x, z in rise]


def _back(wanted: Wanted, leg: Leg, numbers: ShapeNumbers) -> tuple[FloatArray, int]:
    toe, seat = wanted["toe_height"], wanted["heel_raise"]
    traced = _traced(wanted, leg)
    corner = exp(-numbers.heel_corner)
    met = SEAT_START * corner**0.75
    tip_height = TIP_SHARE * toe if traced is None else _tip_height(wanted, traced)
    under = [(0.99, 0.25 * tip_height), (0.955, 0.0), (0.90, 0.0), (0.85, 0.0)]
    tip = _drawn([(1.0, tip_height), *under])
    ahead = np.linspace(0.955, INSTEP_STATION, 50)[1:]
    stations = np.append(ahead, np.linspace(INSTEP_STATION, met, 44)[1:])
    sole = np.column_stack([stations, sole_shape(stations, seat)])
    before = [(met + gap, float(sole_shape(np.array(met + gap), seat))) for gap in (0.1, 0.05)]
    if traced is None:
        climb = _usual_heel(leg, seat, corner)
    else:
        climb = _traced_heel(traced, leg, seat, corner)
    heel = _drawn([*before, (met, seat), *climb, *_leg_knots(leg, leg.back_at)])
    end = STEPS * (len(climb) + 3) + 1
    line = np.vstack([tip[: 2 * STEPS + 1], sole, heel[2 * STEPS + 1 : end]])
    return line, 2 * STEPS + len(ahead)


def _usual_heel(leg: Leg, seat: float, corner: float) -> Knots:
    """Return knots round the heel and up its back."""
    back = float(leg.back_at(np.array([leg.level_start]))[0])
    rise = min(1.0, (leg.level_start - seat) / 0.48)
    return [
        (0.045 * corner, seat + 0.010 * rise * corner),
        (0.012 * corner, seat + 0.05 * rise * corner),
        (0.0, seat + 0.13 * rise),
        (0.35 * max(back, -0.1) - 0.005, seat + 0.26 * rise),
        (0.85 * back, seat + 0.39 * rise),
    ]


def _traced_heel(traced: Profile, leg: Leg, seat: float, corner: float) -> Knots:
    """Return knots round the heel, its back as traced from where a pencil can reach."""
    room = leg.level_start - seat
    heights = seat + np.array(TRACED_CLIMB) * room
    places = traced.back_at(heights)
    low = 0.012 * corner + max(float(traced.back_at(np.array(seat + 0.06 * room))), 0.0)
    knots = [(low + 0.033 * corner, seat + 0.010 * corner), (low, seat + 0.045 * corner)]
    return knots + [(float(x), float(z)) for x, z in zip(places, heights, strict=True)]


def _traced(wanted: Wanted, leg: Leg) -> Profile | None:
    return leg.profile if wanted.drawings is not None else None


def _tip_height(wanted: Wanted, traced: Profile) -> float:
    """Return the height of the toe's tip: as drawn, but in the middle part of the toe's height."""
    toe = wanted["toe_height"]
    return min(max(traced.tip, 0.25 * toe), 0.65 * toe)


def _leg_knots(leg: Leg, place_at: Callable[[FloatArray], FloatArray]) -> Knots:
    """Return knots at the first level sections, which lead the line on into the leg."""
    start = leg.level_start
    heights = np.array([start, start + 0.5 * (leg.ankle - start), leg.ankle])
    return [(float(x), float(z)) for x, z in zip(place_at(heights), heights, strict=True)]


def _drawn(knots: Knots) -> FloatArray:
    """Return a smooth line through knots, `STEPS` points a gap, the knots among them."""
    points = np.array(knots, dtype=float)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    share = np.arange(STEPS) / STEPS
    places = (along[:-1, None] + share * np.diff(along)[:, None]).ravel()
    curve = Akima1DInterpolator(along, points, method="makima")
    return np.asarray(curve(np.append(places, along[-1])), dtype=float)
