"""What a last is asked to measure, in units of the foot's own length."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from patterns.errors import FootError
from patterns.foot import Foot, foot_problems
from patterns.last.drawings import Drawings, drawings_of
from patterns.measures import CompleteMeasures, complete_measures

SAME_HEIGHT = 0.002  # of foot length: two level girths nearer than this are one place of the leg
SAME_GIRTH = 0.02  # share: two figures for one place of the leg may differ by this much
STEEPEST = 4.0  # how much a girth may change for each unit of height, beyond that
# The leg's girths named by measures of their own; level girths come on top of these.
LEG_MEASURES = (("ankle_height", "ankle_girth"), ("calf_height", "calf_girth"))
ANKLE_SLACK = 0.005  # share: a level girth may be this much under the smallest one


@dataclass(frozen=True, slots=True)
class Wanted:
    """All measures of one foot divided by its length, the missing ones inferred.

    Parameters
    ----------
    ratios : mapping of str to float
        Every measure by key; ``foot_length`` is 1.
    inferred : frozenset of str
        The keys that were not given.
    levels : tuple of (height, girth)
        Further level girths of the leg, rising, none within `SAME_HEIGHT` of ankle or calf.
    drawings : Drawings or None
        Tracings that give the shape between the measures.
    """

    ratios: Mapping[str, float]
    inferred: frozenset[str]
    levels: tuple[tuple[float, float], ...]
    drawings: Drawings | None = None

    def __getitem__(self, key: str) -> float:
        return self.ratios[key]


def wanted_of(foot: Foot) -> Wanted:
    """Return what the last of a foot should measure.

    Raises
    ------
    FootError
        Two girths are given for one height of the leg, or a level girth is smaller than the
        ankle girth, which is the smallest of the leg by definition.
    """
    length = foot.foot_length_mm
    drawings = drawings_of(foot) if foot.mesh is None else None
    complete = complete_measures(foot) if drawings is None else _completed(foot, drawings)
    ratios = {key: value / length for key, value in complete.values_mm.items()}
    levels = _merged_levels(foot)
    _fit_leg_to_levels(ratios, complete.inferred, levels)
    if foot.mesh is None:
        _check_levels(foot, ratios, complete.inferred, levels)
    named = [ratios[height] for height, _ in LEG_MEASURES]
    apart = tuple(
        (height, girth)
        for height, girth in levels
        if min(abs(height - place) for place in named) > SAME_HEIGHT
    )
    return Wanted(ratios, complete.inferred, apart, drawings)


def _completed(foot: Foot, drawings: Drawings) -> CompleteMeasures:
    """Return all measures, those not given as the drawings show them or inferred from those.

    What a drawing shows is left out where it cannot go with a measure that was given.
    """
    given = dict(foot.measures_mm)
    shown = drawings.measures(given.get("heel_raise", 0.0) / foot.foot_length_mm)
    for key, value in shown.items():
        tried = {key: value * foot.foot_length_mm} | given
        if not foot_problems(foot.name, tried):
            given = tried
    complete = complete_measures(Foot(foot.name, given))
    inferred = frozenset(key for key in complete.values_mm if key not in foot.measures_mm)
    return CompleteMeasures(complete.values_mm, inferred, complete.most_helpful)


def ankle_search(ratios: Mapping[str, float]) -> tuple[float, float]:
    """Return the heights between which the smallest level girth is looked for.

    By definition 0.22 to 0.70 of the foot's length above the heel; wider where the ankle was
    measured outside of that.
    """
    seat = ratios["heel_raise"]
    ankle = ratios["ankle_height"]
    return min(0.22 + seat, ankle - 0.04), max(0.70 + seat, ankle + 0.04)


def _merged_levels(foot: Foot) -> list[tuple[float, float]]:
    """Return level girths by rising height, those of one place drawn together."""
    length = foot.foot_length_mm
    merged: list[tuple[float, float]] = []
    for level in sorted(foot.level_girths, key=lambda level: (level.height_mm, level.girth_mm)):
        height, girth = level.height_mm / length, level.girth_mm / length
        if merged and height - merged[-1][0] < SAME_HEIGHT:
            if abs(girth / merged[-1][1] - 1.0) > SAME_GIRTH:
                other = (merged[-1][0] * length, merged[-1][1] * length)
                raise _two_girths(other, (level.height_mm, level.girth_mm))
            continue
        merged.append((height, girth))
    return merged


def _two_girths(one: tuple[float, float], other: tuple[float, float]) -> FootError:
    """Return the error for two (height, girth) in mm that no leg can have so near each other."""
    text = (
        f"The level girths at {one[0]:.1f} mm ({one[1]:.1f} mm) and at {other[0]:.1f} mm"
        f" ({other[1]:.1f} mm) cannot both be right: one place of the leg has one girth."
        " Measure both again, or leave one out."
    )
    return FootError(
        text,
        field="level_girths",
        code="level-girths-contradict",
        height_mm=one[0],
        given_mm=one[1],
        other_height_mm=other[0],
        other_mm=other[1],
    )


def _fit_leg_to_levels(
    ratios: dict[str, float], inferred: frozenset[str], levels: list[tuple[float, float]]
) -> None:
    """Let inferred girths of ankle and calf follow the level girths that were given."""
    if not levels:
        return
    low, high = ankle_search(ratios)
    if "ankle_girth" in inferred:
        near = [girth for height, girth in levels if low <= height <= high]
        ratios["ankle_girth"] = min([ratios["ankle_girth"], *near])
    above = [pair for pair in levels if pair[0] > ratios["ankle_height"]]
    if "calf_girth" in inferred and above:
        heights = [ratios["ankle_height"], *(height for height, _ in above)]
        girths = [ratios["ankle_girth"], *(girth for _, girth in above)]
        ratios["calf_girth"] = float(np.interp(ratios["calf_height"], heights, girths))


def _check_levels(
    foot: Foot,
    ratios: Mapping[str, float],
    inferred: frozenset[str],
    levels: list[tuple[float, float]],
) -> None:
    length = foot.foot_length_mm
    named = [(ratios[place], ratios[key]) for place, key in LEG_MEASURES] if levels else []
    for (low, below), (high, above) in pairwise(sorted([*levels, *named])):
        if abs(above - below) > SAME_GIRTH * below + STEEPEST * (high - low):
            raise _two_girths((low * length, below * length), (high * length, above * length))
    low, high = ankle_search(ratios)
    for height, girth in levels:
        small = girth < ratios["ankle_girth"] * (1.0 - ANKLE_SLACK)
        if small and low <= height <= high and "ankle_girth" not in inferred:
            text = (
                f"The level girth at {height * length:g} mm is {girth * length:g} mm, less than"
                f" the ankle girth of {ratios['ankle_girth'] * length:g} mm; the ankle girth is"
                " the smallest of the leg. Measure both again."
            )
            raise FootError(
                text,
                field="level_girths",
                code="level-below-ankle",
                given_mm=girth * length,
                other_mm=ratios["ankle_girth"] * length,
            )
