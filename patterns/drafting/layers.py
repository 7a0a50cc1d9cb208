"""A layer of the last cut into the parts its style asks for, each with its edges."""

from patterns.drafting.curves import curve_numbers
from patterns.drafting.darts import with_dart
from patterns.drafting.edges import NamedRun, named_runs
from patterns.drafting.fields import fields_of_last
from patterns.drafting.memory import Memory, key_of
from patterns.drafting.plan import Plan
from patterns.drafting.regions import Part, cut_layer, parting_curves, taken_out
from patterns.geometry.surface import Surface
from patterns.style_lines import Layer, Region


def parts_of_layer(plan: Plan, layer: Layer) -> list[tuple[Part, list[NamedRun]]]:
    """Return every part of a layer with its edges, darts cut in; none if the style has none there.

    Raises
    ------
    StyleError
        The foot leaves no room for a part, or the style has no rule for an edge.
    """
    regions = [
        region
        for region in plan.lines.regions
        if region.layer == layer and all(c.holds(plan.values) for c in region.when)
    ]
    if not regions:
        return []
    parts = _parts(plan, layer, regions)
    named = named_runs(parts, plan.lines, plan.values)
    return [_with_darts(plan, part, named[part.region.name]) for part in parts]


CUT: Memory[list[Part]] = Memory(24)  # about five boots


def _parts(plan: Plan, layer: Layer, regions: list[Region]) -> list[Part]:
    last = plan.layer_last(layer)
    parting = parting_curves(regions, plan.lines, plan.landmarks)
    out = taken_out(regions, plan.lines, plan.landmarks)
    signed = {sign.curve for region in (*regions, *out.values()) for sign in region.signs}
    signed |= {name for names in parting.values() for name in names}
    signed |= {curve.like for curve in plan.lines.curves if curve.name in signed}
    curves = [curve for curve in plan.lines.curves if curve.name in signed]
    settled = [item for curve in curves for item in curve_numbers(curve, plan.landmarks)]
    moved = sorted((name, mm) for name, mm in plan.moved_mm.items() if name in signed)
    parted = sorted((name, sorted(names)) for name, names in parting.items())
    key = key_of([last.grid_mm, last.sole_mm, regions, out, parted, curves, moved, *settled])

    def cut() -> list[Part]:
        whole = Surface(last.points_mm, last.triangles, fields_of_last(last))
        return cut_layer(whole, regions, plan.lines, plan.landmarks, plan.moved_mm)[1]

    return CUT.get(key, cut)


def _with_darts(plan: Plan, part: Part, runs: list[NamedRun]) -> tuple[Part, list[NamedRun]]:
    for feature in plan.lines.features:
        wanted = feature.kind == "dart" and part.region.name in feature.pieces
        if wanted and all(condition.holds(plan.values) for condition in feature.when):
            part, runs = with_dart(part, runs, feature, plan.landmarks)
    return part, runs
