"""Which edge each run of a part's border becomes: its rule, its name, its partner."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from patterns.drafting.regions import RIM, EdgeRun, Part
from patterns.errors import StyleError
from patterns.pieces.piece import EdgeName
from patterns.style import Value
from patterns.style_lines import EdgeRule, StyleLines

MIDDLE_SHARE = 0.3  # an edge that lies as evenly on both sides as this is in the middle


@dataclass(frozen=True, slots=True)
class NamedRun:
    """A run of a part's border with what it becomes."""

    run: EdgeRun
    rule: EdgeRule
    name: str
    partner: EdgeName | None = None


def named_runs(
    parts: Sequence[Part], lines: StyleLines, values: Mapping[str, Value]
) -> dict[str, list[NamedRun]]:
    """Return the edges of every part of one layer by its name, partners named both ways.

    Raises
    ------
    StyleError
        A piece reaches the open top of the last, or the style has no rule for an edge.
    """
    found = {part.region.name: _named(part, lines, values) for part in parts}
    ends: dict[tuple[str, str, frozenset[int]], str] = {}
    for part in parts:
        for edge in found[part.region.name]:
            if edge.run.neighbour:
                ends[(part.region.name, edge.run.neighbour, _ends(part, edge.run))] = edge.name
    for part in parts:
        mine = part.region.name
        found[mine] = [
            edge
            if (other := ends.get((edge.run.neighbour, mine, _ends(part, edge.run)))) is None
            else replace(edge, partner=EdgeName(edge.run.neighbour, other))
            for edge in found[mine]
        ]
    return found


def _ends(part: Part, run: EdgeRun) -> frozenset[int]:
    """Return points both sides of a seam know it by: its ends and its middle, in the layer."""
    ids = run.point_ids
    places = (ids[0], ids[-1], *((ids[1], ids[-2]) if ids[0] == ids[-1] else ()))
    return frozenset(int(part.surface.origin[k]) for k in places)


def _named(part: Part, lines: StyleLines, values: Mapping[str, Value]) -> list[NamedRun]:
    piece = part.region.name
    runs = [(run, _rule(piece, run, lines, values)) for run in part.runs]
    runs = _joined(runs)
    rules = [rule for _, rule in runs]
    often = Counter(rule.name for rule in rules)
    taken: Counter[str] = Counter()
    named = []
    for run, rule in runs:
        name = rule.name
        if often[name] > 1:
            name = f"{name} {_where(part, run)}"
        taken[name] += 1
        if taken[name] > 1:
            name = f"{name} {taken[name]}"
        named.append(NamedRun(run, rule, name))
    return named


def _joined(runs: Sequence[tuple[EdgeRun, EdgeRule]]) -> list[tuple[EdgeRun, EdgeRule]]:
    """Return the runs with those made one again that were parted and came to the same rule."""
    found: list[tuple[EdgeRun, EdgeRule]] = []
    for run, rule in runs:
        if found and _follows(found[-1], (run, rule)):
            found[-1] = (_one(found[-1][0], run), rule)
        else:
            found.append((run, rule))
    if len(found) > 1 and _follows(found[-1], found[0]):
        last, rule = found.pop()
        found[0] = (_one(last, found[0][0]), rule)
    return found


def _follows(one: tuple[EdgeRun, EdgeRule], other: tuple[EdgeRun, EdgeRule]) -> bool:
    same = one[0].curve == other[0].curve and one[0].neighbour == other[0].neighbour
    return same and one[1] is other[1] and one[0].point_ids[-1] == other[0].point_ids[0]


def _one(first: EdgeRun, second: EdgeRun) -> EdgeRun:
    return replace(first, point_ids=(*first.point_ids, *second.point_ids[1:]))


def _rule(piece: str, run: EdgeRun, lines: StyleLines, values: Mapping[str, Value]) -> EdgeRule:
    if run.curve == RIM:
        raise _above_leg(piece, values)
    for rule in lines.edges:
        lies = all(run.above.get(sign.curve) == sign.above for sign in rule.signs)
        if rule.curve == run.curve and lies and rule.applies([piece], values):
            return rule
    text = f"The style has no rule for the edge of the {piece} along the {run.curve}."
    raise StyleError(text, field="style", code="style-edge", piece=piece, curve=run.curve)


def _above_leg(piece: str, values: Mapping[str, Value]) -> StyleError:
    """Return what to say of a piece that reaches the open top of the last."""
    own = f"{piece.split()[-1]}_height_mm"  # as the stiffener's, which no boot height moves
    key = next((key for key in (own, "boot_height_mm") if key in values), "")
    what = "the boot" if key == "boot_height_mm" else "it"
    text = (
        f"The {piece} reaches over the top of the leg as it is known. Make {what} lower, or"
        " measure the leg higher up."
    )
    return StyleError(text, field=f"parameters.{key}".rstrip("."), code="shaft-above-leg")


def _where(part: Part, run: EdgeRun) -> str:
    side = part.surface.fields["side"][list(run.point_ids)]
    mean, most = float(side.mean()), float(np.abs(side).max())
    if abs(mean) <= MIDDLE_SHARE * most:
        return "middle"
    return "outer" if mean > 0 else "inner"
