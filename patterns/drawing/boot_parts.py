"""The visible parts of a finished boot in its side view: x heel to toe, z up, in millimetres.

Everything is taken from the pieces that are cut and the foot they are cut for; only the fall of
the laces and of the tongue is drawn freely.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from shapely import LineString, Polygon
from shapely import Point as ShapelyPoint

from patterns.drawing.drawing import Stroke, ellipse_points, smooth_curve
from patterns.drawing.stacking import Part
from patterns.errors import PatternError
from patterns.foot_shape import FootShape
from patterns.geometry.curves import (
    crossings,
    parallel_run,
    part_of,
    point_along,
    polyline_length_mm,
    resample,
)
from patterns.pieces.piece import Piece, PieceSet, Point, Ring
from patterns.pieces.side_view import build_up_mm

EDGES = ("lasting", "toe line", "lace edge", "topline", "heel seam")
HEEL_PIECES = ("heel", "heel lift")
FLANGE_SHARE = 1.6  # of the hole: how wide the eyelet's flange stands round it
LACE_SHARE = 0.62  # of the hole: a lace that goes through twice
TONGUE_DEPTH_SHARE = 0.3  # of its width: what of a tongue bent round the leg shows from the side


@dataclass(frozen=True, slots=True)
class BootSide:
    """The outer side of a boot turned so that the toe points to +x, with its foot and figures."""

    piece: Piece
    shape: FootShape
    values: Mapping[str, float]
    mirrored: bool  # whether the piece itself points the other way
    net_mm: Ring
    lace_edge_mm: tuple[Point, ...]  # from the toe line up
    toe_line_mm: tuple[Point, Point]  # from the feather line up
    topline_mm: tuple[Point, Point]  # from the lace edge to the heel seam
    eyelets_mm: tuple[Point, ...]  # from the toe up
    stitches_mm: tuple[tuple[Point, ...], ...]
    sole_larger_mm: float  # how far the outsole stands out behind the insole, as cut
    heel_lifts: int  # layers the heel is built of; 0 where the boot has none

    @property
    def foot_length_mm(self) -> float:
        """Return the foot's length."""
        return self.shape.foot_length_mm

    @property
    def sole_mm(self) -> float:
        """Return how thick the outsole is."""
        return float(self.values["sole_thickness_mm"])

    @property
    def heel_mm(self) -> float:
        """Return how high the heel under the sole is."""
        return float(self.values["heel_height_mm"])


