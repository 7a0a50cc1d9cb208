"""Whether the foot comes into the boot, looked at from the topline down to the heel."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from patterns.drafting.lay_flat import FlatPart
from patterns.geometry.runs import level_length_mm
from patterns.last.last import FloatArray, Last
from patterns.last.measuring import HEEL_CORNER
from patterns.pieces.piece import EntryLevel

LEVELS = 24
LOWEST_SHARE = 0.16  # of foot length over the seat: below it the heel has come in
BACK_SHARE = 0.1  # of foot length: what lies behind is the back
THROAT = (0.35, 0.62)  # of foot length: where the shortest way over heel and instep meets the ridge
THROAT_STEPS = 12


TOPLINE = "topline"  # the curve over which the foot goes in; levels run along it


@dataclass(frozen=True, slots=True)
class Opening:
    """How a closing opens: `gap_mm` at its lower end, `spread` mm more for each mm above it.

    Sides that are laced or buckled swing apart about the lower end of their slit, which lies on
    the ridge at the station `from_mm` along the foot; a zip opens from the height `above_mm`.
    """

    gap_mm: float
    spread: float
    from_mm: float | None = None
    above_mm: float | None = None

    def at_mm(self, last: Last, above_level: FloatArray, height_mm: float) -> float:
        """Return how far it opens at a level; 0 below its lower end.

        `above_level` is positive on those stations of the ridge that lie above the level,
        `height_mm` the level's own height.
        """
        if self.above_mm is not None:
            way = height_mm - self.above_mm
            return self.gap_mm + self.spread * way if way >= 0.0 else 0.0
        if self.from_mm is None:
            return self.gap_mm
        ridge = last.grid_mm[:, last.turn_count // 2]
        start = int(np.abs(ridge[: last.ankle_station, 0] - self.from_mm).argmin())
        above = np.flatnonzero(above_level[start:] >= 0.0)
        if not len(above) or above_level[start] > 0.0:
            return 0.0
        steps = np.linalg.norm(np.diff(ridge[start : start + above[0] + 1], axis=0), axis=1)
        return self.gap_mm + self.spread * float(steps.sum())


def entry_levels(
    last: Last,
    parts: Sequence[FlatPart],
    openings: Sequence[Opening],
    topline: FloatArray,
    elastic: Mapping[str, float],
) -> list[EntryLevel]:
    """Return for levels from the topline down what must pass there and what the shoe opens to.

    A cast foot cannot point its toe: what must pass every level above the heel is the shortest
    girth over heel and instep, with what it wears. A level opens to the leather there, laid out,
    and to the gap in front: as wide as on the last, or as far as the closing lets it open.

    Parameters
    ----------
    last : Last
        The last at the middle of the upper.
    parts : sequence of FlatPart
        The pieces of the upper, laid flat, cut along the topline.
    openings : sequence of Opening
        The closings there are; at each level the one that opens furthest counts.
    topline : array of shape (points of the last,)
        The topline's function on the last: how far a place lies above it. Levels run along the
        topline, each so much lower; they are named by their height at the back.
    elastic : mapping of str to float
        Pieces of elastic by name, and by which share of their length they stretch.
    """
    if not parts:
        return []
    needs = heel_passage_mm(last)
    high = _back_mm(last, parts)
    low = last.heel_raise_mm + LOWEST_SHARE * last.foot_length_mm
    levels = []
    for height in np.linspace(high, low, LEVELS + 1)[1:]:
        down = float(height) - high + 1e-4
        (gap,) = level_length_mm(last.triangles, topline, down, last.points_mm)
        leather = 0.0
        for part in parts:
            surface = part.part.surface
            on_last, flat = level_length_mm(
                surface.triangles, surface.curves[TOPLINE], down, surface.points_mm, part.flat_mm
            )
            gap -= on_last
            leather += flat * (1.0 + elastic.get(part.name, 0.0))
        if leather == 0.0:
            continue
        ridge = _on_ridge(last, topline) - down
        opened = [opening.at_mm(last, ridge, float(height)) for opening in openings]
        levels.append(EntryLevel(float(height), needs, leather + max(gap, *opened, 0.0)))
    return levels


def _back_mm(last: Last, parts: Sequence[FlatPart]) -> float:
    """Return how high the pieces reach at the back."""
    points = np.concatenate([part.part.surface.points_mm for part in parts])
    back = points[points[:, 0] <= BACK_SHARE * last.foot_length_mm]
    return float((back if len(back) else points)[:, 2].max())


def _on_ridge(last: Last, values: FloatArray) -> FloatArray:
    """Return values at the last's points along the middle of the top, from the tip of the toe."""
    grid = values[1:].reshape(last.station_count - 1, last.turn_count)
    return np.concatenate([values[:1], grid[:, last.turn_count // 2]])


def heel_passage_mm(last: Last) -> float:
    """Return the shortest girth over the rear of the heel and the ridge of the instep."""
    points, triangles, length = last.points_mm, last.triangles, last.foot_length_mm
    heel = np.array([HEEL_CORNER * length, 0.0, last.heel_raise_mm])
    ridge = last.grid_mm[:, last.turn_count // 2]
    found: list[float] = []
    middles = points[triangles].mean(axis=1)[:, 2]
    for share in np.linspace(*THROAT, THROAT_STEPS):
        place = ridge[int(np.abs(ridge[: last.ankle_station, 0] - share * length).argmin())]
        normal = np.cross(place - heel, [0.0, 1.0, 0.0])
        values = (points - heel) @ (normal / np.linalg.norm(normal)) + 1e-4
        ahead = middles <= place[2] + 0.02 * length
        found += level_length_mm(triangles[ahead], values, 0.0, points)
    return min(found)
