"""A part laid flat made into a piece: edges with allowances, notches, stitch and fold lines."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from math import ceil, cos, radians, sin

import numpy as np
import shapely
from shapely.affinity import rotate

from patterns.drafting.edges import NamedRun
from patterns.drafting.lay_flat import FlatPart
from patterns.geometry.curves import Point, thinned, without_doubles
from patterns.geometry.outline import polygon_of
from patterns.geometry.runs import way_along_mm
from patterns.geometry.strain import principal_stretch
from patterns.pieces.allowances import (
    cut_ring,
    fold_lines,
    net_ring,
    notch_at,
    notches_by_bend,
    stitch_line,
    turned_kind,
)
from patterns.pieces.piece import Edge, EdgeKind, Line, Notch, Piece, PieceMesh, Ring

STEP_SHARE = 0.005  # of the foot's length: how closely an outline's points stand
CORNER_MM = 0.002  # an edge's own bends that even points would miss by more are kept as well
ALLOWANCE_SHARE = 0.25  # of an edge's length: more would be all corner
# Common practice, no source: long seams carry a notch about every 45 mm of a 75 mm foot.
SEAM_PER_NOTCH = 0.6  # of the foot's length
SEAM_NOTCH_SHARE = 0.5  # of the seam allowance


def net_edges(
    flat: FlatPart,
    runs: Sequence[NamedRun],
    landmarks: Mapping[str, float],
    margin_mm: Callable[[NamedRun, float], float],
) -> list[Edge]:
    """Return the edges of a part on the flat, counter-clockwise, with their allowances.

    `margin_mm` gives the lasting margin of a run when the style asks for so much.
    """
    edges = []
    lengths = _lengths_of_rules(flat, runs)
    for named, length in zip(runs, lengths, strict=True):
        points = [(float(x), float(y)) for x, y in flat.run_mm(named.run)]
        allowance = max(0.0, named.rule.allowance_mm.value(landmarks))
        kind: EdgeKind = named.rule.kind
        if kind == "lasting":
            allowance = margin_mm(named, allowance)
        if kind == "hem":
            kind = turned_kind(allowance)
        if kind in ("seam", "lap"):
            allowance = min(allowance, ALLOWANCE_SHARE * length)
        run = _evenly(points, STEP_SHARE * landmarks["foot_length"])
        edges.append(Edge(named.name, kind, allowance, run, named.partner))
    return edges


def _lengths_of_rules(flat: FlatPart, runs: Sequence[NamedRun]) -> list[float]:
    """Return for each run its length together with its neighbours of the same rule."""
    own = [float(way_along_mm(flat.run_mm(named.run))[-1]) for named in runs]
    count = len(runs)
    found = []
    for k, named in enumerate(runs):
        chain = {k}
        for step in (1, -1):
            j = (k + step) % count
            while j not in chain and runs[j].rule is named.rule:
                chain.add(j)
                j = (j + step) % count
        found.append(sum(own[j] for j in chain))
    return found


def _evenly(points: Sequence[Point], step_mm: float) -> tuple[Point, ...]:
    """Return a run with points standing evenly, its bends kept between them."""
    kept = thinned(without_doubles(points), CORNER_MM)
    way = way_along_mm(np.asarray(kept))
    even = np.linspace(0.0, way[-1], max(ceil(way[-1] / step_mm), 1) + 1)
    places = np.unique(np.concatenate([even, way]))
    far = np.concatenate([[True], np.diff(places) > CORNER_MM])
    places = places[far]
    places[-1] = way[-1]
    xs, ys = (np.interp(places, way, np.asarray(kept)[:, k]) for k in (0, 1))
    return tuple(zip(xs.tolist(), ys.tolist(), strict=True))


def piece_from(
    flat: FlatPart,
    runs: Sequence[NamedRun],
    edges: Sequence[Edge],
    *,
    stitch_inset_mm: float,
    foot_length_mm: float,
) -> Piece:
    """Return the piece of a part: its outlines, lines and notches, its mesh and its stretch.

    Parameters
    ----------
    flat : FlatPart
        The part laid flat.
    runs, edges : sequences of NamedRun and Edge
        Its border as named, and the same edges on the flat.
    stitch_inset_mm : float
        From a finished edge to its stitch line.
    foot_length_mm : float
        Sets how long a seam must be to carry notches.
    """
    region = flat.part.region
    net = net_ring(edges)
    lines = [*fold_lines(edges)]
    for named, edge in zip(runs, edges, strict=True):
        if named.rule.stitched:
            lines += stitch_line(edges, edge.name, stitch_inset_mm)
        if edge.kind == "lap":
            lines.append(Line("mark", edge.points_mm))  # what lies over it ends here; skive beyond
    tight_way_deg = _tight_way_deg(flat)
    lines.append(arrow_on(net, tight_way_deg))
    surface = flat.part.surface
    mesh = PieceMesh(
        surface.points_mm,
        flat.flat_mm,
        surface.triangles,
        tuple((named.name, named.run.point_ids) for named in runs),
    )
    return Piece(
        name=region.name,
        quantity=2,
        mirrored_quantity=1,
        material=region.material,
        net_mm=net,
        cut_mm=cut_ring(edges),
        edges=tuple(edges),
        notches=tuple(_notches(flat, runs, edges, foot_length_mm)),
        lines=tuple(lines),
        tight_way_deg=tight_way_deg,
        face_up="flesh" if region.layer == "lining" else "grain",
        checks=flat.checks,
        mesh=mesh,
    )


def _notches(
    flat: FlatPart, runs: Sequence[NamedRun], edges: Sequence[Edge], foot_length_mm: float
) -> list[Notch]:
    notches = []
    for named, edge in zip(runs, edges, strict=True):
        if edge.kind == "hem":
            notches += notches_by_bend(edge)
        elif edge.kind == "seam" and edge.partner is not None:
            notches += _seam_notches(flat, named, edge, foot_length_mm)
    return notches


def _seam_notches(
    flat: FlatPart, named: NamedRun, edge: Edge, foot_length_mm: float
) -> list[Notch]:
    """Return notches that meet those of the partner: at equal shares of the way on the last."""
    points = flat.part.surface.points_mm[list(named.run.point_ids)]
    on_last = way_along_mm(points)
    on_flat = way_along_mm(flat.run_mm(named.run))
    count = int(on_last[-1] / (SEAM_PER_NOTCH * foot_length_mm))
    notches = []
    for k in range(1, count + 1):
        place = float(np.interp(k / (count + 1) * on_last[-1], on_last, on_flat))
        notch = notch_at(edge, place / float(on_flat[-1]))
        notches.append(replace(notch, depth_mm=SEAM_NOTCH_SHARE * edge.allowance_mm))
    return notches


LEVEL_STRETCH_PCT = 0.3  # stretch both ways as like as this leaves the choice to the style


def _tight_way_deg(flat: FlatPart) -> float:
    """Return the way in which the piece has to give least; where it is all one, the style's."""
    surface = flat.part.surface
    along, up = _mean_give_pct(surface.points_mm, surface.triangles, flat.flat_mm)
    if abs(along - up) <= LEVEL_STRETCH_PCT:
        return 0.0 if flat.part.region.tight_way == "along" else 90.0
    return 0.0 if along < up else 90.0


