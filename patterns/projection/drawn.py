"""The sole outline and the side profile of a foot drawn from its measures alone.

Both drawings are the sample foot's own shadows, in shares of its length, stretched region by
region until they show the measures asked for. Source of the shares: the shadows of
tests/data/feet/sample_foot.obj (CC0); a test lays the drawings over those shadows.
"""

from collections.abc import Mapping, Sequence
from math import pi

from patterns.foot import HEEL_INSTEP_SPAN, RAISE_SHARE_AT_INSTEP, LevelGirth
from patterns.foot_shape import height_at, sole_height_mm
from patterns.geometry.curves import Point, rounded, smooth_curve, smooth_ring, value_curve
from patterns.geometry.ellipse import other_axis_mm
from patterns.measures import SAMPLE_RATIOS
from patterns.projection.shadow_measures import ball_points, heel_breadth_mm

# Round the outline from the heel along the outer side to the toe and back: x, y in foot lengths.
OUTER_SHARES: tuple[Point, ...] = (
    (0.000, -0.012), (0.013, 0.030), (0.050, 0.0757), (0.110, 0.113), (0.200, 0.136),
    (0.300, 0.151), (0.400, 0.173), (0.500, 0.1915), (0.620, 0.2035), (0.700, 0.198),
    (0.780, 0.179), (0.850, 0.145), (0.910, 0.098), (0.957, 0.044), (0.988, -0.018),
)  # fmt: skip
INNER_SHARES: tuple[Point, ...] = (
    (1.000, -0.080), (0.990, -0.127), (0.960, -0.160), (0.910, -0.177), (0.840, -0.190),
    (0.760, -0.202), (0.700, -0.2065), (0.640, -0.199), (0.550, -0.177), (0.450, -0.160),
    (0.350, -0.151), (0.250, -0.1455), (0.180, -0.137), (0.110, -0.118), (0.050, -0.093),
    (0.013, -0.057),
)  # fmt: skip

# Over the top of the foot: stations in foot lengths and heights over the sole, in foot lengths.
TOP_STATIONS = (0.98, 0.90, 0.85, 0.80, 0.75, 0.70, 0.66, 0.60, 0.50)
TOP_HEIGHTS = (0.0952, 0.1037, 0.116, 0.1285, 0.148, 0.1667, 0.185, 0.2183, 0.2754)
BALL_STATION = 0.68
# From instep to ankle up the front: share of the rise, share of the way back.
THROAT = ((0.27, 0.473), (0.454, 0.652), (0.636, 0.82), (0.818, 0.925))
# From ankle down the back to the heel: share of the ankle's height, share of the way in.
HEEL_BACK = ((0.909, 1.02), (0.727, 0.98), (0.636, 0.93), (0.49, 0.49), (0.364, 0.17),
             (0.218, 0.0), (0.13, 0.02), (0.06, 0.06))  # fmt: skip
SEAT_INSET = 0.005  # of foot length: how far the heel has rounded in where it meets the ground
ANKLE_DEPTH = 1.096  # depth of the leg over that of a circle of the same girth
CALF_DEPTH = 1.058
ANKLE_CENTRE = 0.1735  # middle of the leg, in foot lengths from the heel
CALF_CENTRE = 0.1395
LEG_HEIGHTS = (0.0, 0.111, 0.333, 0.556, 1.0)  # from ankle to calf
LEG_GROWTH = (0.0, 0.03, 0.164, 0.39, 1.0)
STRETCH_LEAST, STRETCH_MOST = 0.55, 1.8  # beyond these a drawing would no longer look like a foot


def draw_sole_outline(measures_mm: Mapping[str, float], lateral_sign: int) -> list[Point]:
    """Return the outline of a sole with the breadths the measures ask for, counter-clockwise."""
    length = measures_mm["foot_length"]
    heel = ball = 1.0
    usual_ball = measures_mm["ball_width"] / (SAMPLE_RATIOS["ball_width"] * length)
    # A waist as broad as the ball is no longer a foot: what the girth asks beyond is told.
    instep = min(max(instep_stretch(measures_mm), 0.65 * usual_ball), 1.06 * usual_ball)
    rear = heel_instep_stretch(measures_mm)
    ring: list[Point] = []
    for _ in range(6):  # the curve swings a little past its controls: measure, correct, draw again
        ring = _stretched_outline(length, heel, rear, instep, ball)
        inner, outer = ball_points(ring, length, 1)
        found = ((outer[0] - inner[0]) ** 2 + (outer[1] - inner[1]) ** 2) ** 0.5
        ball = _held(ball * measures_mm["ball_width"] / found)
        heel = _held(heel * measures_mm["heel_width"] / heel_breadth_mm(ring, length))
    if lateral_sign < 0:
        ring = [(x, -y) for x, y in reversed(ring)]
    return ring


