"""Draw a foot: where each measure is taken.

The model foot is ours: the outlines of an invented foot of 75 mm, as control points. Two views
are drawn, the side seen from inside and the sole's plan beneath it, heel under heel.
"""

from collections.abc import Callable, Sequence

from patterns.drawing.drawing import (
    Drawing,
    Fill,
    LineKind,
    Stroke,
    ellipse_points,
    joined,
    smooth_curve,
)
from patterns.drawing.foot_preview import draw_foot_preview as draw_foot_preview
from patterns.errors import PatternError
from patterns.geometry.curves import thinned
from patterns.pieces.piece import Point, Ring

# Side view, x heel to toe and z up: from the cut-off leg down the front, round the toe, along
# the sole and up the back. The leg is cut off at LEG_TOP_MM.
LEG_TOP_MM = 92.0
_SIDE_CORNERS: tuple[Point, ...] = (
    (27.6, 92.0), (25.6, 76.0), (23.6, 60.0), (22.9, 50.0), (23.6, 41.3), (26.2, 33.6),
    (31.0, 26.2), (38.2, 20.1), (44.8, 16.2), (52.1, 12.6), (60.4, 9.5), (66.5, 7.9), (71.0, 7.4),
    (74.0, 6.6), (75.0, 4.6), (73.6, 2.0), (70.6, 0.5), (66.8, 0.1), (62.6, 1.0), (57.0, 0.7),
    (51.5, 0.1), (46.0, 0.7), (38.0, 1.9), (29.0, 2.2), (20.0, 1.1), (12.0, 0.1), (6.4, 0.2),
    (2.2, 2.0), (0.2, 6.5), (0.1, 12.3), (0.9, 19.0), (2.2, 26.0), (2.9, 34.0), (2.3, 43.0),
    (0.2, 54.0), (-2.6, 66.0), (-6.0, 79.0), (-8.5, 92.0),
)  # fmt: skip

# The sole's plan, y down the page: the big toe lies at +y here, as in a right foot seen from
# below or a left foot seen from above.
_PLAN_CORNERS: tuple[Point, ...] = (
    (0.0, 0.2), (0.6, 4.2), (3.0, 7.4), (8.0, 9.6), (14.0, 10.7), (22.0, 11.0), (31.0, 11.6),
    (40.0, 12.9), (47.0, 14.3), (52.5, 15.6), (57.5, 14.8), (63.0, 13.4), (68.5, 13.4),
    (72.8, 12.0), (75.0, 9.2), (74.6, 6.0), (71.8, 4.4), (74.0, 2.4), (74.1, -0.2), (71.6, -1.6),
    (69.6, -2.0), (71.2, -3.6), (70.6, -5.8), (67.4, -6.8), (65.6, -7.0), (67.0, -8.8),
    (65.8, -10.8), (62.2, -11.6), (60.2, -11.5), (60.4, -13.4), (58.0, -14.5), (54.0, -14.6),
    (50.0, -15.0), (45.0, -15.4), (38.0, -14.6), (30.0, -13.1), (21.0, -11.0), (14.0, -10.2),
    (8.4, -9.0), (3.4, -6.6), (0.8, -3.4),
)  # fmt: skip
PLAN_LEVEL_MM = -31.0  # how far below the ground line the middle of the plan lies

_ANKLE_MM, _INSTEP_X_MM, _BALL_X_MM = 46.0, 37.5, 53.0
_CALF_MM = 76.0
MEASURE_KEYS = (
    "foot_length",
    "ball_width",
    "ball_girth",
    "heel_width",
    "instep_girth",
    "instep_height",
    "heel_instep_girth",
    "ankle_girth",
    "ankle_height",
    "toe_height",
    "calf_girth",
    "calf_height",
    "heel_raise",
)
_TICK_MM = 2.6
# As long in every drawing, so that all are shown at one size.
_GROUND: tuple[Point, Point] = ((-16.0, -0.5), (84.0, -0.5))
_HEEL_LIFT_MM = 14.0
_THIN_MM = 0.2  # shown at a quarter of its size, thirteen times on a page that must stay light