def boot_side(piece_set: PieceSet, shape: FootShape) -> BootSide:
    """Return the outer side of a piece set, turned with its toe to +x.

    Raises
    ------
    PatternError
        The pieces are not those of a boot that is laced in front, or lack their sole.
    """
    pieces = {piece.name: piece for piece in piece_set.pieces}
    piece = pieces.get("outer side")
    edges = {edge.name: edge.points_mm for edge in piece.edges} if piece is not None else {}
    if piece is None or not {*EDGES} <= {*edges} or not {"insole", "outsole"} <= {*pieces}:
        text = (
            f'The pieces of "{piece_set.style}" are not those of a laced boot, so no boot can be'
            " drawn; look at the pieces themselves."
        )
        raise PatternError(text, field="pieces", code="boot-not-laced")
    # A side lies over its foot, which reaches from 0 to its length: only its mirror is below 0.
    mirrored = sum(x for x, _ in piece.net_mm) < 0

    def run(name: str) -> tuple[Point, ...]:
        points = edges[name]
        return tuple((-x, z) for x, z in reversed(points)) if mirrored else points

    sign = -1.0 if mirrored else 1.0
    eyelets = [(sign * hole.x_mm, hole.y_mm) for hole in piece.holes]
    lace_edge = run("lace edge")
    front = LineString(lace_edge)
    return BootSide(
        piece=piece,
        shape=shape,
        values={key: float(v) for key, v in piece_set.parameters.items() if not isinstance(v, str)},
        mirrored=mirrored,
        net_mm=tuple((sign * x, z) for x, z in piece.net_mm),
        lace_edge_mm=lace_edge,
        toe_line_mm=(run("toe line")[0], run("toe line")[-1]),
        topline_mm=(run("topline")[0], run("topline")[-1]),
        eyelets_mm=tuple(sorted(eyelets, key=lambda e: front.project(ShapelyPoint(e)))),
        stitches_mm=tuple(
            tuple((sign * x, z) for x, z in line.points_mm)
            for line in piece.lines
            if line.kind == "stitch"
        ),
        sole_larger_mm=_left(pieces["insole"]) - _left(pieces["outsole"]),
        heel_lifts=sum(p.quantity // 2 for name, p in pieces.items() if name in HEEL_PIECES),
    )


def _left(piece: Piece) -> float:
    return min(x for x, _ in piece.net_mm)


def toe_box_part(side: BootSide) -> Part:
    """Return the toe box as it stands over the toe, its straight edge stitched to the side."""
    shape, inset = side.shape, side.values["stitch_inset_mm"]
    foot, up = side.toe_line_mm
    ridge = parallel_run(shape.front_mm, build_up_mm(side.values))
    along = (up[0] - foot[0], up[1] - foot[1])
    ahead = part_of(ridge, 0.0, crossings(ridge, foot, along)[0])
    tip = ahead[0]
    seat = (tip[0] - 0.25 * tip[1], shape.sole_at(shape.foot_length_mm))
    round_tip = _bend(seat, (tip[0], seat[1]), tip)
    ring = (*_sole_run(shape, foot[0], seat[0])[:-1], *round_tip[:-1], *ahead)
    stitch = _line_beside(foot, ahead[-1], inset)
    return Part(ring, "grade", "cut", (Stroke(stitch, "stitch"),))


def _sole_run(shape: FootShape, start_x: float, end_x: float) -> list[Point]:
    xs = [start_x + k / 40 * (end_x - start_x) for k in range(41)]
    return [(x, shape.sole_at(x)) for x in xs]


def _bend(start: Point, corner: Point, end: Point, steps: int = 10) -> list[Point]:
    """Return a run from start to end, bent towards a corner it does not reach."""
    return [
        ((1 - t) ** 2 * start[0] + 2 * t * (1 - t) * corner[0] + t**2 * end[0],
         (1 - t) ** 2 * start[1] + 2 * t * (1 - t) * corner[1] + t**2 * end[1])
        for t in (k / steps for k in range(steps + 1))
    ]  # fmt: skip


def _line_beside(start: Point, end: Point, inset: float) -> tuple[Point, Point]:
    """Return a line at a distance to the right of another, clear of its two ends."""
    length = hypot(end[0] - start[0], end[1] - start[1])
    dx, dz = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    return (
        (start[0] + inset * (dz + dx), start[1] + inset * (dz - dx)),
        (end[0] + inset * (dz - dx), end[1] - inset * (dz + dx)),
    )


def side_part(side: BootSide) -> Part:
    """Return the outer side standing on its feather line, with its stitches and heel seam."""
    heel = [point for edge in side.piece.edges if edge.name == "heel seam"
            for point in edge.points_mm]  # fmt: skip
    run = [(-x, z) for x, z in reversed(heel)] if side.mirrored else heel
    inset = side.values["stitch_inset_mm"]
    beside = _inside(parallel_run(resample(run, 60), -inset), side.net_mm, 0.9 * inset)
    lines = [Stroke(line, "stitch") for line in (*side.stitches_mm, beside) if len(line) > 1]
    return Part(side.net_mm, "hide", "cut", tuple(lines))


def _inside(run: Sequence[Point], ring: Ring, clear: float) -> tuple[Point, ...]:
    """Return the longest part of a run that keeps a distance inside a ring."""
    kept = LineString(run).intersection(Polygon(ring).buffer(-clear))
    parts = [part for part in getattr(kept, "geoms", [kept]) if part.geom_type == "LineString"]
    longest = max(parts, key=lambda part: float(part.length), default=LineString())
    return tuple((float(x), float(z)) for x, z in longest.coords)


def front_run(side: BootSide) -> list[Point]:
    """Return the front of the tongue where it shows between the two lace edges."""
    bulge = side.values["leather_thickness_mm"] + 0.12 * side.values["lace_gap_mm"]
    length = polyline_length_mm(side.lace_edge_mm)
    # The rounded corner at the toe line belongs to the side alone.
    corner = min(1.1 * side.values["front_corner_mm"], 0.15 * length)
    straight = part_of(side.lace_edge_mm, corner, length)
    return parallel_run(resample(straight, 120), bulge)


def tongue_part(side: BootSide) -> Part:
    """Return the tongue: under the laces all the way up, its rounded top above the topline."""
    front = front_run(side)
    top, (dx, dz) = point_along(front, polyline_length_mm(front))
    extra = side.values["tongue_extra_mm"]
    depth = min(TONGUE_DEPTH_SHARE * side.values["tongue_width_mm"], 0.5 * _topline_mm(side))
    # Free of the leg, a tongue leans a little forward.
    up = _unit(dx + 0.22 * dz, dz - 0.22 * dx)
    back = (-up[1], up[0])

    def place(upward: float, inward: float) -> Point:
        return (
            top[0] + upward * up[0] + inward * back[0],
            top[1] + upward * up[1] + inward * back[1],
        )

    crown = smooth_curve(
        [
            place(0.0, 0.0),
            place(0.62 * extra, -0.03 * extra),
            place(0.96 * extra, 0.16 * depth),
            place(0.92 * extra, 0.55 * depth),
            place(0.45 * extra, 0.9 * depth),
            place(-0.3 * extra, 1.02 * depth),
            place(-0.5 * extra - 0.6 * depth, 1.06 * depth),
        ]
    )
    behind = [*reversed(side.lace_edge_mm)]
    ring = (*front, *crown[1:], *behind)
    seam = _inside(
        parallel_run(resample(crown, 50), -side.values["stitch_inset_mm"]), tuple(ring), 0.05
    )
    lines = (Stroke(seam, "stitch"),) if len(seam) > 1 and extra > 2.5 else ()
    return Part(ring, "foot", "net", lines)


def _topline_mm(side: BootSide) -> float:
    (xa, za), (xb, zb) = side.topline_mm
    return hypot(xb - xa, zb - za)


def _unit(x: float, z: float) -> Point:
    length = hypot(x, z)
    return (x / length, z / length)


def eyelet_parts(side: BootSide) -> list[Part]:
    """Return every eyelet at its hole: the hole itself, and the flange round it."""
    radius = side.piece.holes[0].diameter_mm / 2 if side.piece.holes else 0.0
    parts = []
    for eyelet in side.eyelets_mm:
        parts.append(Part(ellipse_points(eyelet, radius, radius), "here", "hole"))
        flange = FLANGE_SHARE * radius
        parts.append(Part(ellipse_points(eyelet, flange, flange), "piece", "mark"))
    return parts


def lace_parts(side: BootSide) -> list[Part]:
    """Return the laces, foremost first: a bow at the top, and crosses from eyelet to eyelet.

    Seen from the side a lace goes from its eyelet over the front, where it crosses the other half
    way to the next pair of eyelets.
    """
    eyelets = side.eyelets_mm
    if len(eyelets) < 2:
        return []
    width = LACE_SHARE * side.piece.holes[0].diameter_mm
    front = LineString(front_run(side))
    rising, falling = [], []
    for low, high in pairwise(eyelets):
        middle = _over_the_front(front, ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2), width)
        rising.append(_ribbon(low, middle, width))
        falling.append(_ribbon(high, middle, width))
    first = _ribbon(eyelets[0], _over_the_front(front, eyelets[0], width), width)
    knot = _over_the_front(front, eyelets[-1], width)
    tie = _ribbon(eyelets[-1], knot, width)
    return [*bow_parts(side, knot, width), tie, *rising, *falling, first]


