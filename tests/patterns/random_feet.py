"""Seeded random sets of measures that one foot can have together, usual and odd ones."""

from math import hypot
from random import Random

from patterns.foot import Foot, LevelGirth, foot_problems
from patterns.geometry.ellipse import ellipse_perimeter_mm
from patterns.measures import SAMPLE_RATIOS

LENGTH_LEAST_MM, LENGTH_MOST_MM = 40.0, 110.0
# How far measures go together (all of a foot is stout or slight) and each for itself. Usual
# feet keep to what dolls of one kind differ by; odd ones are caricatures.
USUAL_BUILD, USUAL_OWN = 0.10, 0.05
ODD_BUILD, ODD_OWN = 0.20, 0.13
HEEL_CORNER_SPAN = 0.46
RAISED_EVERY = 5  # every fifth foot stands on a raised heel
# Least room between measures of which one bounds the other: nearer than this is a slip of the
# tape, not a foot. A section's girth against twice its breadth or height, and so on.
ROOM = {
    ("ball_girth", "ball_width"): 2.14,
    ("instep_girth", "instep_height"): 2.9,
    ("heel_instep_girth", "instep_girth"): 1.15,
}
# The slanting section is no slimmer than an ellipse with this share of the heel's width.
SLANT_BREADTH = 0.7


def random_measures(random: Random, *, odd: bool = False, raised: bool = False) -> dict[str, float]:
    """Return thirteen measures in mm that belong together."""
    while True:
        measures = _try_measures(random, odd=odd, raised=raised)
        if _belong_together(measures):
            return measures


def random_foot(
    random: Random, name: str = "foot", *, odd: bool = False, raised: bool = False
) -> Foot:
    """Return a left foot with random measures and no level girths."""
    return Foot(name, random_measures(random, odd=odd, raised=raised))


def random_feet(count: int, *, seed: int = 20, odd: bool = False) -> list[Foot]:
    """Return feet of 40 to 110 mm; every fifth stands on a raised heel."""
    random = Random(seed)
    return [
        random_foot(random, f"foot {k}", odd=odd, raised=k % RAISED_EVERY == RAISED_EVERY - 1)
        for k in range(count)
    ]


def with_leg(foot: Foot, random: Random, count: int = 4) -> Foot:
    """Return the same foot with level girths up to a knee, the calf's own among them."""
    m = foot.measures_mm
    step = 0.18 * foot.foot_length_mm
    girth, levels = m["calf_girth"], [LevelGirth(m["calf_height"], m["calf_girth"])]
    for k in range(1, count + 1):
        girth *= random.uniform(0.96, 1.10)
        levels.append(LevelGirth(round(m["calf_height"] + k * step, 2), round(girth, 2)))
    return Foot(foot.name, dict(m), foot_side=foot.foot_side, level_girths=tuple(levels))


def _try_measures(random: Random, *, odd: bool, raised: bool) -> dict[str, float]:
    build, own = (ODD_BUILD, ODD_OWN) if odd else (USUAL_BUILD, USUAL_OWN)
    length = random.uniform(LENGTH_LEAST_MM, LENGTH_MOST_MM)
    stoutness = random.uniform(1.0 - build, 1.0 + build)
    measures = {"foot_length": round(length, 2)}
    for key, ratio in SAMPLE_RATIOS.items():
        if key in ("foot_length", "heel_raise"):
            continue
        together = 1.0 if key.endswith("_height") and key != "instep_height" else stoutness
        factor = together * random.uniform(1.0 - own, 1.0 + own)
        measures[key] = round(ratio * length * factor, 2)
    lift = random.uniform(0.04, 0.25) * length if raised else 0.0
    measures["heel_raise"] = round(lift, 2)
    for key, share in (("instep_height", 0.37), ("ankle_height", 1.0), ("calf_height", 1.0)):
        measures[key] = round(measures[key] + share * lift, 2)
    if raised:
        _follow_raise(measures, random, own)
    return measures


def _follow_raise(measures: dict[str, float], random: Random, own: float) -> None:
    """Let the slanting girth follow the heel up, which brings it nearer to the instep."""
    length = measures["foot_length"]
    flat = hypot(HEEL_CORNER_SPAN, SAMPLE_RATIOS["instep_height"]) * length
    rise = measures["instep_height"] - measures["heel_raise"]
    slant = hypot(HEEL_CORNER_SPAN * length, rise)
    girth = measures["heel_instep_girth"] - 1.7 * (flat - slant)
    measures["heel_instep_girth"] = round(girth * random.uniform(1 - own / 3, 1 + own / 3), 2)


def _belong_together(m: dict[str, float]) -> bool:
    if foot_problems("foot", m):
        return False
    roomy = all(m[key] >= least * m[other] for (key, other), least in ROOM.items())
    rise = m["instep_height"] - m["heel_raise"]
    span = hypot(HEEL_CORNER_SPAN * m["foot_length"], rise)
    slim = ellipse_perimeter_mm(span, SLANT_BREADTH * m["heel_width"])
    return (
        roomy
        and m["heel_instep_girth"] >= slim
        and m["calf_girth"] > 1.03 * m["ankle_girth"]
        and m["ankle_height"] > 1.15 * m["instep_height"]
        and m["calf_height"] > 1.1 * m["ankle_height"]
    )
