"""What lies under the foot: insole, filler, sock lining, outsole, heel, wedge or platform."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, degrees

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely import LineString, Polygon, box, union_all
from shapely.geometry.polygon import orient

from patterns.drafting.assemble import arrow_on
from patterns.drafting.calm import calm_ring
from patterns.errors import StyleError
from patterns.geometry.curves import Point, polyline_length_mm, thinned
from patterns.geometry.outline import polygon_of
from patterns.geometry.runs import contour_runs
from patterns.last.last import FloatArray, Last
from patterns.pieces.allowances import cut_ring, fold_lines, net_ring
from patterns.pieces.bottom import bottom_piece, heel, outsole
from patterns.pieces.piece import Edge, Line, Message, Piece, Ring

HEEL_SLACK_MM = 1.0  # what a filler under the sole takes up; common practice, no source
WEDGE_END_SHARE = 0.66  # of the foot's length: a wedge runs out at the ball
FILLER_GAP_SHARE = 0.004  # of the foot's length, between filler and margins: no ridge shows
FILLER_LEAST_SHARE = 0.03  # of foot length: a narrower filler is not worth cutting
SOLE_STEPS = 400
Numbers = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Margin:
    """Leather turned under: the run it turns at, as it lies on the insole's edge, and how far."""

    run_mm: FloatArray
    width_mm: float


def sole_ways(last: Last) -> tuple[FloatArray, FloatArray]:
    """Return stations under a foot, and how far along the sole's slope each lies from x = 0."""
    reach = 0.2 * last.foot_length_mm
    stations = np.linspace(-reach, last.foot_length_mm + reach, SOLE_STEPS)
    steps = np.hypot(np.diff(stations), np.diff(last.sole_height_mm(stations)))
    along = np.concatenate([[0.0], np.cumsum(steps)])
    return stations, along - np.interp(0.0, stations, along)


class Sole:
    """The insole's outline, and where places of the last come to lie on the sole laid flat.

    Parameters
    ----------
    last : Last
        The foot with its film and sock, without linings and leather.
    feather_mm : float
        Height of the feather line over the sole.

    Raises
    ------
    StyleError
        The feather line does not go round the foot once.
    """

    def __init__(self, last: Last, feather_mm: float) -> None:
        self._stations, self._along = sole_ways(last)
        self.ring = self._insole_ring(last, feather_mm)

    def laid_flat(self, points_mm: FloatArray) -> FloatArray:
        """Return places in space as (way along the sole's slope, y), shape (n, 2)."""
        return np.column_stack(
            [np.interp(points_mm[:, 0], self._stations, self._along), points_mm[:, 1]]
        )

    def _insole_ring(self, last: Last, feather_mm: float) -> Ring:
        points = last.points_mm
        height = points[:, 2] - last.sole_height_mm(points[:, 0]) - feather_mm
        runs = contour_runs(points, last.triangles, height, 0.0)
        rings = [run.places_mm(points) for run in runs]
        closed = [ring for ring in rings if np.allclose(ring[0], ring[-1])]
        if not closed:
            text = "The feather line does not go round this foot; set its height lower."
            raise StyleError(text, field="parameters.feather_mm", code="feather-open")
        flat = self.laid_flat(max(closed, key=len))
        outline = orient(Polygon(thinned([(float(x), float(y)) for x, y in flat])))
        if not outline.is_valid:
            text = "The feather line crosses itself on this foot; check the measures."
            raise StyleError(text, field="parameters.feather_mm", code="feather-crosses")
        from_mesh = last.source_kind == "mesh"
        return calm_ring(outline, last.foot_length_mm, from_mesh=from_mesh)


