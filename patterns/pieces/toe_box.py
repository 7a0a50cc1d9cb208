"""The toe box: the outline of the toe with the rise of its wall laid out round it."""

from math import hypot

from shapely import Polygon
from shapely.geometry.polygon import orient

from patterns.foot_shape import FootShape
from patterns.geometry.curves import (
    Point,
    crossings,
    offset_run,
    part_of,
    polyline_length_mm,
    resample,
    rounded,
    thinned,
)
from patterns.pieces.allowances import (
    cut_ring,
    fold_lines,
    net_ring,
    notches_by_bend,
    turned_kind,
)
from patterns.pieces.piece import Edge, EdgeName, Line, Piece, Ring
from patterns.pieces.side_view import Numbers, SideView
from patterns.pieces.upper import lasting_margin_mm, rounded_corner

TOE_MARGIN_STATION = 0.85  # of foot length: where the toe box's margin finds the least room


def toe_box(
    shape: FootShape, view: SideView, outline_mm: Ring, toe_line_x: float, values: Numbers
) -> Piece:
    """Return the toe box: the outline of the toe, with the rise of its wall laid out round it.

    Across the toe line it is as wide as the way over the foot from feather to feather; along its
    middle as long as the ridge from the toe line to the tip and down to the feather.
    """
    rim, length = _developed_rim(shape, view, outline_mm, toe_line_x)
    part = toe_part_length_mm(view, values)
    rim = _at_least_wide(rim, 2 * part + values["lace_gap_mm"] / 2)
    low, high = rim[0][1], rim[-1][1]
    margin = lasting_margin_mm(values, shape.breadth_at(TOE_MARGIN_STATION * shape.foot_length_mm))
    fold = values["toe_line_fold_mm"]
    names = ("outer side", "inner side") if shape.lateral_sign > 0 else ("inner side", "outer side")
    cuts = (high, high - part, low + part, low)
    edges = [
        Edge("lasting", "lasting", margin, tuple(rim)),
        Edge(f"toe line {names[0].split()[0]}", turned_kind(fold), fold,
             ((0.0, cuts[0]), (0.0, cuts[1])), EdgeName(names[0], "toe line")),
        Edge("toe line middle", turned_kind(fold), fold, ((0.0, cuts[1]), (0.0, cuts[2]))),
        Edge(f"toe line {names[1].split()[0]}", turned_kind(fold), fold,
             ((0.0, cuts[2]), (0.0, cuts[3])), EdgeName(names[1], "toe line")),
    ]  # fmt: skip
    inset = values["stitch_inset_mm"]
    stitch = Line("stitch", ((inset, low + inset), (inset, high - inset)))
    whole = Edge("toe line", turned_kind(fold), fold, ((0.0, high), (0.0, low)))
    middle = (low + high) / 2
    arrow = Line("tight way", ((0.25 * length, middle), (0.75 * length, middle)))
    return Piece(
        name="toe box",
        quantity=2,
        mirrored_quantity=1,
        material="upper",
        net_mm=net_ring(edges),
        cut_mm=cut_ring([edges[0], whole]),
        edges=tuple(edges),
        notches=tuple(notches_by_bend(edges[0])),
        lines=(*fold_lines([whole]), stitch, arrow),
    )


def _at_least_wide(rim: list[Point], least_mm: float) -> list[Point]:
    """Return the rim widened, where it must be, until both sides fit on its toe line."""
    breadth, middle = rim[-1][1] - rim[0][1], (rim[-1][1] + rim[0][1]) / 2
    stretch = max(1.0, least_mm / breadth)
    return [(x, middle + stretch * (y - middle)) for x, y in rim]


def toe_part_length_mm(view: SideView, values: Numbers) -> float:
    """Return the length of the toe line one side takes up, its corner rounded off."""
    start = rounded_corner(view, values["front_corner_mm"])[0]
    return polyline_length_mm((view.toe_line_mm[0], start))


def _developed_rim(
    shape: FootShape, view: SideView, outline_mm: Ring, toe_line_x: float
) -> tuple[list[Point], float]:
    """Return the lasting edge of the toe box from one end of the toe line round to the other."""
    run = _smooth_toe(outline_mm, toe_line_x - 0.12 * shape.foot_length_mm)
    low, high = shape.sides_at(view.toe_line_mm[0][0])
    drop = view.ridge_mm[0][1] - shape.sole_at(shape.foot_length_mm)
    ridge = polyline_length_mm(view.ridge_mm) + drop
    tip_x = max(x for x, _ in run)
    rise_side = view.toe_half_arc_mm - (high - low) / 2
    rise_tip = max(ridge - (tip_x - toe_line_x), 0.5 * rise_side)
    normals = [_unit_normal(run, k) for k in range(len(run))]
    moved = offset_run(run, [rise_side * ny**2 + rise_tip * nx**2 for nx, ny in normals])
    flat = [(x - toe_line_x, y) for x, y in moved]
    far = -shape.foot_length_mm  # straight on behind, so that the toe line is always crossed
    flat = [(far, flat[0][1]), *flat, (far, flat[-1][1])]
    places = crossings(flat, (0.0, 0.0), (0.0, 1.0))
    half = polyline_length_mm(flat) / 2
    rim = part_of(flat, max(p for p in places if p < half), min(p for p in places if p > half))
    clear = 0.004 * shape.foot_length_mm  # no short first step to throw the corner off
    rim = [(0.0, rim[0][1]), *(p for p in rim[1:-1] if p[0] > clear), (0.0, rim[-1][1])]
    return thinned(rim), max(x for x, _ in rim)


def _smooth_toe(outline_mm: Ring, behind_x: float) -> list[Point]:
    """Return the outline ahead of a station, from its low side round the tip to its high side.

    Leather does not follow the hollows between toes, so they are bridged and rounded off.
    """
    start = min(range(len(outline_mm)), key=lambda k: outline_mm[k][0])
    ring = [*outline_mm[start:], *outline_mm[:start]]
    ahead = [point for point in ring if point[0] >= behind_x]
    hull = orient(Polygon(ahead).convex_hull).exterior.coords[:-1]
    first = min(range(len(hull)), key=lambda k: hypot(hull[k][0] - ahead[0][0],
                                                      hull[k][1] - ahead[0][1]))  # fmt: skip
    bridged = [(float(x), float(y)) for x, y in (*hull[first:], *hull[:first])]
    return rounded(resample(bridged, 160), 5, 3)


def _unit_normal(run: list[Point], k: int) -> Point:
    a, b = run[max(k - 1, 0)], run[min(k + 1, len(run) - 1)]
    length = hypot(b[0] - a[0], b[1] - a[1])
    return ((b[1] - a[1]) / length, -(b[0] - a[0]) / length)
