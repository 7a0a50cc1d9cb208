"""Outer and inner side, and tongue, as the projection method draws them."""

from dataclasses import dataclass, replace
from math import hypot

from shapely import LineString, Polygon

from patterns.foot_shape import FootShape
from patterns.geometry.curves import (
    Point,
    parallel_run,
    part_of,
    point_along,
    polyline_length_mm,
    resample,
)
from patterns.pieces.allowances import (
    cut_ring,
    fold_lines,
    net_ring,
    notch_at,
    notches_by_bend,
    stitch_line,
    turned_kind,
)
from patterns.pieces.eyelets import EyeletRow, eyelet_row
from patterns.pieces.piece import Edge, Hole, Line, Notch, Piece, Ring
from patterns.pieces.side_view import Numbers, SideView
from patterns.pieces.tongue import tongue_piece

SIDES = ("outer side", "inner side")
MARGIN_SHARE = 0.45  # of the insole's breadth: the lasting margins of two sides must not meet
FLANGE_SHARE = 0.8  # of an eyelet's hole: its flange reaches this far from the centre


@dataclass(frozen=True, slots=True)
class InsoleHalves:
    """How far the insole reaches to each side of its middle line, and its edge on that side."""

    breadth_mm: tuple[float, float]  # outer, inner: the least half breadth under the side
    edge_mm: tuple[tuple[Point, ...], tuple[Point, ...]]  # outer, inner: from heel to toe line


def insole_halves(
    shape: FootShape, outline_mm: Ring, view: SideView, toe_line_x: float
) -> InsoleHalves:
    """Return the insole's two halves behind the toe line, outer first.

    The middle line goes from the rearmost point, where the heel seam stands, through the middle
    of the ball.
    """
    length = shape.foot_length_mm
    rear_x, heel = min(shape.outline_mm)
    ball = sum(shape.sides_at(0.66 * length)) / 2
    least = [float("inf"), float("inf")]
    for k in range(41):
        x = length * 0.15 + k / 40 * (view.toe_line_mm[0][0] - 0.15 * length)
        axis = heel + (x - rear_x) / (0.66 * length - rear_x) * (ball - heel)
        low, high = shape.sides_at(x)
        least = [min(least[0], high - axis), min(least[1], axis - low)]
    edges = [_edge_from_heel(outline_mm, toe_line_x, sign) for sign in (1, -1)]
    if shape.lateral_sign < 0:
        least.reverse()
        edges.reverse()
    return InsoleHalves((least[0], least[1]), (tuple(edges[0]), tuple(edges[1])))


def _edge_from_heel(outline_mm: Ring, toe_line_x: float, sign: int) -> list[Point]:
    """Return the outline from the rearmost point to the toe line, on one side."""
    start = min(range(len(outline_mm)), key=lambda k: outline_mm[k][0])
    ring = [*outline_mm[start:], *outline_mm[:start]]
    if sign > 0:  # counter-clockwise from the heel goes down the low side first
        ring = [ring[0], *reversed(ring[1:])]
    run: list[Point] = []
    for point in ring:
        run.append(point)
        if point[0] >= toe_line_x:
            break
    return run


def lasting_margin_mm(values: Numbers, room_mm: float) -> float:
    """Return the lasting margin for a place where the insole has this breadth."""
    return min(values["lasting_margin_mm"], MARGIN_SHARE * room_mm)


def side_edges(
    view: SideView, values: Numbers, margin_mm: float, *, raw: bool, turned_topline: bool
) -> list[Edge]:
    """Return the edges of a side in the side view, counter-clockwise from the heel.

    Parameters
    ----------
    view : SideView
        Lines to follow.
    values : mapping
        Parameters of the style.
    margin_mm : float
        Lasting margin.
    raw : bool
        Whether lace edge and topline stay unturned, as linings do.
    turned_topline : bool
        Whether the topline is folded in, which small feet do without.
    """
    toe, lace = rounded_corner(view, values["front_corner_mm"])
    lace_fold = 0.0 if raw else values["lace_edge_mm"]
    hem = 0.0 if raw or not turned_topline else values["topline_hem_mm"]
    top_front, top_back = view.topline_mm
    return [
        Edge("lasting", "lasting", margin_mm, view.sole_mm),
        Edge("toe line", "lap", values["toe_line_lap_mm"], (view.sole_mm[-1], toe)),
        Edge("lace edge", turned_kind(lace_fold), lace_fold, tuple(lace)),
        Edge("topline", turned_kind(hem), hem, (top_front, top_back)),
        Edge("heel seam", "seam", values["heel_seam_mm"], (top_back, *view.back_mm[1:])),
    ]


def rounded_corner(view: SideView, radius_mm: float) -> tuple[Point, list[Point]]:
    """Return the top of the toe line and the lace edge, the corner between them rounded."""
    bottom, top = view.toe_line_mm
    front = list(view.front_mm)
    reach = min(radius_mm, 0.4 * hypot(top[0] - bottom[0], top[1] - bottom[1]),
                0.2 * polyline_length_mm(front))  # fmt: skip
    if reach < 0.1:
        return top, [top, *front[1:]]
    start = point_along([top, bottom], reach)[0]
    end = point_along(front, reach)[0]
    bend = [
        ((1 - t) ** 2 * start[0] + 2 * t * (1 - t) * top[0] + t**2 * end[0],
         (1 - t) ** 2 * start[1] + 2 * t * (1 - t) * top[1] + t**2 * end[1])
        for t in (k / 12 for k in range(13))
    ]  # fmt: skip
    rest = part_of(front, reach, polyline_length_mm(front))
    return start, [*bend[:-1], *rest[:-1], front[-1]]


