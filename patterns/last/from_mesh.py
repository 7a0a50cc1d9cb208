"""The last of a foot with a mesh: a taut wrap of the mesh on the fan of a fitted last."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from patterns.errors import FootError
from patterns.foot import Foot
from patterns.last.last import Last
from patterns.last.measuring import measure_last
from patterns.last.middles import smooth_middles
from patterns.last.planes import TIP_ROUND, Planes, planes_of
from patterns.last.supports import ANGLES, blurred, boundary, directions, even_ring, reach_of
from patterns.last.toe_wrap import toe_wrap
from patterns.mesh.standing import RAISE_LEAST
from patterns.mesh_in import FootMesh, mesh_leg_top_mm, section_points
from patterns.pieces.piece import BuiltMeasure

FloatArray = npt.NDArray[np.float64]

# How far past the fitted last's section, as shares of its height and of the foot length, the
# mesh still belongs to the foot; beyond lies another part that the plane cuts too.
ROOM_SHARE, ROOM_FOOT_SHARE = 0.30, 0.04
TOP_ROOM = 0.05  # of foot length: so much less leg than asked for is taken without a word
FACET_BLUR_DEG = 2.5  # rounds the mesh's facets off
CORNER_ROUND = 0.010  # of foot length: rounds the facets' corners along the sections
STATION_BLUR = 0.013  # of foot length along the fan: evens facets that lie across the sections
STATION_BLUR_SECTIONS = (0.7, 3.0)  # the same in sections, least and most
MIDDLE_SPREAD = 0.09  # of foot length: evens the line of the sections' middles
TIP_POWER = 3.2  # 2 would be an ellipse, more a blunter tip
TIP_FALL = 0.6  # how much of the shrinking behind the tip is carried on: toes end bluntly
NESTED_FROM = 0.93  # of foot length
LOW_SHARE = 0.35  # of a section's height: the part whose width the flat underside follows
FLAT_SHARE = 0.93  # of that width, at most
FLAT_ROUNDS = 8  # halvings in which the widest flat is found
SOLE_GIRTH_ROOM = 0.004  # the flat underside may lengthen a section's girth by this share


def last_from_mesh(foot: Foot, base: Last, *, top_mm: float | None) -> Last:
    """Return the bare last that hugs a foot's mesh.

    Parameters
    ----------
    foot : Foot
        With a mesh that stands in the foot's frame.
    base : Last
        Fitted to the measures taken on the mesh; its fan of planes is kept.
    top_mm : float or None
        Height the shaft goes up to; None: as high as base and mesh both go. Where the mesh ends
        a little lower the last does too.

    Raises
    ------
    FootError
        ``shaft-above-mesh``: the leg of the mesh ends well below `top_mm`.

    Notes
    -----
    Each plane's section is replaced by the convex hull of the mesh's section, which is what a
    taut wrap does and what a tape measures; see `patterns.last.supports` for the smoothing.
    """
    if foot.mesh is None:
        raise FootError("The foot has no mesh.", field="mesh", code="mesh-missing")
    mesh = _as_left(foot.mesh, base.lateral_sign)
    leg_top = mesh_leg_top_mm(mesh)
    if top_mm is not None and top_mm > leg_top + TOP_ROOM * base.foot_length_mm:
        raise FootError(
            f"The mesh ends at {leg_top:.1f} mm above the ground; this style needs the leg up to"
            f" {top_mm:.1f} mm. Make the boot lower or take a mesh with more of the leg.",
            field="parameters.boot_height_mm",
            code="shaft-above-mesh",
            leg_top_mm=leg_top,
            top_mm=top_mm,
        )
    side = np.array([1.0, float(base.lateral_sign), 1.0])
    fan = planes_of(base, base.grid_mm * side, mesh, leg_top)
    reach = _smoothed(_mesh_reach(fan, mesh, leg_top), fan)
    last = replace(
        base,
        grid_mm=_grid(fan, reach, base.turn_count) * side,
        sole_mm=fan.sole,
        source_kind="mesh",
    )
    return replace(last, measures=_measured(last, base, mesh))


def _as_left(mesh: FootMesh, lateral_sign: int) -> FootMesh:
    """Return the mesh with its outer side towards +y; which way its triangles run is no matter."""
    if lateral_sign > 0:
        return mesh
    return FootMesh(mesh.vertices_mm * [1.0, -1.0, 1.0], mesh.triangles)


# --- the sections --------------------------------------------------------------------------


def _mesh_reach(fan: Planes, mesh: FootMesh, leg_top: float) -> FloatArray:
    """Return how far the mesh's hull reaches in each plane, in every direction."""
    toes = toe_wrap(mesh, fan.heel, float(mesh.points_mm[:, 2].min()), fan.length)
    half = fan.grid.shape[1] // 2
    reach = np.zeros((len(fan.grid), ANGLES))
    covered = np.zeros(len(fan.grid), dtype=bool)
    for k in range(1, len(fan.grid)):
        flat = _flat_section(fan, mesh, k, leg_top)
        if fan.origin[k, 0] > toes.behind_mm and k <= fan.instep:
            bridged = toes.section(float(fan.origin[k, 0]))
            flat = np.vstack([flat, bridged - [0.0, fan.origin[k, 2]]])
        if len(flat) < 3:
            continue
        reach[k] = reach_of(flat)
        covered[k] = fan.grid[k, half, 2] <= leg_top + 0.05
        if np.isfinite(fan.floor[k]):
            reach[k] = _on_the_sole(reach[k], fan.floor[k], fan.height[k])
    reach[0] = reach_of(np.array([[fan.tip[1], fan.tip[2] - fan.origin[0, 2]]]))
    covered[0] = True
    return _carried_on(fan, reach, covered)


