"""Trying a foot on by paper: strips whose marks must meet, and the foot as they correct it.

A strip is 4 mm wide and goes round the foot where a girth is taken. Its cut end lies over a scale
whose nought is as far along as the girth the pattern is drawn from. Where the end falls beyond the
nought the strip is short, and the foot by so much larger. Common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from patterns.errors import FootError
from patterns.foot import LEVEL_GIRTHS_MOST, Foot, LevelGirth
from patterns.last import build_last
from patterns.last.measuring import GridTape
from patterns.measures import complete_measures

STRIP_GIRTHS = ("ball_girth", "instep_girth", "heel_instep_girth", "ankle_girth", "calf_girth")
TOPLINE = "topline"
INSOLE = "insole"  # corrects the foot length
STRIP_MM = 4.0
SCALE_MM = 8  # to either side of the nought
SAME_HEIGHT_MM = 0.5  # a level girth nearer than this to the topline is the topline's


@dataclass(frozen=True, slots=True)
class Strip:
    """One strip: the key of its girth or ``topline``, how long to the nought, and at what height.

    ``height_mm`` is the topline's above the ground, None for the foot's own girths.
    """

    key: str
    girth_mm: float
    height_mm: float | None = None


def strips_of(foot: Foot, *, topline_mm: float | None = None) -> tuple[Strip, ...]:
    """Return the strips of a foot, each girth as the pattern takes it, given or inferred.

    Parameters
    ----------
    foot : Foot
    topline_mm : float, optional
        Height of a boot's topline; its girth is taken on the last of the bare foot.

    Raises
    ------
    FootError
        The topline lies below the ankle, where no level girth is taken, or beyond the leg.
    """
    values = complete_measures(foot).values_mm
    strips = tuple(Strip(key, values[key]) for key in STRIP_GIRTHS)
    if topline_mm is None:
        return strips
    if not values["ankle_height"] <= topline_mm <= 5 * foot.foot_length_mm:
        text = (
            f"The topline is {topline_mm:g} mm high; a strip goes round the leg from the ankle at"
            f" {values['ankle_height']:g} mm up to {5 * foot.foot_length_mm:g} mm."
        )
        raise FootError(text, field="topline_mm", code="topline-height")
    tape = GridTape(build_last(foot, top_mm=topline_mm + SAME_HEIGHT_MM).grid_mm)
    return (*strips, Strip(TOPLINE, tape.level_girth(topline_mm), topline_mm))


def corrected_foot(foot: Foot, strips: tuple[Strip, ...], larger_mm: Mapping[str, float]) -> Foot:
    """Return the foot as tried on: each girth answered for counts as measured from now on.

    Parameters
    ----------
    foot : Foot
        The one the sheet was printed for.
    strips : tuple of Strip
        Those on the sheet.
    larger_mm : mapping
        By a strip's key or ``insole``: how much larger than the sheet the foot is; less than
        nothing where the strip's end passed the nought, 0 where they met.

    Raises
    ------
    FootError
        The corrected measures cannot be one foot's.

    Examples
    --------
    >>> foot = Foot("wren", {"foot_length": 75.0, "ball_girth": 74.0})
    >>> tried = corrected_foot(foot, strips_of(foot), {"ball_girth": 1.5, "insole": -0.5})
    >>> tried.measures_mm
    {'foot_length': 74.5, 'ball_girth': 75.5}
    """
    measures, levels = dict(foot.measures_mm), foot.level_girths
    for strip in strips:
        if strip.key not in larger_mm:
            continue
        girth_mm = round(strip.girth_mm + larger_mm[strip.key], 3)
        if strip.height_mm is None:
            measures[strip.key] = girth_mm
        else:
            levels = _with_level(levels, LevelGirth(round(strip.height_mm, 3), girth_mm))
    if INSOLE in larger_mm:
        measures["foot_length"] = round(foot.foot_length_mm + larger_mm[INSOLE], 3)
    return replace(foot, measures_mm=measures, level_girths=levels)


def _with_level(levels: tuple[LevelGirth, ...], new: LevelGirth) -> tuple[LevelGirth, ...]:
    kept = [row for row in levels if abs(row.height_mm - new.height_mm) > SAME_HEIGHT_MM]
    if len(kept) >= LEVEL_GIRTHS_MOST:
        text = f"The foot has {LEVEL_GIRTHS_MOST} level girths already; take one out first."
        raise FootError(text, field="level_girths", code="level-girths-many")
    return tuple(sorted([*kept, new], key=lambda row: row.height_mm))