def side_piece(
    name: str,
    edges: list[Edge],
    values: Numbers,
    heel_notches: list[Notch],
) -> tuple[Piece, EyeletRow]:
    """Return one side with its eyelets, lines and notches, still in the side view."""
    row = eyelets_along_lace_edge(edges, values)
    diameter = values["eyelet_diameter_mm"]
    inset = values["stitch_inset_mm"]
    lines = [
        *fold_lines(edges),
        *stitch_line(edges, "lace edge", inset),
        *stitch_line(edges, "topline", inset),
        tight_way(edges),
    ]
    lace = next(edge for edge in edges if edge.name == "lace edge")
    notches = [*heel_notches, *(notches_by_bend(lace) if lace.kind == "hem" else [])]
    piece = Piece(
        name=name,
        quantity=2,
        mirrored_quantity=1,
        material="upper",
        net_mm=net_ring(edges),
        cut_mm=cut_ring(edges),
        edges=tuple(edges),
        holes=tuple(Hole("eyelet", x, y, diameter) for x, y in row.centres_mm),
        notches=tuple(notches),
        lines=tuple(lines),
    )
    return piece, row


def eyelet_edge_mm(values: Numbers) -> float:
    """Return the distance of eyelet centres from the lace edge, never under the flange."""
    return max(values["eyelet_edge_mm"], FLANGE_SHARE * values["eyelet_diameter_mm"])


def eyelets_along_lace_edge(edges: list[Edge], values: Numbers) -> EyeletRow:
    """Return the eyelets of a side, on a line parallel to its lace edge.

    The first stands clear of the toe line and the last clear of the topline by the distance the
    row keeps from the lace edge.
    """
    lace = next(edge for edge in edges if edge.name == "lace edge")
    top = next(edge for edge in edges if edge.name == "topline")
    away = eyelet_edge_mm(values)
    inner = parallel_run(resample(lace.points_mm, 300), -away)
    clear = [p for p in inner if _distance_to_line(p, top.points_mm) >= away]
    toe = next(edge for edge in edges if edge.name == "toe line")
    clear = [p for p in clear if _distance_to_line(p, toe.points_mm) >= away]
    if len(clear) < 2:
        return EyeletRow((), 0.0, 0)
    return eyelet_row(clear, values["eyelet_pitch_mm"], int(values["eyelet_count"]))


def _distance_to_line(point: Point, line: tuple[Point, ...]) -> float:
    """Return how far a point lies to the left of a straight edge, inside the piece."""
    (xa, ya), (xb, yb) = line[0], line[-1]
    return ((xb - xa) * (point[1] - ya) - (yb - ya) * (point[0] - xa)) / hypot(xb - xa, yb - ya)


def tight_way(edges: list[Edge]) -> Line:
    """Return the tight-way arrow of a side, level, where the side is long from heel to toe."""
    net = Polygon(net_ring(edges))
    low, high = net.bounds[1], net.bounds[3]
    best: tuple[Point, Point] = ((0.0, low), (0.0, low))
    for k in range(8, 20):
        z = low + k / 40 * (high - low)
        level = net.intersection(LineString([(net.bounds[0] - 1, z), (net.bounds[2] + 1, z)]))
        for part in getattr(level, "geoms", [level]):
            if part.length > best[1][0] - best[0][0] + 0.02 * (high - low):
                best = ((part.bounds[0], z), (part.bounds[2], z))
    (start, z), (end, _) = best
    return Line("tight way", ((start + 0.2 * (end - start), z), (end - 0.2 * (end - start), z)))


def heel_notches(edges: list[Edge], insole_edge: tuple[Point, ...]) -> list[Notch]:
    """Return notches where the margin of a side goes round the heel of the insole.

    The side's own lasting edge is straight; what gathers its margin is the bend of the insole, so
    the places are taken from there.
    """
    lasting = next(edge for edge in edges if edge.name == "lasting")
    bent = notches_by_bend(Edge("lasting", "lasting", lasting.allowance_mm, insole_edge))
    return [notch_at(lasting, notch.t) for notch in bent if notch.t < 0.35]


def mirrored(piece: Piece) -> Piece:
    """Return a piece turned over left to right, its edges still counter-clockwise."""

    def flip(points: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple((-x, y) for x, y in points)

    def flip_ring(ring: Ring) -> Ring:
        return tuple((-x, y) for x, y in reversed(ring))

    return replace(
        piece,
        net_mm=flip_ring(piece.net_mm),
        cut_mm=flip_ring(piece.cut_mm),
        edges=tuple(
            replace(edge, points_mm=tuple(reversed(flip(edge.points_mm))))
            for edge in reversed(piece.edges)
        ),
        holes=tuple(replace(hole, x_mm=-hole.x_mm) for hole in piece.holes),
        notches=tuple(
            replace(n, t=1.0 - n.t, angle_deg=_wrapped(180.0 - n.angle_deg)) for n in piece.notches
        ),
        lines=tuple(replace(line, points_mm=flip(line.points_mm)) for line in piece.lines),
    )


def _wrapped(angle_deg: float) -> float:
    return (angle_deg + 180.0) % 360.0 - 180.0


def tongue(view: SideView, values: Numbers, *, turned: bool, most_base_mm: float) -> Piece:
    """Return the tongue for a side view: from the toe line to above the topline."""
    return tongue_piece(
        polyline_length_mm(view.front_mm) + values["tongue_extra_mm"],
        width_mm=values["tongue_width_mm"],
        most_base_mm=most_base_mm,
        lap_mm=values["toe_line_lap_mm"],
        hem_mm=values["tongue_hem_mm"] if turned else 0.0,
        stitch_inset_mm=values["stitch_inset_mm"],
    )