def _flat_section(fan: Planes, mesh: FootMesh, k: int, leg_top: float) -> FloatArray:
    """Return a section's points in its plane: y, and how far above the origin."""
    origin = fan.origin[k]
    # A level plane in the very top of a closed leg would miss it.
    sunk = 2e-5 * fan.length if origin[2] > leg_top - 1e-4 * fan.length else 0.0
    found = section_points(mesh, origin - [0.0, 0.0, sunk], fan.normal[k])
    above = (found - origin) @ fan.upward[k]
    level = fan.upward[k, 2] < 0.02  # a level plane cuts nothing but the leg, however thick
    room = np.inf if level else ROOM_SHARE * fan.height[k] + ROOM_FOOT_SHARE * fan.length
    keep = (above > -room) & (above < fan.height[k] + room)
    return np.column_stack([found[keep, 1], above[keep]])


def _on_the_sole(reach: FloatArray, floor: float, height: float) -> FloatArray:
    """Return a section with its underside laid flat on the sole as wide as its girth allows.

    Under the arch a foot stands off the ground; a last does not. As wide as the foot it would
    make the girth up to 9 % too long there, so sideways part of the arch stays.
    """
    ring = boundary(reach[None])[0]
    low = ring[ring[:, 1] < floor + LOW_SHARE * height, 0]
    if len(low) < 2:
        return reach
    middle, half = (low.max() + low.min()) / 2, (low.max() - low.min()) / 2

    def laid(share: float) -> FloatArray:
        ends = np.array([[middle - share * half, floor], [middle + share * half, floor]])
        return np.maximum(reach, reach_of(ends))

    most = (1.0 + SOLE_GIRTH_ROOM) * reach.mean()
    point = laid(0.0)
    if point.mean() >= most:  # so high an arch that not even its middle comes down to the sole
        share = (most - reach.mean()) / (point.mean() - reach.mean())
        return np.asarray((1.0 - share) * reach + share * point, dtype=float)
    narrow, wide = 0.0, FLAT_SHARE
    for _ in range(FLAT_ROUNDS):
        tried = (narrow + wide) / 2
        narrow, wide = (tried, wide) if laid(tried).mean() < most else (narrow, tried)
    return laid(narrow)


def _carried_on(fan: Planes, reach: FloatArray, covered: npt.NDArray[np.bool_]) -> FloatArray:
    """Return reaches with the sections above a short leg filled in from the fitted last."""
    if covered.all():
        return reach
    last_whole = int(np.flatnonzero(covered).max())
    own = np.array([_base_reach(fan, k) for k in range(len(reach))])
    growth = reach[last_whole].mean() / own[last_whole].mean()
    filled = reach.copy()
    filled[~covered] = growth * own[~covered]
    return filled


def _base_reach(fan: Planes, k: int) -> FloatArray:
    above = (fan.grid[k] - fan.origin[k]) @ fan.upward[k]
    return reach_of(np.column_stack([fan.grid[k, :, 1], above]))


# --- smoothing and the grid ----------------------------------------------------------------


def _smoothed(reach: FloatArray, fan: Planes) -> FloatArray:
    """Return reaches with facets rounded off and evened along the fan.

    Evened twice over, 2 A - A A in place of A: an average alone would lower every crest and fill
    every hollow, such as the ankle's, a little. Not so towards the tip, where sections change
    fast; there each lies within the one behind it, or the surface would fold.
    """
    once = _station_blur(_spreads(fan))
    tip = int((fan.origin[: fan.instep, 0] > fan.heel + NESTED_FROM * fan.length).sum())
    twice = 2.0 * once - once @ once
    even = np.vstack([once[:tip], twice[tip:]]) @ reach
    rise = fan.origin[:tip, 2:] * directions()[0][:, 1]
    even[:tip] = np.maximum.accumulate(even[:tip] + rise, axis=0) - rise
    return _tip_rounded(blurred(even, FACET_BLUR_DEG), fan)


