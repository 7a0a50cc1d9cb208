"""SideView: the boot seen from the side, built up round the foot, with its lines drawn in."""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from math import cos, hypot, pi, radians, sin, tan

from patterns.errors import StyleError
from patterns.foot_shape import FootShape, across_at, sole_height_mm
from patterns.geometry.curves import (
    Point,
    crossings,
    parallel_run,
    part_of,
    point_along,
    polyline_length_mm,
    thinned,
)
from patterns.geometry.ellipse import half_upper_arc_mm

Numbers = Mapping[str, float]
SOLE_STEPS = 80


def build_up_mm(values: Numbers) -> float:
    """Return what lies between the foot and the middle of the upper leather."""
    lining = values["lining_thickness_mm"] if values["lining"] else 0.0
    return values["sock_mm"] + lining + values["leather_thickness_mm"] / 2


def closed_girth_mm(girth_mm: float, layer_mm: float) -> float:
    """Return a girth taken over a layer all round.

    Source: a curve parallel to a closed convex one at distance t is 2 pi t longer.
    """
    return girth_mm + 2 * pi * layer_mm


def standing_girth_mm(girth_mm: float, layer_mm: float) -> float:
    """Return a girth taken over a layer that covers all but the sole.

    The upper half turns by half a circle, pi t; the sole grows by t on each side.
    """
    return girth_mm + (pi + 2) * layer_mm


@dataclass(frozen=True, slots=True)
class SideView:
    """The lines of the sides and of the toe, all in the side view (x heel to toe, z up).

    Parameters
    ----------
    front_mm, back_mm : run of (x, z)
        Profile built up by sock, lining and half the leather; the front as the sides have it.
    ridge_mm : run of (x, z)
        From the tip of the toe back over the toe box to the toe line.
    sole_mm : run of (x, z)
        Feather line from the heel seam to the toe line.
    toe_line_mm : (x, z), (x, z)
        From the feather line up to the lace edge.
    topline_mm : (x, z), (x, z)
        From the lace edge to the heel seam.
    """

    front_mm: tuple[Point, ...]
    back_mm: tuple[Point, ...]
    ridge_mm: tuple[Point, ...]
    sole_mm: tuple[Point, ...]
    toe_line_mm: tuple[Point, Point]
    topline_mm: tuple[Point, Point]
    toe_half_arc_mm: float

    @property
    def toe_line_length_mm(self) -> float:
        """Return the length of the toe line on one side, corner not yet rounded."""
        (xa, za), (xb, zb) = self.toe_line_mm
        return hypot(xb - xa, zb - za)


def draw_side_view(shape: FootShape, values: Numbers, *, set_back_mm: float = 0.0) -> SideView:
    """Return the boot's side view; `set_back_mm` sets topline and lace edge back, for linings.

    Raises
    ------
    StyleError
        A topline that runs below the instep or above the leg as known, or a toe line off the toe.
    """
    layer = build_up_mm(values)
    front = parallel_run(shape.front_mm, layer)
    back = _down_to_sole(shape, parallel_run(shape.back_mm, layer))
    plain_toe = _toe_line(shape, front, values)
    half_arc = toe_half_arc_mm(shape, plain_toe, layer)
    lace_edge, toe_line = front, plain_toe
    if set_back_mm > 0:
        lace_edge = parallel_run(front, -set_back_mm)
        toe_line = (toe_line[0], _crossing(lace_edge, *toe_line))
    top_front, top_back = _topline(shape, lace_edge, back, values, set_back_mm)
    lace = _between(lace_edge, toe_line[1], top_front)
    heel = _between(back, top_back, None)
    ridge = front[: next(i for i, p in enumerate(front) if p[0] <= plain_toe[1][0])]
    return SideView(
        front_mm=tuple(thinned(lace)),
        back_mm=tuple(thinned(heel)),
        ridge_mm=(*ridge, plain_toe[1]),
        sole_mm=tuple(_sole_run(shape, heel[-1], toe_line[0])),
        toe_line_mm=toe_line,
        topline_mm=(top_front, top_back),
        toe_half_arc_mm=half_arc,
    )


def _down_to_sole(shape: FootShape, back: list[Point]) -> list[Point]:
    """Return the back ended just on the feather line."""
    seat = shape.raise_mm
    above = [point for point in back if point[1] > seat + 0.02]
    return [*above, (back[-1][0], seat)]