def _stretched_outline(
    length: float, heel: float, rear: float, instep: float, ball: float
) -> list[Point]:
    stations = (0.0, 0.19, 0.33, 0.50, 0.62, 1.0)
    stretch = (heel, heel, (rear * (heel + instep) / 2), instep, ball, ball)
    shares = (*OUTER_SHARES, *INNER_SHARES)
    stretches = value_curve(stations, stretch, [x for x, _ in shares])
    controls = [(x * length, y * length * s) for (x, y), s in zip(shares, stretches, strict=True)]
    ring = smooth_ring(controls[::-1])  # down the inner side first: counter-clockwise
    low, high = min(x for x, _ in ring), max(x for x, _ in ring)
    return [((x - low) * length / (high - low), y) for x, y in ring]


def _held(stretch: float) -> float:
    return min(max(stretch, STRETCH_LEAST), STRETCH_MOST)


def instep_stretch(measures_mm: Mapping[str, float]) -> float:
    """Return how much broader than the sample's the foot is half way along."""
    length = measures_mm["foot_length"]
    height = measures_mm["instep_height"] - RAISE_SHARE_AT_INSTEP * measures_mm["heel_raise"]
    breadth = other_axis_mm(measures_mm["instep_girth"], height)
    usual = other_axis_mm(SAMPLE_RATIOS["instep_girth"], SAMPLE_RATIOS["instep_height"]) * length
    return _held(breadth / usual)


def heel_instep_stretch(measures_mm: Mapping[str, float]) -> float:
    """Return how much broader than its neighbours the foot is between heel and instep."""
    length = measures_mm["foot_length"]
    rise = measures_mm["instep_height"] - measures_mm["heel_raise"]
    breadth = other_axis_mm(
        measures_mm["heel_instep_girth"], ((HEEL_INSTEP_SPAN * length) ** 2 + rise**2) ** 0.5
    )
    span = (HEEL_INSTEP_SPAN**2 + SAMPLE_RATIOS["instep_height"] ** 2) ** 0.5
    usual = other_axis_mm(SAMPLE_RATIOS["heel_instep_girth"], span) * length
    neighbours = (measures_mm["heel_width"] / (SAMPLE_RATIOS["heel_width"] * length)
                  + instep_stretch(measures_mm)) / 2  # fmt: skip
    return min(max(breadth / usual / neighbours, 0.8), 1.25)


def ball_stretch(measures_mm: Mapping[str, float]) -> float:
    """Return how much higher than the sample's the foot is at the ball."""
    length = measures_mm["foot_length"]
    height = other_axis_mm(measures_mm["ball_girth"], measures_mm["ball_width"])
    usual = other_axis_mm(SAMPLE_RATIOS["ball_girth"], SAMPLE_RATIOS["ball_width"]) * length
    return _held(height / usual)


def draw_front(
    measures_mm: Mapping[str, float], level_girths: Sequence[LevelGirth], top_mm: float
) -> list[Point]:
    """Return the profile from the tip of the toe over the instep up the front of the leg."""
    length, raise_mm = measures_mm["foot_length"], measures_mm["heel_raise"]
    toe = measures_mm["toe_height"] / (SAMPLE_RATIOS["toe_height"] * length)
    sole = sole_height_mm(0.5 * length, length, raise_mm)
    instep_mm = measures_mm["instep_height"] - sole
    half_way = instep_mm / (SAMPLE_RATIOS["instep_height"] * length)
    front: list[Point] = []
    for _ in range(3):  # rounding moves the curve a little off its controls: measure and correct
        front = _front(measures_mm, level_girths, top_mm, toe, half_way)
        toe *= measures_mm["toe_height"] / max(height_at(front, 0.9 * length), 0.01 * length)
        half_way *= instep_mm / max(height_at(front, 0.5 * length) - sole, 0.01 * length)
    return front


