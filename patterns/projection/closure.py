"""What the flat pieces come to round the foot: girths, measures found again, lasting, seams."""

import itertools
from collections.abc import Sequence
from math import hypot, pi

from patterns.foot import HEEL_INSTEP_SPAN, MEASURE_KEYS, Foot
from patterns.foot_shape import FootShape
from patterns.geometry.curves import extent_across, polyline_length_mm
from patterns.geometry.ellipse import ellipse_perimeter_mm, half_upper_arc_mm
from patterns.mesh_in import measure_mesh
from patterns.pieces.piece import (
    BuiltMeasure,
    EdgeName,
    GirthClosure,
    Lasting,
    Message,
    Piece,
    Seam,
)
from patterns.pieces.side_view import (
    Numbers,
    SideView,
    build_up_mm,
    closed_girth_mm,
    standing_girth_mm,
)
from patterns.pieces.upper import InsoleHalves
from patterns.projection.drawn import ANKLE_DEPTH, BALL_STATION, CALF_DEPTH
from patterns.projection.shadow_measures import ball_points, ball_width_mm, heel_breadth_mm

SHORT_TOLERANCE_MM = 0.5
ANKLE_LEVEL_SHARE = 0.01  # a tape cannot tell girths closer than this apart

# Breadth and height of the sample foot's shadows over those of the ellipse that has its girth:
# a foot's section is no ellipse, so one fixed factor for each place makes up for it. Measured on
# tests/data/feet/sample_foot.obj.
INSTEP_FULLNESS = 1.0548
BALL_FULLNESS = 0.9728
SLANT_FULLNESS = 0.9988


def girth_closures(
    foot: Foot, shape: FootShape, view: SideView, toe_box: Piece, toe_line_x: float, values: Numbers
) -> list[GirthClosure]:
    """Return, for each girth the boot covers, the built-up foot's and the flat pieces' length.

    `last_mm` is the girth round foot, sock, lining and half the leather; `pattern_mm` is what
    lies along the same path on insole, sides and toe box, with the lace gap added.
    """
    measures, layer = shape.measures.values_mm, build_up_mm(values)
    gap = values["lace_gap_mm"]
    closures = [
        GirthClosure(
            "ball",
            standing_girth_mm(measures["ball_girth"], layer),
            _ball_path_mm(foot, shape, view, toe_box, toe_line_x, values),
        )
    ]
    half_way = 0.5 * shape.foot_length_mm
    wall = _front_height(view, half_way) - shape.sole_at(half_way)
    instep = 2 * wall + gap + shape.breadth_at(half_way)
    closures.append(
        GirthClosure("instep", standing_girth_mm(measures["instep_girth"], layer), instep)
    )
    corner = (view.back_mm[-1][0], shape.raise_mm)
    slant = 2 * hypot(half_way - corner[0], _front_height(view, half_way) - corner[1]) + gap
    closures.append(
        GirthClosure("heel_instep", closed_girth_mm(measures["heel_instep_girth"], layer), slant)
    )
    lower_top = min(z for _, z in view.topline_mm)
    for station in ("ankle", "calf"):
        height = measures[f"{station}_height"]
        if height <= lower_top:
            depth = 2 * _depth(view, height) + gap
            girth = closed_girth_mm(measures[f"{station}_girth"], layer)
            closures.append(GirthClosure(station, girth, depth))
    return closures


def _front_height(view: SideView, x_mm: float) -> float:
    for (xa, za), (xb, zb) in zip(view.front_mm, view.front_mm[1:], strict=False):
        if min(xa, xb) <= x_mm <= max(xa, xb) and xa != xb:
            return za + (x_mm - xa) / (xb - xa) * (zb - za)
    return view.front_mm[0][1]


