"""One layer of a last cut along a style's curves into the parts that become pieces."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from patterns.drafting.curves import curve_values, slope_along_surface
from patterns.errors import StyleError
from patterns.geometry.cut_surface import cut_surface
from patterns.geometry.surface import (
    Surface,
    boundary_loops,
    component_labels,
    part_of,
    side_of,
    triangle_areas_mm2,
)
from patterns.last.last import FloatArray, IntArray
from patterns.style_lines import CENTRE, Region, StyleLines

RIM = "<top>"  # the open top of a last: a piece that reaches it is cut off, not finished
LOST_SHARE = 0.02  # of a part's area may fall away as crumbs; more is told
STRAY_MM = 0.05  # a shorter run of an edge is a crumb of the cutting


@dataclass(frozen=True, slots=True)
class EdgeRun:
    """A run of a part's border on one curve beside one neighbour, counter-clockwise.

    `point_ids` are ids in the part; `neighbour` is the region on the other side, empty if none.
    `above` says for each curve that parts edges whether the run lies above it.
    """

    curve: str
    neighbour: str
    point_ids: tuple[int, ...]
    above: Mapping[str, bool] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Part:
    """A region as a piece of surface, whose points know their origin, with its border in runs."""

    region: Region
    surface: Surface
    runs: tuple[EdgeRun, ...]


def cut_layer(
    surface: Surface,
    regions: Sequence[Region],
    lines: StyleLines,
    landmarks: Mapping[str, float],
    moved_mm: Mapping[str, float],
) -> tuple[Surface, list[Part]]:
    """Return a layer cut along every curve its regions name, and the regions as parts.

    All curves are cut into the whole first, so that neighbours share their points exactly.

    Parameters
    ----------
    surface : Surface
        The layer, with the fields of its last.
    regions : sequence of Region
        What to cut out; they must not lie over one another.
    moved_mm : mapping of str to float
        Curves moved by the maker, in mm along the leather towards greater values of their field.

    Raises
    ------
    StyleError
        A region is empty, falls into several parts or goes all round: this foot leaves no room
        for it with the parameters as set.
    """
    parting = parting_curves(regions, lines, landmarks)
    out = taken_out(regions, lines, landmarks)
    wanted = {sign.curve for region in (*regions, *out.values()) for sign in region.signs}
    wanted |= {name for names in parting.values() for name in names}
    centre = surface.fields["side"]
    surface = cut_surface(surface, CENTRE, centre)
    for curve in lines.curves:
        if curve.name not in wanted:
            continue
        base = curve.like or curve.name
        moved: FloatArray | float = moved_mm.get(base, 0.0)
        values = curve_values(curve, lines, surface.fields, landmarks)
        if moved:
            moved = moved * slope_along_surface(surface.points_mm, surface.triangles, values)
            values = curve_values(curve, lines, surface.fields, landmarks, moved)
        surface = _wanted_side(cut_surface(surface, curve.name, values), curve.name, regions)
    sides = {name: side_of(surface, name) for name in wanted}
    owner = np.full(len(surface.triangles), -1, dtype=np.int64)
    cores = []
    for number, region in enumerate(regions):
        mask = _where(region, sides)
        for name in region.without:
            if name in out:
                mask &= ~_where(out[name], sides)
        mask = _core(surface, mask, region)
        owner[mask] = number
        cores.append(mask)
    neighbours = _neighbours(surface.triangles, owner)
    return surface, [
        _part(surface, mask, _bounds(region, out), region, regions, neighbours, parting)
        for mask, region in zip(cores, regions, strict=True)
    ]


def taken_out(
    regions: Sequence[Region], lines: StyleLines, landmarks: Mapping[str, float]
) -> dict[str, Region]:
    """Return what is taken out of regions, by name: regions of any layer, if they are there."""
    named = {name for region in regions for name in region.without}
    return {
        region.name: region
        for region in lines.regions
        if region.name in named and all(c.holds(landmarks) for c in region.when)
    }


def _where(region: Region, sides: Mapping[str, IntArray]) -> np.ndarray:
    """Return for each triangle whether a region's signs hold there."""
    signs = [sides[sign.curve] == (1 if sign.above else -1) for sign in region.signs]
    return np.asarray(np.logical_and.reduce(signs))


def _bounds(region: Region, out: Mapping[str, Region]) -> list[str]:
    """Return the curves that may bound a region."""
    taken = [out[name] for name in region.without if name in out]
    return list(dict.fromkeys(sign.curve for one in (region, *taken) for sign in one.signs))


def parting_curves(
    regions: Sequence[Region], lines: StyleLines, landmarks: Mapping[str, float]
) -> dict[str, set[str]]:
    """Return for each curve the curves that part the edges on it, as the edge rules ask."""
    names = [region.name for region in regions]
    found: dict[str, set[str]] = {}
    for rule in lines.edges:
        if rule.signs and rule.applies(names, landmarks):
            found.setdefault(rule.curve, set()).update(sign.curve for sign in rule.signs)
    return found


def _wanted_side(surface: Surface, curve: str, regions: Sequence[Region]) -> Surface:
    """Return the side of a curve on which every region lies, the whole if they lie on both."""
    signs = {
        next((sign.above for sign in region.signs if sign.curve == curve), None)
        for region in regions
    }
    if len(signs) > 1 or None in signs:
        return surface
    mask = side_of(surface, curve) == (1 if signs.pop() else -1)
    if not mask.any():
        return surface
    part = part_of(surface, mask)
    return Surface(part.points_mm, part.triangles, part.fields, part.curves)