def _front(
    measures_mm: Mapping[str, float],
    level_girths: Sequence[LevelGirth],
    top_mm: float,
    toe: float,
    half_way: float,
) -> list[Point]:
    """Return the front with its ridge stretched by two factors, at the toe and half way along."""
    length, raise_mm = measures_mm["foot_length"], measures_mm["heel_raise"]
    ankle_mm, toe_mm = measures_mm["ankle_height"], measures_mm["toe_height"]
    ball = ball_stretch(measures_mm)
    stretch = value_curve((0.5, 0.66, 0.70, 0.90, 1.0), (half_way, ball, ball, toe, toe),
                          TOP_STATIONS[::-1])[::-1]  # fmt: skip
    tops = [
        (x * length, sole_height_mm(x * length, length, raise_mm) + z * length * s)
        for x, z, s in zip(TOP_STATIONS, TOP_HEIGHTS, stretch, strict=True)
    ]
    for k in range(len(tops) - 2, 1, -1):  # the ridge never dips on its way up from the toe
        tops[k] = (tops[k][0], min(tops[k][1], tops[k + 1][1] - 0.002 * length))
    tip = [(length, 0.45 * toe_mm), (0.993 * length, 0.72 * toe_mm)]
    front_x, _ = leg_at(measures_mm, level_girths, ankle_mm)
    top_of_instep = tops[-1][1]
    throat = [
        (
            0.5 * length + back * (front_x - 0.5 * length),
            top_of_instep + up * (ankle_mm - top_of_instep),
        )
        for up, back in THROAT
    ]
    leg = [(leg_at(measures_mm, level_girths, z)[0], z) for z in leg_heights(ankle_mm, top_mm)]
    return rounded(smooth_curve([*tip, *tops, *throat, *leg], 260), 4, 3)


def draw_back(
    measures_mm: Mapping[str, float], level_girths: Sequence[LevelGirth], top_mm: float
) -> list[Point]:
    """Return the profile from the top of the leg down its back to the heel seat."""
    length, raise_mm = measures_mm["foot_length"], measures_mm["heel_raise"]
    ankle_mm = measures_mm["ankle_height"]
    leg = [(leg_at(measures_mm, level_girths, z)[1], z) for z in leg_heights(ankle_mm, top_mm)]
    ankle_x = leg[0][0]
    heel = [(inward * ankle_x, raise_mm + up * (ankle_mm - raise_mm)) for up, inward in HEEL_BACK]
    seat = (SEAT_INSET * length, raise_mm)
    return rounded(smooth_curve([*reversed(leg), *heel, seat], 200), 4, 3)


def leg_heights(ankle_mm: float, top_mm: float) -> list[float]:
    """Return the heights at which the leg is drawn, from the ankle to the top."""
    return [ankle_mm + k / 8 * (top_mm - ankle_mm) for k in range(9)]


def leg_at(
    measures_mm: Mapping[str, float], level_girths: Sequence[LevelGirth], z_mm: float
) -> tuple[float, float]:
    """Return the places of the leg's front and back at a height from the ankle up."""
    length, ankle_mm = measures_mm["foot_length"], measures_mm["ankle_height"]
    share = (z_mm - ankle_mm) / (measures_mm["calf_height"] - ankle_mm)
    ankle_depth = ANKLE_DEPTH * measures_mm["ankle_girth"] / pi
    calf_depth = CALF_DEPTH * measures_mm["calf_girth"] / pi
    knots = {
        ankle_mm + f * (measures_mm["calf_height"] - ankle_mm): ankle_depth
        + g * (calf_depth - ankle_depth)
        for f, g in zip(LEG_HEIGHTS, LEG_GROWTH, strict=True)
    }
    for level in level_girths:
        if level.height_mm > 1.05 * ankle_mm:
            near = 0.1 * length  # a girth measured here counts for more than the usual growth
            knots = {z: d for z, d in knots.items()
                     if abs(z - level.height_mm) > near or z <= ankle_mm}  # fmt: skip
            knots[level.height_mm] = CALF_DEPTH * level.girth_mm / pi
    heights = sorted(knots)
    depth = value_curve(heights, [knots[z] for z in heights], [z_mm])[0]
    centre = length * (ANKLE_CENTRE + min(max(share, 0.0), 1.5) * (CALF_CENTRE - ANKLE_CENTRE))
    return centre + depth / 2, centre - depth / 2