def _depth(view: SideView, z_mm: float) -> float:
    def across(run: Sequence[tuple[float, float]]) -> float:
        for (xa, za), (xb, zb) in itertools.pairwise(run):
            if min(za, zb) <= z_mm <= max(za, zb) and za != zb:
                return xa + (z_mm - za) / (zb - za) * (xb - xa)
        return run[0][0]

    return across(view.front_mm) - across(view.back_mm)


def _ball_path_mm(
    foot: Foot, shape: FootShape, view: SideView, toe_box: Piece, toe_line_x: float, values: Numbers
) -> float:
    """Return the flat way round the ball: over the toe box, or partly over the sides."""
    inner, outer = ball_points(shape.outline_mm, shape.foot_length_mm, shape.lateral_sign)
    x, breadth = (inner[0] + outer[0]) / 2, hypot(outer[0] - inner[0], outer[1] - inner[1])
    (xb, zb), (xt, zt) = view.toe_line_mm
    if x >= xt:
        extent = extent_across(toe_box.net_mm, x - toe_line_x) or (0.0, 0.0)
        return extent[1] - extent[0] + breadth
    if x <= xb:
        return 2 * (_front_height(view, x) - zb) + values["lace_gap_mm"] + breadth
    height = shape.ridge_at(x) + build_up_mm(values) - zb
    crossing = (x - xb) / (xt - xb) * (zt - zb)  # above it lies the side, below it the toe box
    arc = half_upper_arc_mm(breadth + 2 * build_up_mm(values), height, breadth)
    low_share = min(crossing / height, 1.0)
    return 2 * (height * (1 - low_share) + arc * low_share) + values["lace_gap_mm"] + breadth


def built_measures(foot: Foot, shape: FootShape) -> list[BuiltMeasure]:
    """Return every measure as asked for and as read off the drawings again.

    On a foot with a mesh the mesh is what is built; a girth of a drawn foot is that of an ellipse
    with the drawing's breadth and height, corrected by the sample foot's fullness there.
    """
    completed = shape.measures
    built = dict(_drawn_measures(shape))
    if foot.mesh is not None:
        built |= measure_mesh(
            foot.mesh,
            foot.foot_length_mm,
            calf_height_mm=foot.measures_mm.get("calf_height"),
        )
    asked = {**completed.values_mm, **foot.measures_mm}
    return [
        BuiltMeasure(key, asked[key], round(built[key], 6), key in completed.inferred)
        for key in MEASURE_KEYS
    ]


def _drawn_measures(shape: FootShape) -> dict[str, float]:
    length, outline = shape.foot_length_mm, shape.outline_mm
    measures = shape.measures.values_mm
    xs = [x for x, _ in outline]
    half_way = 0.5 * length
    instep_top = shape.ridge_at(half_way)
    ball = ball_width_mm(outline, length, shape.lateral_sign)
    ball_x = BALL_STATION * length
    ball_height = (shape.ridge_at(ball_x) - shape.sole_at(ball_x)) / BALL_FULLNESS
    rear = shape.breadth_at(0.3 * length)
    slant = hypot(HEEL_INSTEP_SPAN * length, instep_top - shape.raise_mm)
    calf_height = min(measures["calf_height"], shape.top_mm)
    toes = [z for x, z in shape.front_mm if x >= 0.9 * length]
    return {
        "foot_length": max(xs) - min(xs),
        "ball_width": ball,
        "ball_girth": ellipse_perimeter_mm(ball, ball_height),
        "heel_width": heel_breadth_mm(outline, length),
        "instep_girth": ellipse_perimeter_mm(
            shape.breadth_at(half_way) / INSTEP_FULLNESS, instep_top - shape.sole_at(half_way)
        ),
        "instep_height": instep_top,
        "heel_instep_girth": ellipse_perimeter_mm(rear / SLANT_FULLNESS, slant),
        "ankle_girth": shape.depth_at(measures["ankle_height"]) * pi / ANKLE_DEPTH,
        "ankle_height": _ankle_height(shape),
        "toe_height": max([*toes, shape.ridge_at(0.9 * length)]),
        "calf_girth": shape.depth_at(calf_height) * pi / CALF_DEPTH,
        "calf_height": calf_height,
        "heel_raise": shape.back_mm[-1][1],
    }