def _mean_give_pct(
    points: np.ndarray, triangles: np.ndarray, flat: np.ndarray
) -> tuple[float, float]:
    """Return how much a piece gives on the mean along x and along y of the flat, in percent."""
    one = np.stack([flat[triangles[:, k]] - flat[triangles[:, 0]] for k in (1, 2)], axis=2)
    space = np.stack([points[triangles[:, k]] - points[triangles[:, 0]] for k in (1, 2)], axis=2)
    stretched = space @ np.linalg.inv(one)
    area = principal_stretch(points, triangles, flat)[2]
    give = np.abs(np.linalg.norm(stretched, axis=1) - 1.0)
    mean = 100.0 * (area[:, None] * give).sum(axis=0) / area.sum()
    return float(mean[0]), float(mean[1])


def arrow_on(net_mm: Ring, deg: float) -> Line:
    """Return the tight-way arrow on a piece: along its longest chord of that direction."""
    outline = rotate(polygon_of(net_mm), -deg, origin=(0.0, 0.0))
    left, low, right, high = outline.bounds
    best: tuple[Point, Point] = ((0.0, low), (0.0, low))
    heights = low + np.arange(8, 33) / 40 * (high - low)
    beyond = np.tile([left - 1, right + 1], (len(heights), 1))
    across = shapely.linestrings(beyond, np.stack([heights, heights], axis=1))
    for y, level in zip(heights.tolist(), shapely.intersection(outline, across), strict=True):
        for part in shapely.get_parts(level):
            if part.length > best[1][0] - best[0][0] + 0.02 * (high - low):
                best = ((part.bounds[0], y), (part.bounds[2], y))
    (start, y), (end, _) = best
    margin = 0.2 * (end - start)
    ends = ((start + margin, y), (end - margin, y))
    c, s = cos(radians(deg)), sin(radians(deg))
    return Line("tight way", tuple((c * x - s * v, s * x + c * v) for x, v in ends))