def draw_measure(key: str) -> Drawing:
    """Return side view and plan of a foot with the path of one measure drawn wide.

    Parameters
    ----------
    key : str
        One of `MEASURE_KEYS`, such as ``"ball_girth"``.

    Raises
    ------
    PatternError
        The measure is not one of the thirteen.
    """
    if key not in _PATHS:
        text = f"There is no measure named '{key}'; the measures are: {', '.join(MEASURE_KEYS)}."
        raise PatternError(text, field="measure", code="measure-unknown", measure=key)
    foot = _raised_foot() if key == "heel_raise" else _plain_foot()
    return joined((foot, _PATHS[key]()))


def _side() -> tuple[Point, ...]:
    return tuple(thinned(smooth_curve(_SIDE_CORNERS, per_span=6), _THIN_MM))


def _plan() -> Ring:
    points = thinned(smooth_curve(_PLAN_CORNERS, closed=True, per_span=6), _THIN_MM)
    return tuple((x, PLAN_LEVEL_MM - y) for x, y in points)


def _foot_views(side: tuple[Point, ...], ground: tuple[Point, Point]) -> Drawing:
    plan = _plan()
    return Drawing(
        strokes=(
            Stroke(ground, "detail"),
            Stroke(side, "contour"),
            Stroke(plan, "contour", closed=True),
            *_details(),
        ),
        fills=(Fill(side, "foot"), Fill(plan, "foot")),
    )


def _details() -> tuple[Stroke, ...]:
    """Return the few thin lines that make the plan and the side read as a foot."""
    toe_roots = (
        ((71.8, 4.4), (66.0, 4.6), (61.8, 5.4)),
        ((69.6, -2.0), (65.6, -1.6), (62.0, -1.2)),
        ((65.6, -7.0), (62.4, -6.6), (59.8, -6.0)),
        ((60.2, -11.5), (58.0, -11.0), (56.0, -10.2)),
    )
    return tuple(
        Stroke(smooth_curve([(x, PLAN_LEVEL_MM - y) for x, y in root]), "detail")
        for root in toe_roots
    )


def _side_details() -> tuple[Stroke, ...]:
    ankle_bone = smooth_curve(((8.6, 31.0), (10.6, 35.6), (14.6, 36.4), (17.4, 33.4)))
    nail = smooth_curve(((67.6, 7.4), (69.2, 6.2), (72.2, 5.8), (74.2, 6.2)))
    arch = smooth_curve(((22.0, 5.4), (32.0, 7.6), (43.0, 5.8)))
    return tuple(Stroke(line, "detail") for line in (ankle_bone, nail, arch))


def _plain_foot() -> Drawing:
    views = _foot_views(_side(), _GROUND)
    return joined((views, Drawing(_side_details())))


def _raised_foot() -> Drawing:
    """Return the foot on its tread with the heel held up, as a fixed high-heeled foot stands."""
    lifted = tuple(_lift(point) for point in _side())
    details = tuple(
        Stroke(tuple(_lift(point) for point in stroke.points_mm), "detail")
        for stroke in _side_details()
    )
    return joined((_foot_views(lifted, _GROUND), Drawing(details)))


def _lift(point: Point) -> Point:
    """Return a point raised as the heel rises: most behind, nothing at tread and leg top."""
    share = min(max((52.0 - point[0]) / 44.0, 0.0), 1.0)
    rise = _HEEL_LIFT_MM * share * share * (3.0 - 2.0 * share)
    fade = min(max((LEG_TOP_MM - point[1]) / (LEG_TOP_MM - _ANKLE_MM), 0.0), 1.0)
    return point[0], point[1] + rise * fade


def _tape(points: Sequence[Point], kind: LineKind = "measure") -> Drawing:
    return Drawing((Stroke(tuple(points), kind),))


def _dimension(start: Point, end: Point, *, offset: Point = (0.0, 0.0)) -> Drawing:
    """Return a straight measure with end ticks, and thin lines to what it measures."""
    a = (start[0] + offset[0], start[1] + offset[1])
    b = (end[0] + offset[0], end[1] + offset[1])
    length = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
    across = (-(b[1] - a[1]) / length * _TICK_MM, (b[0] - a[0]) / length * _TICK_MM)
    ticks = tuple(
        Stroke(((x - across[0], y - across[1]), (x + across[0], y + across[1])), "measure")
        for x, y in (a, b)
    )
    witness: tuple[Stroke, ...] = ()
    if offset != (0.0, 0.0):
        witness = (Stroke((start, a), "witness"), Stroke((end, b), "witness"))
    return Drawing((*witness, Stroke((a, b), "measure"), *ticks))