def _ankle_height(shape: FootShape) -> float:
    """Return where the drawn leg is thinnest; the asked height where it is as good as thinnest."""
    asked = shape.measures.values_mm["ankle_height"]
    heights = [h for k in range(41) if (h := asked * (0.85 + 0.01 * k)) < shape.top_mm]
    thinnest = min(heights, key=shape.depth_at)
    level = shape.depth_at(asked) <= (1 + ANKLE_LEVEL_SHARE) * shape.depth_at(thinnest)
    return asked if level else thinnest


def lasting_report(
    pieces: Sequence[Piece], halves: InsoleHalves, toe_arc_mm: float, values: Numbers
) -> list[Lasting]:
    """Return, for each piece that is lasted, its margin and what it has to take up.

    `gather_mm` is how much longer the piece's feather line is than the edge of the insole it goes
    to; where it is less than nothing, the leather has to be stretched by as much.
    """
    targets = {
        "toe box": toe_arc_mm,
        "outer side": polyline_length_mm(halves.edge_mm[0]),
        "inner side": polyline_length_mm(halves.edge_mm[1]),
    }
    report = []
    for piece in pieces:
        edge = next((edge for edge in piece.edges if edge.kind == "lasting"), None)
        if edge is None:
            continue
        target = targets[piece.name.removesuffix(" lining")]
        report.append(
            Lasting(
                piece=piece.name,
                margin_mm=edge.allowance_mm,
                cover_min_mm=max(0.0, edge.allowance_mm - values["insole_thickness_mm"]),
                gather_mm=polyline_length_mm(edge.points_mm) - target,
                notches=sum(notch.edge == edge.name for notch in piece.notches),
            )
        )
    return report


def measured_seams(pieces: Sequence[Piece]) -> list[Seam]:
    """Return every pair of edges that are sewn together, with their lengths measured.

    Both edges are drawn flat, so the drift, how far marks at equal shares of the two edges come
    apart, is greatest at their ends and equals the difference of the lengths.
    """
    edges = {(piece.name, edge.name): edge for piece in pieces for edge in piece.edges}
    seams: list[Seam] = []
    done: set[frozenset[tuple[str, str]]] = set()
    for (piece, name), edge in edges.items():
        if edge.partner is None:
            continue
        other = (edge.partner.piece, edge.partner.edge)
        pair = frozenset({(piece, name), other})
        if pair in done or other not in edges:
            continue
        done.add(pair)
        length_a = polyline_length_mm(edge.points_mm)
        length_b = polyline_length_mm(edges[other].points_mm)
        seams.append(
            Seam(EdgeName(piece, name), EdgeName(*other), length_a, length_b,
                 abs(length_a - length_b))
        )  # fmt: skip
    return seams


def closure_messages(closures: Sequence[GirthClosure], values: Numbers) -> list[Message]:
    """Return one warning that tells every girth the flat pieces do not close."""
    short = {
        closure.station: round(closure.last_mm - closure.pattern_mm, 1)
        for closure in closures
        if closure.last_mm - closure.pattern_mm > SHORT_TOLERANCE_MM
    }
    if not short:
        return []
    places = "; ".join(
        f"{station.replace('_', '-')} {lack:.1f} mm ({lack / 2:.1f} mm a side)"
        for station, lack in reversed(short.items())
    )
    text = (
        f"Laced to a gap of {values['lace_gap_mm']:g} mm the sides fall short of the girth:"
        f" {places}. The hand method draws them as seen from the side, without the way round the"
        " leg. Make a mock-up and try it on before cutting leather."
    )
    return [Message("warning", "girth-short", text, "", {f"{k}_mm": v for k, v in short.items()})]