def least_breadth_mm(ring: Ring, places: Sequence[Point]) -> float:
    """Return the least breadth of the insole at places on its edge, measured straight inward."""
    outline = polygon_of(ring)
    border = [*ring, ring[0]]
    ahead = np.array([np.subtract(b, a) for a, b in pairwise(border)])
    lengths = np.maximum(np.hypot(ahead[:, 0], ahead[:, 1]), 1e-12)[:, None]
    middles = np.array([np.add(a, b) / 2 for a, b in pairwise(border)])
    nearest = cKDTree(middles).query(np.asarray(places))[1]
    reach = 2 * (outline.bounds[2] - outline.bounds[0])
    looked = np.unique(nearest)
    along = ahead[looked] / lengths[looked]
    inward = np.column_stack([-along[:, 1], along[:, 0]])
    starts = middles[looked] + 1e-3 * inward
    rays = shapely.linestrings(np.stack([starts, starts + reach * inward], axis=1))
    parts, ray_of_part = shapely.get_parts(shapely.intersection(outline, rays), return_index=True)
    begun = shapely.distance(parts, shapely.points(starts)[ray_of_part]) < 1e-6
    return float(shapely.length(parts[begun]).min(initial=np.inf))


def bottom_pieces(
    ring: Ring,
    margins: Sequence[Margin],
    values: Numbers,
    *,
    foot_raise_mm: float,
    foot_length_mm: float,
) -> tuple[list[Piece], list[Message]]:
    """Return every piece under the foot, and what there is to say about the heel.

    Parameters
    ----------
    ring : ring of (x, y)
        The insole's outline.
    margins : sequence of Margin
        What is turned under the insole all round.
    values : mapping
        The style's numbers.
    foot_raise_mm, foot_length_mm : float
        How high the foot is cast at the heel, and its length.
    """
    card = bottom_piece("insole", "card", ring)
    pieces = [card]
    if values["filler"]:
        filler = _filler(ring, margins, foot_length_mm)
        if filler is not None:
            piece = bottom_piece("filler", "card", filler)
            pieces.append(replace(piece, lines=(arrow_on(filler, 0.0),)))
    if values["sock_lining"]:
        sock = _inset(ring, values["lining_trim_mm"])
        if sock is not None:
            pieces.append(bottom_piece("sock lining", "lining", sock))
    sole, messages = outsole(ring, values)
    pieces.append(replace(sole, thickness_mm=values["sole_thickness_mm"]))
    extra = values["heel_height_mm"] - foot_raise_mm
    if abs(extra) <= HEEL_SLACK_MM:
        pieces += _heel(sole.net_mm, values, values["heel_height_mm"], foot_length_mm)
        return pieces, messages
    messages.append(_heel_message(extra, values, foot_raise_mm, foot_length_mm))
    if extra > 0 and values["wedge_inside"]:
        # A cast foot turns about the tip of its toe: the wedge runs under all of it.
        wedge = bottom_piece("inside wedge", "card", ring)
        pieces.append(replace(wedge, thickness_mm=extra / 2))
        pieces += _heel(sole.net_mm, values, values["heel_height_mm"], foot_length_mm)
        return pieces, messages
    if extra > 0:
        platform = bottom_piece("platform", "sole", sole.net_mm)
        pieces.append(replace(platform, thickness_mm=extra))
    pieces += _heel(sole.net_mm, values, foot_raise_mm, foot_length_mm)
    return pieces, messages


def _filler(ring: Ring, margins: Sequence[Margin], foot_length_mm: float) -> Ring | None:
    """Return what the turned margins leave free of the insole, None if it is next to nothing."""
    bands = [
        LineString(margin.run_mm).buffer(
            margin.width_mm + FILLER_GAP_SHARE * foot_length_mm, quad_segs=24
        )
        for margin in margins
    ]
    half = FILLER_LEAST_SHARE * foot_length_mm / 2
    free = polygon_of(ring).difference(union_all(bands)).buffer(-half).buffer(half, quad_segs=24)
    return None if free.is_empty else _ring(free)


def _heel(
    outsole_mm: Ring, values: Numbers, height_mm: float, foot_length_mm: float
) -> list[Piece]:
    if not values["wedge"]:
        parts = heel(outsole_mm, {**values, "heel_height_mm": height_mm})
        thickness_mm = height_mm if not values["leather_sole"] else values["sole_thickness_mm"]
        return [replace(part, thickness_mm=thickness_mm) for part in parts]
    if height_mm <= HEEL_SLACK_MM:
        return []
    end = WEDGE_END_SHARE * foot_length_mm
    back = Polygon(outsole_mm).intersection(box(-1e4, -1e4, end, 1e4))
    ring = _ring(back)
    wedge = replace(bottom_piece("wedge", "sole", ring), thickness_mm=height_mm / 2)
    return [wedge, _wedge_cover(ring, end, height_mm, values)]