def _tip_rounded(reach: FloatArray, fan: Planes) -> FloatArray:
    """Return reaches whose foremost sections shrink evenly to the tip, as on a full oval.

    Their middle goes straight to the tip while they shrink by (1 - d)^a (1 - d^p)^b at depth d.
    They begin to shrink almost as fast as the sections behind do, so that the outline seen from
    above has no hollow where the oval begins.
    """
    start = int((fan.origin[: fan.instep, 0] > fan.tip[0] - TIP_ROUND * fan.length).sum())
    x, z = fan.origin[: start + 2, 0], fan.origin[: start + 2, 2]
    depth = ((x - x[start]) / (fan.tip[0] - x[start]))[:, None]
    normal = directions()[0]
    first = 2.0 * (reach[start] @ normal) / ANGLES + [0.0, z[start]]
    middle = (first + depth * (fan.tip[1:] - first) - z[:, None] * [0.0, 1.0]) @ normal.T
    radius = reach[: start + 2] - middle
    slope = (radius[start + 1] / radius[start] - 1.0) / -depth[start + 1]
    fall = float(np.clip(TIP_FALL * slope.mean(), 0.0, 1.0))
    ahead = depth[:start]
    share = np.maximum(1.0 - ahead, 0.0) ** fall
    share *= np.maximum(1.0 - ahead**TIP_POWER, 0.0) ** max(1.0 / TIP_POWER - fall, 0.0)
    rounded = reach.copy()
    rounded[:start] = middle[:start] + share * radius[start]
    return rounded


def _spreads(fan: Planes) -> FloatArray:
    """Return over how many neighbouring sections each is evened."""
    half = fan.grid.shape[1] // 2
    middle = (fan.grid[:, 0] + fan.grid[:, half]) / 2
    step = np.linalg.norm(np.gradient(middle, axis=0), axis=1)
    spreads = np.clip(STATION_BLUR * fan.length / step, *STATION_BLUR_SECTIONS)
    return np.asarray(spreads, dtype=float)


def _station_blur(spread: FloatArray) -> FloatArray:
    """Return the matrix that averages over neighbouring sections, less so near both ends.

    Seen from each section both sides weigh alike, so that an even slope stays as it is.
    """
    place = np.arange(len(spread))
    room = np.minimum(place, len(spread) - 1 - place)
    spreads = np.maximum(np.minimum(spread, 0.5 * room), 1e-3)[:, None]
    apart = np.abs(place[:, None] - place[None, :])
    within = apart <= np.minimum(room, np.ceil(4.0 * spreads[:, 0]))[:, None]
    weight = np.where(within, np.exp(-0.5 * (apart / spreads) ** 2), 0.0)
    return np.asarray(weight / weight.sum(axis=1, keepdims=True), dtype=float)


def _grid(fan: Planes, reach: FloatArray, turns: int) -> FloatArray:
    """Return the grid of sections with given reaches, the tip drawn to one point."""
    rings = boundary(reach)
    half = fan.grid.shape[1] // 2
    ends = fan.grid[:, 0], fan.grid[:, half]
    middles = smooth_middles(rings, *ends, MIDDLE_SPREAD * fan.length, fan.length)
    flat = even_ring(rings, turns, middles, CORNER_ROUND * fan.length)
    # What reaches through the sole is laid flat on it.
    flat[..., 1] = np.maximum(flat[..., 1], fan.floor[:, None])
    grid = fan.origin[:, None] + flat[..., 1:] * fan.upward[:, None]
    grid[..., 1] += flat[..., 0]
    grid[0] = fan.tip
    return grid


# --- the measures --------------------------------------------------------------------------


def _measured(last: Last, base: Last, mesh: FootMesh) -> tuple[BuiltMeasure, ...]:
    """Return the base's measures with what is found on the last that hugs the mesh."""
    asked = {measure.name: measure.asked_mm for measure in base.measures}
    built = dict(measure_last(last, calf_height_mm=asked["calf_height"]))
    built["heel_width"] = _heel_width_mm(last, mesh)
    if asked["heel_raise"] == 0.0:  # a seat rounded up a little from the ground is no raised heel
        seat = built["heel_raise"]
        built["heel_raise"] = seat if seat > RAISE_LEAST * last.foot_length_mm else 0.0
    return tuple(
        replace(measure, built_mm=built.get(measure.name, measure.built_mm))
        for measure in base.measures
    )


def _heel_width_mm(last: Last, mesh: FootMesh) -> float:
    """Return the last's width where the mesh's own heel width was taken.

    By definition that is between points of the mesh. The heel widens forward, so on the last's
    finer points the same words would find a wider place further on.
    """
    length = last.foot_length_mm
    top = 0.15 * length + last.heel_raise_mm
    points = mesh.points_mm
    heel = points[(points[:, 0] < 0.25 * length) & (points[:, 2] < top)]
    if not len(heel):
        return 0.0
    surface = FootMesh(last.points_mm * [1.0, float(last.lateral_sign), 1.0], last.triangles)
    ends: list[float] = []
    for extreme in (heel[heel[:, 1].argmin()], heel[heel[:, 1].argmax()]):
        section = section_points(surface, (float(extreme[0]), 0.0, 0.0), (1.0, 0.0, 0.0))
        across = section[section[:, 2] < top, 1]
        ends.append(float(across.min() if len(ends) == 0 else across.max()))
    return ends[1] - ends[0]