def _over_the_front(front: LineString, point: Point, width: float) -> Point:
    """Return the place on the front nearest to a point, half a lace further out."""
    found = front.interpolate(front.project(ShapelyPoint(point)))
    out = _unit(found.x - point[0], found.y - point[1])
    return (found.x + 0.2 * width * out[0], found.y + 0.2 * width * out[1])


def _ribbon(start: Point, end: Point, width: float) -> Part:
    ring = LineString([start, end]).buffer(width / 2, quad_segs=6).exterior.coords[:-1]
    return Part(tuple((float(x), float(z)) for x, z in ring), "piece", "mark")


def bow_parts(side: BootSide, knot: Point, width: float) -> list[Part]:
    """Return a little bow: its knot, two loops and two ends, hanging as laces do."""
    size = min(0.135 * side.foot_length_mm, 0.75 * polyline_length_mm(side.lace_edge_mm))

    def place(x: float, z: float) -> Point:
        return (knot[0] + size * x, knot[1] + size * z)

    near = [(0, 0), (-0.22, 0.16), (-0.62, 0.02), (-0.9, -0.38), (-0.78, -0.62), (-0.5, -0.5),
            (-0.2, -0.18)]  # fmt: skip
    far = [(0, 0), (0.2, 0.14), (0.52, 0.02), (0.72, -0.34), (0.62, -0.56), (0.4, -0.46),
           (0.16, -0.16)]  # fmt: skip
    ends = [
        [(0, 0), (-0.14, -0.3), (-0.2, -0.7), (-0.34, -1.06)],
        [(0, 0), (0.16, -0.34), (0.2, -0.7), (0.3, -0.98)],
    ]
    radius = 0.85 * width
    parts = [Part(ellipse_points(knot, radius, radius), "piece", "mark")]
    for loop in (near, far):
        parts += _loop([place(x, z) for x, z in loop], width)
    for end in ends:
        line = LineString(smooth_curve([place(x, z) for x, z in end]))
        ring = line.buffer(width / 2, quad_segs=6).exterior.coords[:-1]
        parts.append(Part(tuple((float(x), float(z)) for x, z in ring), "piece", "mark"))
    return parts


