"""Whether the foot comes into the boot, looked at from the topline down to the heel."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from patterns.drafting.girths import HEEL_CORNER_SHARE
from patterns.drafting.lay_flat import FlatPart
from patterns.geometry.runs import contour_runs
from patterns.last.last import FloatArray, Last
from patterns.pieces.piece import EntryLevel

LEVELS = 24
LOWEST_SHARE = 0.16  # of foot length over the seat: below it the heel has come in
THROAT = (0.35, 0.62)  # of foot length: where the shortest way over heel and instep meets the ridge
THROAT_STEPS = 12


@dataclass(frozen=True, slots=True)
class Opening:
    """How a closing opens: `gap_mm` at its lower end, `spread` mm more for each mm above it.

    Sides that are laced or buckled swing apart about the lower end of their slit, which lies on
    the ridge at the station `from_mm` along the foot.
    """

    gap_mm: float
    spread: float
    from_mm: float

    def at_mm(self, last: Last, height_mm: float) -> float:
        """Return how far it opens at a height; 0 below its lower end."""
        ridge = last.grid_mm[:, last.turn_count // 2]
        way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ridge, axis=0), axis=1))])
        start = int(np.abs(ridge[: last.ankle_station, 0] - self.from_mm).argmin())
        above = np.flatnonzero(ridge[start:, 2] >= height_mm)
        if not len(above) or height_mm < ridge[start, 2]:
            return 0.0
        return self.gap_mm + self.spread * float(way[start + above[0]] - way[start])


def entry_levels(
    last: Last, parts: Sequence[FlatPart], openings: Sequence[Opening]
) -> list[EntryLevel]:
    """Return for levels from the topline down what must pass there and what the boot opens to.

    A cast foot cannot point its toe: what must pass every level above the heel is the shortest
    girth over heel and instep, with what it wears. A level opens to the leather there, laid out,
    and to the gap in front: as wide as on the last, or as far as the closing lets it open.

    Parameters
    ----------
    last : Last
        The last at the middle of the upper.
    parts : sequence of FlatPart
        The pieces of the upper, laid flat.
    openings : sequence of Opening
        The closings there are; at each level the one that opens furthest counts.
    """
    if not parts:
        return []
    needs = heel_passage_mm(last)
    top = max(float(part.part.surface.points_mm[:, 2].max()) for part in parts)
    low = last.heel_raise_mm + LOWEST_SHARE * last.foot_length_mm
    levels = []
    for height in np.linspace(top, low, LEVELS + 1)[1:] + 1e-4:
        whole = _level_mm(last.points_mm, last.triangles, float(height))
        leather = gap = 0.0
        for part in parts:
            surface = part.part.surface
            runs = contour_runs(
                surface.points_mm, surface.triangles, surface.points_mm[:, 2], float(height)
            )
            gap -= sum(run.length_mm(surface.points_mm) for run in runs)
            leather += sum(run.length_mm(part.flat_mm) for run in runs)
        gap += whole
        if leather == 0.0:
            continue
        opened = [opening.at_mm(last, float(height)) for opening in openings]
        opens = leather + max(gap, *opened, 0.0)
        levels.append(EntryLevel(float(height), needs, opens))
    return levels


def _level_mm(points: FloatArray, triangles: np.ndarray, height: float) -> float:
    runs = contour_runs(points, triangles, points[:, 2], height)
    return sum(run.length_mm(points) for run in runs)


def heel_passage_mm(last: Last) -> float:
    """Return the shortest girth over the rear of the heel and the ridge of the instep."""
    points, triangles, length = last.points_mm, last.triangles, last.foot_length_mm
    heel = np.array([HEEL_CORNER_SHARE * length, 0.0, last.heel_raise_mm])
    ridge = last.grid_mm[:, last.turn_count // 2]
    found = []
    for share in np.linspace(*THROAT, THROAT_STEPS):
        place = ridge[int(np.abs(ridge[: last.ankle_station, 0] - share * length).argmin())]
        normal = np.cross(place - heel, [0.0, 1.0, 0.0])
        values = (points - heel) @ (normal / np.linalg.norm(normal)) + 1e-4
        ahead = points[triangles].mean(axis=1)[:, 2] <= place[2] + 0.02 * length
        runs = contour_runs(points, triangles[ahead], values, 0.0)
        found.append(sum(run.length_mm(points) for run in runs))
    return min(found)
