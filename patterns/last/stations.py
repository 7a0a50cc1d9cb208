"""One row of figures for each section of a last: where it stands, how broad, how rounded.

Foot and fan are drawn by the same curves over one running place: the station x from the tip of
the toe (1) to the middle of the foot (0.5), then on by the share of the fan that is behind, down
to -0.5 where the leg begins. So nothing breaks where the fan starts to turn.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp, log

import numpy as np
import numpy.typing as npt
from scipy.interpolate import PchipInterpolator

from patterns.last.drawings import Outline
from patterns.last.leg import Leg
from patterns.last.profile import BALL_STATION, INSTEP_STATION, TOE_STATION, SideProfile
from patterns.last.sections import LEAST_POWER
from patterns.last.shape_numbers import ShapeNumbers
from patterns.last.wanted import Wanted

FloatArray = npt.NDArray[np.float64]
Knots = Sequence[tuple[float, float]]

# The two widest places of the forefoot; the outer one lies further back. On a real foot they
# are some 0.10 of the length apart; a doll's foot is drawn more even. No source.
OUTER_BALL_STATION = 0.665
INNER_BALL_STATION = 0.70
# The forefoot's half breadths against half the ball's, at stations along the foot, before the
# tip is rounded: the toes lean a little to the inner side.
OUTER_TOES = ((1.0, 0.62), (0.92, 0.74), (0.84, 0.86), (0.75, 0.962), (OUTER_BALL_STATION, 1.0))
INNER_TOES = ((1.0, 0.74), (0.93, 0.83), (0.86, 0.91), (0.78, 0.970), (INNER_BALL_STATION, 1.0))
ROUND_START = 0.84  # the tip's round begins here
INSTEP_BREADTH, INSTEP_BREADTH_MOST = 0.80, 0.985  # of the ball's breadth
RIDGE_SHIFT = -0.05  # of the ball's breadth: the ridge of the foot lies on the inner side
TIP_CROWDING = 1.5  # how much closer sections lie towards the tip of the toe

# Powers of the superellipse halves, and the height of the widest place as a share of a
# section's, at running places. Drawn after the sample foot; the sole is kept flatter for lasting.
BALL_POWER, INSTEP_POWER, WAIST_POWER = 1.95, 1.66, 1.85
LOWER_POWER = ((1.0, 2.2), (0.96, 3.0), (0.875, 3.8), (0.7, 3.5), (0.5, 2.9), (0.32, 2.9),
               (0.1, 2.5), (-0.1, 2.1), (-0.5, 2.0))  # fmt: skip
WIDEST = ((1.0, 0.42), (0.9, 0.42), (0.72, 0.38), (0.5, 0.31), (0.1, 0.27), (-0.2, 0.40),
          (-0.5, 0.5))  # fmt: skip
LEG_BREADTH_FROM = 0.36  # traced breadths have gone over into the leg's so far into the fan
HEEL_PLACE = 0.17  # the running place where the heel's roundness is set


@dataclass(frozen=True)
class Stations:
    """Arrays with one entry a section."""

    front: FloatArray  # (sections, 2), x and z of the top or front
    back: FloatArray  # (sections, 2), of the bottom or back
    half_width: FloatArray
    middle: FloatArray  # y of the section's own middle
    ridge: FloatArray  # how far the top is moved sideways
    widest: FloatArray  # share of the height at which it is widest
    lower_power: FloatArray
    upper_power: FloatArray

    def followed_by(self, other: "Stations") -> "Stations":
        """Return both runs of sections as one."""
        names = self.__dataclass_fields__
        return Stations(
            *(np.concatenate([getattr(self, name), getattr(other, name)]) for name in names)
        )


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


def foot_and_fan(
    wanted: Wanted,
    numbers: ShapeNumbers,
    profile: SideProfile,
    leg: Leg,
    counts: tuple[int, int],
) -> Stations:
    """Return the upright sections of the foot, then those of the fan up to the leg.

    `counts` are the numbers of sections of foot and fan.
    """
    upright = np.array(foot_places(counts[0]))
    behind = np.arange(1, counts[1] + 1) / (counts[1] + 1)
    place = np.concatenate([upright, INSTEP_STATION - behind])
    front = np.vstack(
        [
            _height_over(profile.front[: profile.front_instep + 1], upright),
            _laid_off(profile.front[profile.front_instep :], behind),
        ]
    )
    back = np.vstack(
        [
            _height_over(profile.back[: profile.back_instep + 1], upright),
            _laid_off(profile.back[profile.back_instep :], behind),
        ]
    )
    widest = _curve(WIDEST)(place)
    if wanted.drawings is not None and wanted.drawings.outline is not None:
        across = back[:, 0] + widest * (front[:, 0] - back[:, 0])
        outer, inner = traced_breadths(wanted.drawings.outline, numbers, leg, place, across)
    else:
        outer, inner = _usual_breadths(wanted, numbers, leg, place)
    ridge_share = np.clip((1.0 - place) / (1.0 - 0.4), 0.0, 1.0)
    return Stations(
        front=front,
        back=back,
        half_width=0.5 * (outer + inner),
        middle=0.5 * (outer - inner),
        ridge=RIDGE_SHIFT * wanted["ball_width"] * np.sin(np.pi * ridge_share) ** 2,
        widest=widest,
        lower_power=_lower_power(numbers)(place),
        upper_power=_upper_power(numbers)(place),
    )


def leg_stations(leg: Leg, heights: FloatArray) -> Stations:
    """Return the level sections of the leg at some heights."""
    count = len(heights)
    _, breadth = leg.breadths_at(heights)
    two, none = np.full(count, 2.0), np.zeros(count)
    return Stations(
        front=np.column_stack([leg.front_at(heights), heights]),
        back=np.column_stack([leg.back_at(heights), heights]),
        half_width=0.5 * breadth,
        middle=none,
        ridge=none,
        widest=np.full(count, 0.5),
        lower_power=two,
        upper_power=two,
    )


def _usual_breadths(
    wanted: Wanted, numbers: ShapeNumbers, leg: Leg, place: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return outer and inner half breadths drawn from the measures, the tip rounded."""
    ball = 0.5 * wanted["ball_width"] * exp(numbers.ball_width)
    rear = _rear_half_breadths(wanted, numbers, leg, ball)
    into_tip = np.clip((place - ROUND_START) / (1.0 - ROUND_START), 0.0, 1.0)
    tip = np.sqrt(np.maximum(1.0 - into_tip**2.6, 0.0))
    outer, inner = (_outline(ball, toes, rear)(place) for toes in (OUTER_TOES, INNER_TOES))
    # The middle is not drawn to the axis where the tip is rounded, only the breadth.
    middle, half = 0.5 * (outer - inner), 0.5 * (outer + inner) * tip
    return half + middle, half - middle