def _loop(corners: list[Point], width: float) -> list[Part]:
    """Return a loop of lace: a closed band with what is behind it showing through."""
    line = LineString(smooth_curve([*corners, corners[0]]))
    band = line.buffer(width / 2, quad_segs=6)
    outer = tuple((float(x), float(z)) for x, z in band.exterior.coords[:-1])
    inner = [tuple((float(x), float(z)) for x, z in hole.coords[:-1]) for hole in band.interiors]
    lines = tuple(Stroke(hole, "mark", closed=True) for hole in inner)
    return [Part(outer, "piece", "mark", lines)]


def outsole_part(side: BootSide) -> Part:
    """Return the outsole: as far out as it is drawn larger, as thick as it is made."""
    shape, thick, larger = side.shape, side.sole_mm, side.sole_larger_mm
    top = _sole_run(shape, -larger, side.foot_length_mm + larger)
    bottom = [(x, z - thick) for x, z in top]
    corner = min(0.35 * thick, larger)
    (x, z), (heel_x, heel_z) = bottom[-1], bottom[0]
    round_toe = _bend((x - corner, z), (x, z), (x, z + corner), 6)
    edge = 0.4 * corner
    run = [(heel_x, heel_z + edge), (heel_x + edge, heel_z), *bottom[1:-1], *round_toe]
    return Part((*run, *reversed(top)), "here", "cut")


def heel_seat(side: BootSide) -> tuple[Point, ...]:
    """Return the run under the outsole where a heel is set, from the back to its breast."""
    back, length = -side.sole_larger_mm, side.foot_length_mm + 2 * side.sole_larger_mm
    steps = [k / 20 * length * side.values["heel_breast_pct"] / 100 for k in range(21)]
    return tuple((back + x, side.shape.sole_at(back + x) - side.sole_mm) for x in steps)


def heel_part(side: BootSide, seat_mm: Sequence[Point], ground_mm: float) -> Part:
    """Return the heel from its seat to the ground, a little narrower below, lift over lift."""
    back, front = seat_mm[0], seat_mm[-1]
    taper = min(0.12 * side.heel_mm, 0.15 * (front[0] - back[0]))
    foot = ((back[0] + taper, ground_mm), (front[0] - taper, ground_mm))
    ring = (*reversed(seat_mm), *foot)
    levels = [ground_mm + k / side.heel_lifts * side.heel_mm for k in range(1, side.heel_lifts)]
    across = [_inside(((back[0], z), (front[0], z)), ring, 0.0) for z in levels]
    return Part(ring, "grade", "cut", tuple(Stroke(line, "net") for line in across if line))