def _loop(start: Point, end: Point, depth_mm: float) -> Drawing:
    """Return a tape round a limb seen from the side: the near half wide, the far half dashed."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5
    along, across = (dx / length, dy / length), (dy / length, -dx / length)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)

    def half(from_deg: float) -> list[Point]:
        arc = ellipse_points((0, 0), length / 2, depth_mm, from_deg=from_deg, to_deg=from_deg + 180)
        return [
            (
                middle[0] + x * along[0] - y * across[0],
                middle[1] + x * along[1] - y * across[1],
            )
            for x, y in arc
        ]

    return joined((_tape(half(0.0), "measure behind"), _tape(half(180.0))))


def _plan_line(start: Point, end: Point) -> Drawing:
    return _dimension((start[0], PLAN_LEVEL_MM - start[1]), (end[0], PLAN_LEVEL_MM - end[1]))


def _plan_band(start: Point, end: Point) -> Drawing:
    """Return where a girth crosses the plan."""
    return _tape(((start[0], PLAN_LEVEL_MM - start[1]), (end[0], PLAN_LEVEL_MM - end[1])))


def _height(x: float, top: float, reach: float) -> Drawing:
    """Return an upright measure from the ground, standing clear of the foot at ``reach``."""
    stand = _dimension((reach, 0.0), (reach, top))
    level = Drawing((Stroke(((x, top), (reach, top)), "witness"),))
    return joined((level, stand))


def _foot_length() -> Drawing:
    return joined(
        (
            _dimension((0.0, 0.0), (75.0, 0.0), offset=(0.0, -7.0)),
            Drawing(
                (
                    Stroke(((0.0, -7.0), (0.0, PLAN_LEVEL_MM)), "witness"),
                    Stroke(((75.0, -7.0), (75.0, PLAN_LEVEL_MM - 9.0)), "witness"),
                )
            ),
        )
    )


def _ball_girth() -> Drawing:
    side = _loop((_BALL_X_MM + 0.6, 12.2), (_BALL_X_MM - 2.4, 0.2), 3.0)
    return joined((side, _plan_band((54.0, 15.4), (47.0, -15.3))))


def _instep_girth() -> Drawing:
    side = _loop((_INSTEP_X_MM, 20.7), (_INSTEP_X_MM, 1.9), 3.2)
    return joined((side, _plan_band((_INSTEP_X_MM, 12.5), (_INSTEP_X_MM, -14.5))))


def _heel_instep_girth() -> Drawing:
    return _loop((2.4, 1.6), (35.6, 22.2), 4.6)


_PATHS: dict[str, Callable[[], Drawing]] = {
    "foot_length": _foot_length,
    "ball_width": lambda: _plan_line((53.6, 15.6), (47.0, -15.3)),
    "ball_girth": _ball_girth,
    "heel_width": lambda: _plan_line((11.0, 10.4), (11.0, -9.8)),
    "instep_girth": _instep_girth,
    "instep_height": lambda: _dimension((_INSTEP_X_MM, 0.0), (_INSTEP_X_MM, 20.6)),
    "heel_instep_girth": _heel_instep_girth,
    "ankle_girth": lambda: _loop((2.0, _ANKLE_MM), (23.1, _ANKLE_MM), 3.2),
    "ankle_height": lambda: _height(2.0, _ANKLE_MM, -11.0),
    "toe_height": lambda: _height(71.0, 7.5, 79.0),
    "calf_girth": lambda: _loop((-5.3, _CALF_MM), (25.7, _CALF_MM), 4.2),
    "calf_height": lambda: _height(-5.2, _CALF_MM, -12.5),
    "heel_raise": lambda: _height(6.0, _HEEL_LIFT_MM, -8.0),
}


def draw_foot(*, measures: Sequence[str] = ()) -> Drawing:
    """Return the model foot with the paths of several measures, or with none."""
    return joined((_plain_foot(), *(_PATHS[key]() for key in measures if key in _PATHS)))
