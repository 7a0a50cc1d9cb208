"""Last: closed sections on a fan of planes, from the toe's tip to the top of the shaft."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import numpy.typing as npt

from patterns.pieces.piece import BuiltMeasure

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Last:
    """A form as closed sections, each on a plane of its own.

    The planes stand upright from the toe to the instep, turn about the ankle, and lie level in
    the shaft. Station 0 is the tip of the toe, drawn together to one point; the last station is
    the flat top. On each section turn 0 is the middle of the sole (in the leg: of the back),
    then the turns go up the outer side, over the middle of the top (in the leg: of the front) at
    half of all turns, and down the inner side.

    Parameters
    ----------
    grid_mm : array of shape (stations, turns, 3)
        Points in the foot's frame: x heel to toe, y to the lateral side of a left foot, z up.
        `turns` is even.
    instep_station : int
        The upright section half way along the foot, the first that belongs to the fan.
    ankle_station : int
        The first level section.
    sole_mm : array of shape (n, 2)
        The sole seen from the side, (x, z) with x rising: where the ground of the shoe lies.
    foot_length_mm, heel_raise_mm : float
        Of the foot itself.
    lateral_sign : int
        1 on a left foot, -1 on a right one: the sign of y on the outer side.
    measures : tuple of BuiltMeasure
        Each measure as asked for and as found again on the built surface of the bare foot.
    source_kind : {"measures", "tracing", "mesh"}
        What the shape was taken from.
    thickness_mm : float
        What has been added all round the foot so far; 0 is the bare foot.
    """

    grid_mm: FloatArray
    instep_station: int
    ankle_station: int
    sole_mm: FloatArray
    foot_length_mm: float
    heel_raise_mm: float
    lateral_sign: int
    measures: tuple[BuiltMeasure, ...]
    source_kind: Literal["measures", "tracing", "mesh"]
    thickness_mm: float = 0.0

    @property
    def station_count(self) -> int:
        """Return how many sections there are, the tip of the toe included."""
        return int(self.grid_mm.shape[0])

    @property
    def turn_count(self) -> int:
        """Return how many points a section has."""
        return int(self.grid_mm.shape[1])

    @property
    def top_mm(self) -> float:
        """Return the height up to which the whole last reaches."""
        return float(self.grid_mm[-1, :, 2].min())

    def sole_height_mm(self, x_mm: FloatArray) -> FloatArray:
        """Return the height of the sole at stations along the foot, its ends held beyond them."""
        heights = np.interp(x_mm, self.sole_mm[:, 0], self.sole_mm[:, 1])
        return np.asarray(heights, dtype=float)

    @cached_property
    def points_mm(self) -> FloatArray:
        """Return the surface's points, shape (1 + (stations - 1) * turns, 3), the tip first."""
        rest = self.grid_mm[1:].reshape(-1, 3)
        return np.vstack([self.grid_mm[:1, 0], rest])

    @cached_property
    def triangles(self) -> IntArray:
        """Return the surface's triangles, seen counter-clockwise from outside; the top is open.

        Each square of the grid is parted by its shorter diagonal.
        """
        turns, stations = self.turn_count, self.station_count
        index = 1 + np.arange((stations - 1) * turns).reshape(stations - 1, turns)
        here, beside = index, np.roll(index, -1, axis=1)
        cap = np.column_stack([np.zeros(turns, dtype=np.int64), here[0], beside[0]])
        a, b, c, d = here[:-1].ravel(), beside[:-1].ravel(), here[1:].ravel(), beside[1:].ravel()
        points = self.points_mm
        across = np.linalg.norm(points[a] - points[d], axis=1)
        other = np.linalg.norm(points[b] - points[c], axis=1)
        short = (across <= other)[:, None]
        first = np.where(short, np.column_stack([a, c, d]), np.column_stack([a, c, b]))
        second = np.where(short, np.column_stack([a, d, b]), np.column_stack([b, c, d]))
        # On a left foot the turns run towards +y at the bottom first, seen from the toe.
        triangles = np.vstack([cap, first, second])
        return triangles if self.lateral_sign > 0 else triangles[:, ::-1].copy()