def traced_breadths(
    outline: Outline, numbers: ShapeNumbers, leg: Leg, place: FloatArray, across: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return outer and inner half breadths as traced, stretched where the numbers ask for it.

    `across` are the stations at which each section is widest. Above the heel the breadths go
    over into those of the leg.
    """
    outer, inner = outline.half_breadths(np.clip(across, 0.0, 1.0))
    stretch = _curve(
        [
            (1.0, exp(numbers.ball_width)),
            (0.62, exp(numbers.ball_width)),
            (INSTEP_STATION, exp(numbers.instep_width)),
            (0.36, exp(0.5 * (numbers.instep_width + numbers.heel_width) + numbers.waist_width)),
            (0.20, exp(numbers.heel_width)),
            (-0.05, exp(numbers.heel_width)),
            (-0.28, 1.0),
        ]
    )(np.maximum(place, -0.28))
    start, ankle = 0.5 * leg.breadths_at(np.array([leg.level_start, leg.ankle]))[1]
    end = -0.5 - (leg.ankle - leg.level_start)
    legs = _curve([(1.0, start), (-0.3, start), (-0.5, start), (end, ankle)])(place)
    share = np.clip((0.08 - place) / (0.08 + LEG_BREADTH_FROM), 0.0, 1.0)
    share = share * share * (3.0 - 2.0 * share)
    return (
        (1.0 - share) * outer * stretch + share * legs,
        (1.0 - share) * inner * stretch + share * legs,
    )


def _breadth_in_instep(numbers: ShapeNumbers) -> float:
    """Return the breadth at the instep against the ball's; never so wide as to pass it."""
    usual = -log(1.0 - INSTEP_BREADTH / INSTEP_BREADTH_MOST)
    return INSTEP_BREADTH_MOST * (1.0 - exp(-usual * exp(numbers.instep_width)))


def _rear_half_breadths(
    wanted: Wanted, numbers: ShapeNumbers, leg: Leg, ball: float
) -> list[tuple[float, float]]:
    """Return half breadths at running places from the middle of the foot to the leg."""
    instep = _breadth_in_instep(numbers) * ball
    heel = 0.5 * wanted["heel_width"] * exp(numbers.heel_width)
    leg_half, ankle_half = 0.5 * leg.breadths_at(np.array([leg.level_start, leg.ankle]))[1]
    waist = exp(numbers.waist_width)
    return [
        (INSTEP_STATION, instep),
        (0.36, (0.52 * instep + 0.48 * heel) * waist),
        (0.26, (0.13 * instep + 0.85 * heel) * (0.5 + 0.5 * waist)),
        (0.18, heel),
        (0.04, 0.99 * heel),
        (-0.10, 0.87 * heel + 0.07 * leg_half),
        (-0.28, max(0.3 * heel + 0.68 * leg_half, 0.97 * leg_half)),
        (-0.5, leg_half),
        (-0.5 - (leg.ankle - leg.level_start), ankle_half),
    ]


def _outline(ball: float, toes: Knots, rear: Knots) -> PchipInterpolator:
    """Return one side's half breadths over the running place."""
    room = toes[-1][0] - INSTEP_STATION
    instep = rear[0][1]
    waist = [
        (INSTEP_STATION + 0.75 * room, instep + 0.84 * (ball - instep)),
        (INSTEP_STATION + 0.40 * room, instep + 0.42 * (ball - instep)),
    ]
    return _curve([*((place, ball * share) for place, share in toes), *waist, *rear])


def _upper_power(numbers: ShapeNumbers) -> PchipInterpolator:
    ball = _filled(BALL_POWER, numbers.ball_fullness)
    instep = _filled(INSTEP_POWER, numbers.instep_fullness)
    waist = _filled(WAIST_POWER, 0.4 * numbers.instep_fullness + numbers.waist_fullness)
    return _curve(
        [
            (1.0, 2.3),
            (0.92, 2.4),
            (0.82, 0.5 * (2.2 + ball)),
            (BALL_STATION, ball),
            (INSTEP_STATION, instep),
            (0.33, waist),
            (0.18, 0.9 * waist + 0.2),
            (0.02, 0.4 * waist + 1.2),
            (-0.25, 2.0),
            (-0.5, 2.0),
        ]
    )


def _filled(power: float, fullness: float) -> float:
    """Return a power made larger or smaller; it nears `LEAST_POWER` but never passes it."""
    if fullness > 0.0:
        return power * exp(fullness)
    room = power - LEAST_POWER
    return LEAST_POWER + room * exp(fullness * power / room)


def _lower_power(numbers: ShapeNumbers) -> PchipInterpolator:
    """Return the powers of lower halves; the heel's roundness is free around its own place."""
    return _curve(
        [
            (place, 2.0 + (power - 2.0) * exp(numbers.heel_fullness * _heel_share(place)))
            for place, power in LOWER_POWER
        ]
    )


def _heel_share(place: float) -> float:
    return max(0.0, 1.0 - abs(place - HEEL_PLACE) / 0.3)


def _curve(knots: Knots) -> PchipInterpolator:
    """Return a smooth curve that never swings past its knots, which may be in falling order."""
    places, values = zip(*sorted(knots), strict=True)
    return PchipInterpolator(places, values)


def _height_over(line: FloatArray, x: FloatArray) -> FloatArray:
    """Return the points of a line that runs from the toe back, at stations x."""
    along = np.minimum.accumulate(line[:, 0])
    return np.column_stack([x, np.interp(-x, -along, line[:, 1])])


def _laid_off(line: FloatArray, share: FloatArray) -> FloatArray:
    """Return points at shares of a line's own length."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    asked = share * along[-1]
    return np.column_stack([np.interp(asked, along, line[:, k]) for k in (0, 1)])
