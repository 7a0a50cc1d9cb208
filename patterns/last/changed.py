"""A last made from a mesh with single girths made longer or shorter, as a maker corrects them."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from patterns.errors import StyleError
from patterns.last.last import FloatArray, Last

REACH_SHARE = 0.12  # of foot length: how far along the foot a changed girth is felt
BALL_SHARE = 0.68  # of foot length: about where the ball girth crosses the ridge
HEEL_INSTEP_SHARE = 0.45  # of the fan: the plane that goes through the corner of the heel


def girths_changed(last: Last, changes_mm: Mapping[str, float]) -> Last:
    """Return the last with girths changed at their places, fading out along foot and leg.

    A last fitted to measures is fitted anew instead; this is for one whose shape is a mesh.

    Parameters
    ----------
    last : Last
        The last as it is.
    changes_mm : mapping of str to float
        Change by measure: ball, instep, heel-instep, ankle or calf girth.

    Raises
    ------
    StyleError
        Another measure: a mesh has its own.
    """
    grid = last.grid_mm
    ridge = grid[:, last.turn_count // 2]
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ridge, axis=0), axis=1))])
    girths = _girths(grid)
    scale = np.ones(last.station_count)
    for measure, change_mm in changes_mm.items():
        at = _station(last, measure)
        near = np.exp(-(((way - way[at]) / (REACH_SHARE * last.foot_length_mm)) ** 2))
        scale += near * change_mm / girths[at]
    # A section of the foot stands on the sole; one of the leg grows to all sides.
    lift = np.clip((np.arange(last.station_count) - last.instep_station)
                   / (last.ankle_station - last.instep_station), 0.0, 1.0)  # fmt: skip
    middle = grid.mean(axis=1)
    centre = grid[:, 0] + lift[:, None] * (middle - grid[:, 0])
    moved = centre[:, None] + scale[:, None, None] * (grid - centre[:, None])
    moved[0] = grid[0]
    return replace(last, grid_mm=moved)


def _girths(grid: FloatArray) -> FloatArray:
    steps = np.linalg.norm(np.roll(grid, -1, axis=1) - grid, axis=2)
    return np.asarray(np.maximum(steps.sum(axis=1), 1e-9))


def _station(last: Last, measure: str) -> int:
    upright = last.grid_mm[: last.instep_station, 0, 0]
    if measure == "ball_girth":
        return int(np.abs(upright - BALL_SHARE * last.foot_length_mm).argmin())
    if measure == "instep_girth":
        return last.instep_station
    if measure == "heel_instep_girth":
        fan = last.ankle_station - last.instep_station
        return last.instep_station + round(HEEL_INSTEP_SHARE * fan)
    if measure in ("ankle_girth", "calf_girth"):
        built = {m.name: m.built_mm for m in last.measures}
        height_mm = built[measure.replace("girth", "height")]
        heights = last.grid_mm[:, :, 2].mean(axis=1)
        leg = np.arange(last.station_count) >= last.ankle_station
        return int(np.where(leg, np.abs(heights - height_mm), np.inf).argmin())
    text = (
        f"The foot is known by a mesh: its {measure.replace('_', ' ')} cannot be corrected."
        " Correct a girth, or move a line."
    )
    raise StyleError(text, field=f"corrections.girth:{measure}", code="correction-mesh")
