"""The workshop's own sizes: feet graded by stated steps, and which feet a size fits."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from patterns.errors import FootError
from patterns.foot import Foot, LevelGirth
from patterns.measures import complete_measures

GIRTHS = ("ball_girth", "instep_girth", "heel_instep_girth", "ankle_girth", "calf_girth")
# Compared when feet are matched: what decides whether a shoe goes on and stays on.
FITTED = ("foot_length", "ball_girth", "instep_girth", "heel_instep_girth", "ankle_girth")


def graded_foot(
    foot: Foot, *, length_step_mm: float, girth_step_mm: float, steps: int, name: str = ""
) -> Foot:
    """Return a foot so many steps larger: longer by a length step, its girths by a girth step.

    Widths and heights that lie across the foot grow as its girths do, those along it as its
    length does.

    Parameters
    ----------
    foot : Foot
        The foot to begin with; without a mesh or tracings, which cannot be graded.
    length_step_mm, girth_step_mm : float
        From one size to the next; the girth step is that of the ball, other girths keep their
        proportion to it. A handbook of 1902 ("The Manufacture of Boots and Shoes", Chapman &
        Hall) grades the ball by 9/16 of the length step up to size 10 and by 3/4 above.
    steps : int
        How many sizes up; down if less than nothing.
    name : str
        Name of the new foot.

    Raises
    ------
    FootError
        The foot is known by its surface, or the graded one cannot be.
    """
    if foot.mesh is not None or foot.sole_outline_mm or foot.side_profile_mm:
        text = "A foot known by a mesh or a tracing cannot be graded; grade from its measures."
        raise FootError(text, field="foot", code="grade-surface")
    known = complete_measures(foot).values_mm
    along = 1.0 + steps * length_step_mm / known["foot_length"]
    across = 1.0 + steps * girth_step_mm / known["ball_girth"]
    if along <= 0 or across <= 0:
        text = f"{steps} steps of {length_step_mm:g} mm leave nothing of the foot; take fewer."
        raise FootError(text, field="steps", code="grade-too-far")
    lengths = ("foot_length", "ankle_height", "calf_height", "heel_raise")
    measures = {
        key: round(value * (along if key in lengths else across), 4)
        for key, value in known.items()
        if key in foot.measures_mm or key in lengths
    }
    levels = tuple(
        LevelGirth(round(level.height_mm * along, 4), round(level.girth_mm * across, 4))
        for level in foot.level_girths
    )
    knee = foot.knee_clearance_mm
    return replace(
        foot,
        name=name or f"{foot.name} {steps:+d}",
        measures_mm=measures,
        level_girths=levels,
        knee_clearance_mm=None if knee is None else round(knee * along, 4),
    )


@dataclass(frozen=True, slots=True)
class SizeFit:
    """How a foot differs from a house size: each measure's foot minus size, in mm."""

    size: str
    differences_mm: tuple[tuple[str, float], ...]

    @property
    def most_mm(self) -> float:
        """Return the greatest difference, either way."""
        return max(abs(difference) for _, difference in self.differences_mm)


def nearest_sizes(foot: Foot, sizes: Sequence[Foot]) -> list[SizeFit]:
    """Return how a foot differs from each house size, the nearest first."""
    known = complete_measures(foot).values_mm
    fits = []
    for size in sizes:
        other = complete_measures(size).values_mm
        fits.append(SizeFit(size.name, tuple((key, known[key] - other[key]) for key in FITTED)))
    return sorted(fits, key=lambda fit: fit.most_mm)
