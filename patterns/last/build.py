"""A foot's bare last: its shape fitted to the measures, each measured again on what was built."""

from collections.abc import Mapping

import numpy as np

from patterns.errors import FootError
from patterns.foot import Foot
from patterns.foot_measures import MEASURE_BY_KEY, MEASURE_KEYS
from patterns.last.fitting import FITTED, fit_numbers
from patterns.last.last import Last
from patterns.last.measuring import ANKLE_STEP, GridTape, foot_measures, smallest_level_girth
from patterns.last.profile import sole_shape
from patterns.last.shape import FINE, Shape, shape_of
from patterns.last.throat import with_low_levels
from patterns.last.wanted import Wanted, ankle_search, wanted_of
from patterns.pieces.piece import BuiltMeasure

# A given measure further off than this makes the whole set one that no foot has.
OFF_MOST = 0.06
# Which measure to look at again beside one that cannot be met, the likeliest first.
PARTNERS: Mapping[str, tuple[str, ...]] = {
    "ball_width": ("ball_girth", "instep_girth"),
    "ball_girth": ("ball_width", "instep_girth"),
    "heel_width": ("heel_instep_girth", "ball_width"),
    "instep_girth": ("instep_height", "ball_width", "heel_instep_girth"),
    "heel_instep_girth": ("instep_height", "heel_width", "instep_girth", "ball_width"),
}
SOLE_POINTS = 131
SOLE_REACH = (-0.15, 1.15)  # of foot length: how far the sole's profile is known


def build_last(foot: Foot, *, top_mm: float | None = None) -> Last:
    """Return the bare last of a foot, fitted so that its measures come out as asked.

    Parameters
    ----------
    foot : Foot
        Measures, tracings or a mesh; missing measures are inferred and marked so.
    top_mm : float or None
        Height the shaft goes up to, at least the ankle's. Above the highest girth known the last
        section is carried on. None: the highest girth known.

    Raises
    ------
    FootError
        Two measures that no foot can have together; `field` and the parameters name them.
    """
    base = last_from_measures(foot, top_mm=top_mm)
    if foot.mesh is None:
        return base
    from patterns.last.from_mesh import last_from_mesh

    return last_from_mesh(foot, base, top_mm=top_mm)


def last_from_measures(foot: Foot, *, top_mm: float | None = None) -> Last:
    """Return the last fitted to a foot's measures, given and inferred, and to its tracings.

    Tracings give the shape between the measures. Where a drawing and a measure that was given
    disagree, the measure is met and the drawing stretched.
    """
    wanted = wanted_of(foot)
    numbers = fit_numbers(wanted)
    length = foot.foot_length_mm
    whole = with_low_levels(shape_of(wanted, numbers, FINE), wanted)
    built = built_ratios(whole, wanted)
    if foot.mesh is None:  # else the mesh is the shape, and this last only lends its planes
        _check_reached(wanted, built, length)
    shape = whole
    if top_mm is not None:
        shape = with_low_levels(shape_of(wanted, numbers, FINE, top=top_mm / length), wanted)
    return last_of(shape, foot, wanted, built)


def _check_reached(wanted: Wanted, built: Mapping[str, float], length: float) -> None:
    """Raise FootError where no last comes near a measure that was given."""
    given = [key for key in FITTED if key not in wanted.inferred]
    off = {key: built[key] / wanted[key] - 1.0 for key in given}
    if not off:
        return
    key = max(off, key=lambda name: abs(off[name]))
    if abs(off[key]) <= OFF_MOST:
        return
    others = [name for name in PARTNERS[key] if name not in wanted.inferred] or ["foot_length"]
    other = others[0]
    label, other_label = MEASURE_BY_KEY[key].label, MEASURE_BY_KEY[other].label.lower()
    asked_mm, nearest_mm = wanted[key] * length, built[key] * length
    raise FootError(
        f"{label} is {asked_mm:.1f} mm, but beside the {other_label} of"
        f" {wanted[other] * length:.1f} mm the nearest foot has {nearest_mm:.1f} mm."
        " Measure both again.",
        field=f"measures.{key}",
        code="measures-unreachable",
        measure=key,
        other=other,
        given_mm=asked_mm,
        nearest_mm=nearest_mm,
    )


def last_of(shape: Shape, foot: Foot, wanted: Wanted, built: Mapping[str, float]) -> Last:
    """Return the last of a shape, in mm and on the foot's own side."""
    length = foot.foot_length_mm
    sign = 1 if foot.foot_side == "left" else -1
    x = np.linspace(*SOLE_REACH, SOLE_POINTS)
    return Last(
        grid_mm=shape.grid * (length * np.array([1.0, float(sign), 1.0])),
        instep_station=shape.instep_station,
        ankle_station=shape.ankle_station,
        sole_mm=length * np.column_stack([x, sole_shape(x, wanted["heel_raise"])]),
        foot_length_mm=length,
        heel_raise_mm=wanted["heel_raise"] * length,
        lateral_sign=sign,
        measures=reported_measures(foot, wanted, built),
        source_kind="measures" if wanted.drawings is None else "tracing",
    )


def built_ratios(shape: Shape, wanted: Wanted) -> dict[str, float]:
    """Return the measures and level girths found on a shape, in units of foot length.

    Level girths are keyed ``level_girth 1``, ``level_girth 2`` and so on, from below.
    """
    tape = GridTape(shape.grid)
    built = foot_measures(tape, 1.0, wanted["heel_raise"])
    low, high = ankle_search(wanted.ratios)
    built["ankle_girth"], built["ankle_height"] = smallest_level_girth(tape, low, high, ANKLE_STEP)
    built["calf_height"] = wanted["calf_height"]
    built["calf_girth"] = tape.level_girth(wanted["calf_height"])
    for number, (height, _) in enumerate(wanted.levels, start=1):
        built[level_name(number)] = tape.level_girth(height)
    return built


def reported_measures(
    foot: Foot, wanted: Wanted, built: Mapping[str, float]
) -> tuple[BuiltMeasure, ...]:
    """Return each measure as asked and as built, then the level girths from below."""
    length = foot.foot_length_mm
    named = [
        BuiltMeasure(key, wanted[key] * length, built[key] * length, key in wanted.inferred)
        for key in MEASURE_KEYS
    ]
    levels = [
        BuiltMeasure(level_name(number), girth * length, built[level_name(number)] * length, False)
        for number, (_, girth) in enumerate(wanted.levels, start=1)
    ]
    return (*named, *levels)


def level_name(number: int) -> str:
    """Return the name under which a level girth is reported."""
    return f"level_girth {number}"