def _sole(shape: FootShape, start_x: float, end_x: float) -> list[Point]:
    length, lift = shape.foot_length_mm, shape.raise_mm
    xs = [start_x + k / SOLE_STEPS * (end_x - start_x) for k in range(SOLE_STEPS + 1)]
    return [(x, sole_height_mm(x, length, lift)) for x in xs]


def _sole_run(shape: FootShape, heel: Point, toe_line_foot: Point) -> list[Point]:
    """Return the feather line from the heel seam to the foot of the toe line, both kept."""
    run = _sole(shape, heel[0], toe_line_foot[0])
    return thinned([heel, *run[1:-1], toe_line_foot])


def _toe_line(shape: FootShape, front: list[Point], values: Numbers) -> tuple[Point, Point]:
    """Return the toe line from the feather up to the ridge."""
    x = values["toe_line_pct"] / 100 * shape.foot_length_mm
    top = point_along(front, crossings(front, (x, 0.0), (0.0, 1.0))[0])[0]
    lean = radians(values["toe_line_tilt_deg"])
    down = (-sin(lean), -cos(lean))
    sole = _sole(shape, 0.2 * shape.foot_length_mm, x + 1e-6)
    bottom = point_along(sole, crossings(sole, top, down)[-1])[0]
    return bottom, top


def toe_half_arc_mm(shape: FootShape, toe_line: tuple[Point, Point], layer_mm: float) -> float:
    """Return the way over the built-up foot along the toe line, from its ridge to the feather."""
    (xb, zb), (xt, zt) = toe_line
    sole = shape.breadth_at(xb)
    breadth = shape.breadth_at((xb + xt) / 2) + 2 * layer_mm
    return half_upper_arc_mm(breadth, hypot(xt - xb, zt - zb), sole)


def _crossing(run: list[Point], start: Point, end: Point) -> Point:
    """Return the first place at which a run crosses the line through two points."""
    along = (end[0] - start[0], end[1] - start[1])
    return point_along(run, crossings(run, start, along)[0])[0]


def _topline(
    shape: FootShape, front: list[Point], back: list[Point], values: Numbers, drop_mm: float
) -> tuple[Point, Point]:
    height = values["boot_height_mm"] - drop_mm
    measures = shape.measures.values_mm
    lowest = max(1.08 * measures["instep_height"], shape.raise_mm + 0.16 * shape.foot_length_mm)
    tilt = tan(radians(values["topline_tilt_deg"]))
    level = shape.measures.values_mm["ankle_height"]
    middle = shape_middle(shape, max(level, height))
    rise = abs(tilt) * 0.6 * shape.depth_at(max(level, min(height, shape.top_mm)))
    if not lowest + rise <= height <= shape.top_mm - 0.2 - rise:
        text = (
            f"The boot height is {values['boot_height_mm']:g} mm; on this foot the topline can lie"
            f" between {lowest + rise + drop_mm:.1f} and {shape.top_mm - 0.2 - rise:.1f} mm above"
            " the ground. Change the height or its tilt, or measure the leg higher up."
        )
        raise StyleError(
            text,
            field="parameters.boot_height_mm",
            code="boot-height-range",
            given_mm=values["boot_height_mm"],
            least_mm=lowest + rise + drop_mm,
            most_mm=shape.top_mm - 0.2 - rise,
        )
    through, along = (middle, height), (1.0, tilt)
    on_front, on_back = crossings(front, through, along), crossings(back, through, along)
    return point_along(front, on_front[-1])[0], point_along(back, on_back[0])[0]


def shape_middle(shape: FootShape, z_mm: float) -> float:
    """Return the middle of the leg at a height."""
    return (across_at(shape.front_mm, z_mm) + across_at(shape.back_mm, z_mm)) / 2


def _between(run: list[Point], start: Point | None, end: Point | None) -> list[Point]:
    """Return the part of a run between two of its own points."""
    length = polyline_length_mm(run)
    first = 0.0 if start is None else _place(run, start)
    final = length if end is None else _place(run, end)
    return part_of(run, first, final)


def _place(run: list[Point], point: Point) -> float:
    best, found, done = float("inf"), 0.0, 0.0
    for a, b in itertools.pairwise(run):
        step = hypot(b[0] - a[0], b[1] - a[1])
        share = ((point[0] - a[0]) * (b[0] - a[0]) + (point[1] - a[1]) * (b[1] - a[1])) / step**2
        share = min(max(share, 0.0), 1.0)
        away = hypot(
            a[0] + share * (b[0] - a[0]) - point[0], a[1] + share * (b[1] - a[1]) - point[1]
        )
        if away < best:
            best, found = away, done + share * step
        done += step
    return found
