"""Darts: a part slit along the centre line, from inside to an edge, before it is laid flat."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from patterns.drafting.edges import NamedRun
from patterns.drafting.regions import EdgeRun, Part
from patterns.errors import StyleError
from patterns.formula import Formula
from patterns.geometry.surface import Surface, boundary_loops, edges_of, slit
from patterns.pieces.piece import EdgeName
from patterns.style_lines import CENTRE, EdgeRule, Feature

# The two edges of a dart meet edge to edge: beside its point there is no room for allowances.
BUTTED = Formula(0.0)
Ids = tuple[int, ...]


def with_dart(
    part: Part, runs: Sequence[NamedRun], feature: Feature, landmarks: Mapping[str, float]
) -> tuple[Part, list[NamedRun]]:
    """Return a part with a dart in it, and its edges with the dart's two among them.

    The dart runs along the centre line from the edge the feature names, ``length_mm`` far. Its
    edges "dart outer" and "dart inner" are partners of each other; the edge it starts from is
    in two runs from then on.

    Raises
    ------
    StyleError
        The edge does not cross the centre line, or the dart would leave nothing of the part.
    """
    length = feature.numbers["length_mm"].value(landmarks)
    chosen = [named for named in runs if named.rule.name == feature.edge]
    crossing = [named for named in chosen if _middle_id(part, named.run) is not None]
    if not crossing:
        raise _no_dart(part)
    cut = crossing[0]
    start = _middle_id(part, cut.run)
    assert start is not None
    way = _way_inward(part, start, length)
    if len(way) < 2:
        raise _no_dart(part)
    surface = slit(part.surface, way[::-1])
    halves, sides = _bordering(surface, cut.run, way)
    rule = EdgeRule(CENTRE, "dart", "seam", BUTTED)
    piece = part.region.name
    found: list[NamedRun] = []
    for named in runs:
        if named is not cut:
            found.append(named)
            continue
        first, second = (_side(part, cut.run, half) for half in halves)
        for half, side in zip(halves, (first, second), strict=True):
            run = replace(cut.run, point_ids=half)
            found.append(replace(named, run=run, name=f"{named.rule.name} {side}"))
        darts = [
            NamedRun(EdgeRun(CENTRE, piece, ids), rule, f"dart {mine}",
                     EdgeName(piece, f"dart {other}"))
            for ids, mine, other in zip(sides, (first, second), (second, first), strict=True)
        ]  # fmt: skip
        found[-1:-1] = darts
    return replace(part, surface=surface, runs=tuple(n.run for n in found)), found


def _middle_id(part: Part, run: EdgeRun) -> int | None:
    """Return the inner point of a run that lies on the centre line, None if there is none."""
    on = part.surface.on_curve(CENTRE)
    return next((k for k in run.point_ids[1:-1] if on[k]), None)


def _way_inward(part: Part, start: int, length_mm: float) -> list[int]:
    """Return the points of the centre line from a border point inward, at least that far."""
    surface = part.surface
    on = surface.on_curve(CENTRE)
    border = set(boundary_loops(surface.triangles)[0].tolist())
    beside: dict[int, list[int]] = {}
    for a, b in edges_of(surface.triangles).tolist():
        if on[a] and on[b]:
            beside.setdefault(a, []).append(b)
            beside.setdefault(b, []).append(a)
    way, gone = [start], 0.0
    while gone < length_mm:
        ahead = [k for k in beside.get(way[-1], []) if k not in way and k not in border]
        if not ahead:
            break
        way.append(ahead[0])
        gone += float(np.linalg.norm(surface.points_mm[way[-1]] - surface.points_mm[way[-2]]))
    return way


def _bordering(
    surface: Surface, run: EdgeRun, way: Sequence[int]
) -> tuple[tuple[Ids, Ids], tuple[Ids, Ids]]:
    """Return the two halves of a run and, between them, the dart's way in and its way out."""
    loop = boundary_loops(surface.triangles)[0].tolist()
    begin = loop.index(run.point_ids[0])
    count = len(run.point_ids) + 2 * len(way) - 2  # its mouth once more, in to its point and out
    ids = [*loop[begin:], *loop[:begin], loop[begin]][:count]
    first, second = (k for k, i in enumerate(ids) if surface.origin[i] == surface.origin[way[0]])
    point = ids.index(way[-1])
    halves = (tuple(ids[: first + 1]), tuple(ids[second:]))
    return halves, (tuple(ids[first : point + 1]), tuple(ids[point : second + 1]))


def _side(part: Part, run: EdgeRun, half: Sequence[int]) -> str:
    side = part.surface.fields["side"][[k for k in half if k in run.point_ids]]
    return "outer" if float(side.mean()) > 0 else "inner"


def _no_dart(part: Part) -> StyleError:
    text = (
        f"The {part.region.name} has no room for a dart: its edge does not cross the middle."
        " Leave the dart out, or split the toe instead."
    )
    return StyleError(
        text, field="parameters.toe_dart", code="dart-no-room", piece=part.region.name
    )
