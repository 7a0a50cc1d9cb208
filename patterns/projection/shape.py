"""From a foot to the two drawings: as traced, as its mesh shadows them, or from measures."""

from collections.abc import Sequence
from itertools import pairwise

from shapely import LinearRing

from patterns.errors import FootError
from patterns.foot import Foot
from patterns.foot_shape import FootShape, sole_height_mm
from patterns.geometry.curves import Point, resample, rounded, without_doubles
from patterns.measures import CompleteMeasures, complete_measures
from patterns.mesh_in import check_mesh_place, mesh_leg_top_mm, mesh_side_shadow, mesh_sole_outline
from patterns.projection.drawn import draw_back, draw_front, draw_sole_outline

OUTLINE_POINTS = 240
FACET_ROUNDING = (4, 3)  # points either way, and how often: the facets of a mesh are no edges
HEEL_CORNER = 0.03  # of foot length over the seat: below it a profile rounds under the heel


def shape_of_foot(foot: Foot) -> FootShape:
    """Return the outline and the profile of a foot, with all its measures.

    A mesh is the shape where there is one; else a tracing is used as drawn, and what neither
    gives is drawn from the measures.

    Raises
    ------
    FootError
        A mesh in the wrong place or scale, or a profile that does not reach up the leg.
    """
    if foot.mesh is not None:
        check_mesh_place(foot.mesh, foot.foot_length_mm)
    measures = complete_measures(foot)
    lateral_sign = 1 if foot.foot_side == "left" else -1
    front, back = _profile(foot, measures)
    return FootShape(
        tuple(_outline(foot, measures, lateral_sign)),
        tuple(front),
        tuple(back),
        measures,
        lateral_sign,
    )


def _outline(foot: Foot, measures: CompleteMeasures, lateral_sign: int) -> list[Point]:
    if foot.mesh is not None:
        ring = mesh_sole_outline(foot.mesh, foot.foot_length_mm, measures.values_mm["heel_raise"])
        return _without_facets(resample([*ring, ring[0]], OUTLINE_POINTS + 1)[:-1])
    if foot.sole_outline_mm is not None:
        ring = list(foot.sole_outline_mm)
        if ring[0] == ring[-1]:
            ring = ring[:-1]
        return ring if LinearRing(ring).is_ccw else ring[::-1]
    return draw_sole_outline(measures.values_mm, lateral_sign)


def _without_facets(ring_mm: list[Point]) -> list[Point]:
    """Return a mesh's outline with its facets rounded off and its length kept."""
    wrap = 3 * FACET_ROUNDING[0] * FACET_ROUNDING[1]
    long = [*ring_mm[-wrap:], *ring_mm, *ring_mm[:wrap]]
    smooth = rounded(long, *FACET_ROUNDING)[wrap:-wrap]
    low, high = min(x for x, _ in smooth), max(x for x, _ in smooth)
    low_asked, high_asked = min(x for x, _ in ring_mm), max(x for x, _ in ring_mm)
    scale = (high_asked - low_asked) / (high - low)
    return [(low_asked + scale * (x - low), y) for x, y in smooth]


def _profile(foot: Foot, measures: CompleteMeasures) -> tuple[list[Point], list[Point]]:
    values = measures.values_mm
    length, raise_mm = values["foot_length"], values["heel_raise"]
    if foot.mesh is not None:
        ring = mesh_side_shadow(foot.mesh)
        run = _from_toe(ring, length, raise_mm)
        front, back = split_profile(run, length, raise_mm, mesh_leg_top_mm(foot.mesh))
        return rounded(front, *FACET_ROUNDING), rounded(back, *FACET_ROUNDING)
    if foot.side_profile_mm is not None:
        run = without_doubles(foot.side_profile_mm)
        return split_profile(run, length, raise_mm, max(z for _, z in run))
    levels = [level.height_mm for level in foot.level_girths]
    top = max(values["calf_height"], 1.5 * values["ankle_height"], *levels)
    return (
        draw_front(values, foot.level_girths, top),
        draw_back(values, foot.level_girths, top),
    )


def _from_toe(ring_mm: Sequence[Point], length: float, raise_mm: float) -> list[Point]:
    """Return a counter-clockwise silhouette as a run that begins at the tip of the toe."""
    low = [k for k, (_, z) in enumerate(ring_mm) if z < 0.3 * length + raise_mm]
    start = max(low, key=lambda k: ring_mm[k][0])
    return [*ring_mm[start:], *ring_mm[:start]]


def split_profile(
    run_mm: Sequence[Point], length: float, raise_mm: float, top_mm: float
) -> tuple[list[Point], list[Point]]:
    """Return the front (toe to top) and the back (top to heel seat) of a whole profile.

    The run begins at the toe; what follows the heel is left out. The back is carried straight
    down to the seat from where the heel begins to round under the foot.
    """
    level = _whole_level(run_mm, top_mm)
    front: list[Point] = []
    for a, b in pairwise(run_mm):
        front.append(a)
        if b[1] >= level > a[1]:
            front.append(_at_level(a, b, level))
            break
    else:
        text = "The side profile does not reach up the leg and down again; trace it whole."
        raise FootError(text, field="side_profile", code="tracing-low")
    corner = sole_height_mm(0.0, length, raise_mm) + HEEL_CORNER * length
    back: list[Point] = []
    for a, b in pairwise(run_mm[len(front) - 1 :]):
        if not back and a[1] >= level > b[1]:
            back.append(_at_level(a, b, level))
        if back:
            if b[1] <= corner:
                back.append(_at_level(a, b, corner))
                break
            back.append(b)
    if len(back) < 2:
        text = "The side profile does not come down the back to the heel; trace it whole."
        raise FootError(text, field="side_profile", code="tracing-direction")
    seat = (back[-1][0], raise_mm)
    return resample(front, 260), resample([*back, seat], 200)


def _whole_level(run_mm: Sequence[Point], top_mm: float) -> float:
    """Return the height up to which the leg has both its front and its back.

    A leg may be cut off slantwise: where its depth suddenly narrows, its end has begun.
    """
    for k in range(40):
        level = (0.998 - 0.01 * k) * top_mm
        here, below = _reach(run_mm, level), _reach(run_mm, 0.97 * level)
        if here >= 0.96 * below > 0:
            return level
    return 0.998 * top_mm


def _reach(run_mm: Sequence[Point], level: float) -> float:
    """Return how far apart the outermost places of a run at a height lie."""
    xs = [
        a[0] + (level - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        for a, b in pairwise(run_mm)
        if (a[1] < level) != (b[1] < level)
    ]
    return max(xs) - min(xs) if xs else 0.0


def _at_level(a: Point, b: Point, level: float) -> Point:
    share = (level - a[1]) / (b[1] - a[1]) if b[1] != a[1] else 0.0
    return (a[0] + min(max(share, 0.0), 1.0) * (b[0] - a[0]), level)