def _wedge_cover(ring: Ring, end_x: float, height_mm: float, values: Numbers) -> Piece:
    """Return the leather round a wedge: as high at each place as the wedge is there."""
    points = [*ring, ring[0]]
    ahead = [k for k, (x, _) in enumerate(points) if x >= end_x - 1e-6]
    start = ahead[-1] if ahead else 0
    run = [points[(start + k) % (len(points) - 1)] for k in range(len(points) - 1)]
    run = [point for point in run if point[0] < end_x - 1e-6]
    back = min(x for x, _ in run)
    way, places = 0.0, []
    for k, (x, y) in enumerate(run):
        way += polyline_length_mm((run[k - 1], (x, y))) if k else 0.0
        places.append((way, height_mm * (end_x - x) / (end_x - back)))
    top = [(s, max(h, 0.2)) for s, h in places]
    base = ((0.0, 0.0), (way, 0.0))
    turned = values["turned_under_mm"]
    edges = [
        Edge("bottom", "lasting", turned, base),
        Edge("inner end", "raw", 0.0, ((way, 0.0), top[-1])),
        Edge("top", "raw", 0.0, tuple(thinned(list(reversed(top))))),
        Edge("outer end", "raw", 0.0, (top[0], (0.0, 0.0))),
    ]
    arrow = Line("tight way", ((0.3 * way, 0.4 * height_mm), (0.7 * way, 0.4 * height_mm)))
    return Piece(
        name="wedge cover",
        quantity=2,
        mirrored_quantity=1,
        material="upper",
        net_mm=net_ring(edges),
        cut_mm=cut_ring(edges),
        edges=tuple(edges),
        lines=(*fold_lines(edges), arrow),
    )


def tilt_deg(extra_mm: float, foot_length_mm: float) -> float:
    """Return by how much a wedge inside tilts a foot: it turns about the tip of its toe."""
    return degrees(atan2(extra_mm, foot_length_mm))


def _heel_message(
    extra_mm: float, values: Numbers, foot_raise_mm: float, foot_length_mm: float
) -> Message:
    height = values["heel_height_mm"]
    angle = tilt_deg(extra_mm, foot_length_mm)
    start = (
        f"The heel is {height:.1f} mm high and the foot is cast {foot_raise_mm:.1f} mm up at the"
        " heel. A cast foot does not bend:"
    )
    if extra_mm < 0:
        text = f"{start} it would stand on its toes. Take a heel of {foot_raise_mm:.1f} mm."
    elif values["wedge_inside"]:
        text = (
            f"{start} the whole foot is tilted forward by {angle:.1f} degrees on a wedge inside."
            " Look whether the doll still stands."
        )
    else:
        text = (
            f"{start} an even platform of {extra_mm:.1f} mm is taken under the whole sole. A wedge"
            f" inside would tilt the foot by {angle:.1f} degrees instead; or take a heel of"
            f" {foot_raise_mm:.1f} mm."
        )
    parameters = {"heel_mm": height, "raise_mm": foot_raise_mm, "angle_deg": round(angle, 2)}
    return Message("warning", "heel-not-the-foots", text, "outsole", parameters)


def _inset(ring: Ring, by_mm: float) -> Ring | None:
    inner = polygon_of(ring).buffer(-by_mm, quad_segs=24)
    if inner.is_empty:
        return None
    return _ring(inner)


def _ring(shape: object) -> Ring:
    parts = getattr(shape, "geoms", [shape])
    whole = max(parts, key=lambda part: float(part.area))
    simple = orient(Polygon(whole.exterior)).exterior.simplify(0.002)
    return tuple((float(x), float(y)) for x, y in simple.coords[:-1])
