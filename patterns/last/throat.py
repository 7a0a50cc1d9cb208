"""Level girths asked for below the level sections, where the leg comes out of the foot."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.interpolate import PchipInterpolator

from patterns.last.measuring import GridTape
from patterns.last.shape import Shape
from patterns.last.wanted import Wanted

FloatArray = npt.NDArray[np.float64]

ABOVE_INSTEP = 0.01  # of foot length: broader or slimmer only above this, so no other girth moves
HEEL_PART = 0.15  # of foot length above the seat: the heel's width is taken below this
ROOM = 0.02  # of foot length: a level girth nearer to either end cannot be met by breadth
ROUNDS = 6
# A breadth changes a level girth by about this share of its own change.
BREADTH_SHARE = 0.45
SLIMMER_MOST, BROADER_MOST = -0.45, 0.8


def with_low_levels(shape: Shape, wanted: Wanted) -> Shape:
    """Return a shape made broader or slimmer between instep and leg to meet low level girths.

    Level girths at or below the instep's height are left as they come: a level section there
    runs through the whole foot.
    """
    start = float(shape.grid[shape.ankle_station, 0, 2])
    heel_part = HEEL_PART + wanted["heel_raise"]
    floor = max(wanted["instep_height"], heel_part) + ABOVE_INSTEP
    levels = [pair for pair in wanted.levels if floor + ROOM < pair[0] < start - ROOM]
    if not levels:
        return shape
    heights = np.array([height for height, _ in levels])
    asked = np.array([girth for _, girth in levels])
    broader = np.zeros(len(levels))
    for _ in range(ROUNDS):
        tape = GridTape(_broadened(shape, floor, start, heights, broader))
        found = np.array([tape.level_girth(float(height)) for height in heights])
        if np.abs(found / asked - 1.0).max() < 1e-6:
            break
        step = (asked / found - 1.0) / BREADTH_SHARE
        broader = np.clip(broader + step, SLIMMER_MOST, BROADER_MOST)
    return replace(shape, grid=_broadened(shape, floor, start, heights, broader))


def _broadened(
    shape: Shape, floor: float, start: float, heights: FloatArray, broader: FloatArray
) -> FloatArray:
    """Return the grid with the fan's breadth changed by a share that follows the height."""
    places = np.concatenate([[floor - 1.0, floor], heights, [start, start + 1.0]])
    share = PchipInterpolator(places, np.concatenate([[0.0, 0.0], broader, [0.0, 0.0]]))
    grid = shape.grid.copy()
    fan = grid[shape.instep_station + 1 : shape.ankle_station]
    fan[..., 1] *= 1.0 + share(np.clip(fan[..., 2], floor, start))
    return grid
