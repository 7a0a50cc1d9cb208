"""The thirteen measures of a foot: where the tape goes, and how large each may be."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: its key, its words, and how large it may be against the foot's length."""

    key: str
    label: str
    least_ratio: float
    most_ratio: float
    help_text: str


# The ratios are wide on purpose: they catch a slip of the pen or a wrong unit, not an odd doll.
MEASURES: tuple[Measure, ...] = (
    Measure(
        "foot_length",
        "Foot length",
        1.0,
        1.0,
        "Stand the foot on paper. From the rearmost point of the heel to the tip of the longest"
        " toe, straight along the paper.",
    ),
    Measure(
        "ball_width",
        "Ball width",
        0.15,
        0.9,
        "Across the two widest points of the forefoot, seen from above: from the inner one,"
        " behind the big toe, to the outer one.",
    ),
    Measure(
        "ball_girth",
        "Ball girth",
        0.35,
        2.6,
        "The tape goes upright round the forefoot through its two widest points. Keep it straight"
        " over hollows.",
    ),
    Measure(
        "heel_width",
        "Heel width",
        0.1,
        0.7,
        "The widest place of the heel, seen from above, low down, in the rear quarter of the foot.",
    ),
    Measure(
        "instep_girth",
        "Instep girth",
        0.3,
        2.6,
        "The tape goes upright round the foot half way along its length.",
    ),
    Measure(
        "instep_height",
        "Instep height",
        0.1,
        1.1,
        "From the ground straight up to the top of the foot, half way along its length. It is"
        " easily forgotten, and it changes the pattern most.",
    ),
    Measure(
        "heel_instep_girth",
        "Heel-instep girth",
        0.6,
        4.0,
        "The tape goes slantwise: under the rear corner of the heel and over the top of the foot"
        " half way along.",
    ),
    Measure(
        "ankle_girth",
        "Ankle girth",
        0.25,
        2.6,
        "The smallest girth of the leg above the foot, the tape held level.",
    ),
    Measure(
        "ankle_height",
        "Ankle height",
        0.2,
        1.6,
        "From the ground up to the place where the ankle girth was taken.",
    ),
    Measure(
        "toe_height",
        "Toe height",
        0.02,
        0.45,
        "The highest place of the toes, in the last tenth of the foot.",
    ),
    Measure(
        "calf_girth",
        "Calf girth",
        0.25,
        3.5,
        "The girth of the leg, the tape held level, at the calf height you give.",
    ),
    Measure(
        "calf_height",
        "Calf height",
        0.3,
        3.5,
        "From the ground up to the place where the calf girth was taken.",
    ),
    Measure(
        "heel_raise",
        "Heel raise",
        0.0,
        0.8,
        "How far the heel stands above the ball in the foot's own pose; 0 for a flat foot.",
    ),
)
MEASURE_KEYS: tuple[str, ...] = tuple(measure.key for measure in MEASURES)
MEASURE_BY_KEY: Mapping[str, Measure] = {measure.key: measure for measure in MEASURES}