def _core(surface: Surface, mask: np.ndarray, region: Region) -> np.ndarray:
    """Return the one connected part of a region, crumbs left out."""
    if not mask.any():
        raise _no_room(region, "nothing is left of it")
    areas = triangle_areas_mm2(surface.points_mm, surface.triangles[mask])
    labels = component_labels(surface.triangles[mask])
    by_label = np.bincount(labels, areas)
    if by_label.sum() - by_label.max() > LOST_SHARE * by_label.sum():
        raise _no_room(region, "it falls into several parts")
    kept = mask.copy()
    kept[mask] = labels == int(by_label.argmax())
    return kept


def _no_room(region: Region, what: str) -> StyleError:
    text = (
        f"There is no room for the {region.name} on this foot: {what}. Set the lines beside it"
        " nearer their defaults, or check the measures."
    )
    return StyleError(text, field="parameters", code="piece-no-room", piece=region.name)


def _neighbours(triangles: IntArray, owner: IntArray) -> Mapping[tuple[int, int], int]:
    """Return the region beyond each directed edge of the regions' triangles."""
    found: dict[tuple[int, int], int] = {}
    for k in range(3):
        starts, ends = triangles[:, k], triangles[:, (k + 1) % 3]
        owned = owner >= 0
        found.update(
            zip(
                zip(ends[owned].tolist(), starts[owned].tolist(), strict=True),
                owner[owned].tolist(),
                strict=True,
            )
        )
    return found


def _part(
    surface: Surface,
    mask: np.ndarray,
    bounds: Sequence[str],
    region: Region,
    regions: Sequence[Region],
    neighbours: Mapping[tuple[int, int], int],
    parting: Mapping[str, set[str]],
) -> Part:
    part = part_of(surface, mask)
    loops = boundary_loops(part.triangles)
    if len(loops) != 1:
        raise _no_room(region, "it goes all round, or has a hole")
    loop = loops[0].tolist()
    labels = [
        _label(part, bounds, regions, neighbours, a, b)
        for a, b in zip(loop, [*loop[1:], loop[0]], strict=True)
    ]
    runs = _runs(part, loop, labels)
    parted = [piece for run in runs for piece in _parted(part, run, parting.get(run.curve, ()))]
    return Part(region, part, tuple(parted))


def _parted(part: Surface, run: EdgeRun, parting: Collection[str]) -> list[EdgeRun]:
    """Return a run in as many as the curves that cross it make of it."""
    runs = [run]
    for name in sorted(parting):
        values = part.curves[name]
        runs = [piece for whole in runs for piece in _parted_once(whole, name, values)]
    return runs


def _parted_once(run: EdgeRun, name: str, values: FloatArray) -> list[EdgeRun]:
    ids = run.point_ids
    steps = [values[a] + values[b] > 0.0 for a, b in pairwise(ids)]
    starts = [0, *(k for k in range(1, len(steps)) if steps[k] != steps[k - 1])]
    ends = [*starts[1:], len(steps)]
    return [
        replace(run, point_ids=ids[a : b + 1], above={**run.above, name: bool(steps[a])})
        for a, b in zip(starts, ends, strict=True)
    ]


def _label(
    part: Surface,
    bounds: Sequence[str],
    regions: Sequence[Region],
    neighbours: Mapping[tuple[int, int], int],
    a: int,
    b: int,
) -> tuple[str, str]:
    """Return the curve a border edge lies on, and the region beyond it."""
    beyond = neighbours.get((int(part.origin[a]), int(part.origin[b])))
    name = "" if beyond is None else regions[beyond].name
    on = [
        curve for curve in bounds if part.curves[curve][a] == 0.0 and part.curves[curve][b] == 0.0
    ]
    if not on:
        return RIM, name
    return on[0] if len(on) == 1 else "|".join(on), name


def _runs(part: Surface, loop: Sequence[int], labels: Sequence[tuple[str, str]]) -> list[EdgeRun]:
    """Return the border in runs of one label; an edge that lies on two curves joins its run."""
    settled = list(labels)
    count = len(settled)
    for _ in range(2):
        for k in range(count):
            curves = settled[k][0].split("|")
            if len(curves) == 1:
                continue
            for other in (settled[k - 1], settled[(k + 1) % count]):
                if "|" not in other[0] and other[0] in curves and other[1] == settled[k][1]:
                    settled[k] = other
                    break
    settled = [(label[0].split("|")[0], label[1]) for label in settled]
    _join_strays(part, loop, settled)
    start = next((k for k in range(count) if settled[k] != settled[k - 1]), 0)
    runs: list[EdgeRun] = []
    k = 0
    while k < count:
        label, ids = settled[(start + k) % count], [loop[(start + k) % count]]
        while k < count and settled[(start + k) % count] == label:
            ids.append(loop[(start + k + 1) % count])
            k += 1
        runs.append(EdgeRun(label[0], label[1], tuple(ids)))
    return runs


def _join_strays(part: Surface, loop: Sequence[int], settled: list[tuple[str, str]]) -> None:
    """Give runs too short to be an edge the label of the run before them, in place."""
    count = len(settled)
    points = part.points_mm[np.asarray(loop)]
    steps = np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)
    if len(set(settled)) < 2:
        return
    start = next(k for k in range(count) if settled[k] != settled[k - 1])
    k = 0
    while k < count:
        first, length = k, 0.0
        label = settled[(start + k) % count]
        while k < count and settled[(start + k) % count] == label:
            length += float(steps[(start + k) % count])
            k += 1
        if length < STRAY_MM and not label[1]:
            for j in range(first, k):
                settled[(start + j) % count] = settled[(start + first - 1) % count]
