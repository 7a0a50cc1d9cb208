"""The toes wrapped together: level by level, so that gaps are bridged but nothing is raised."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull, QhullError

from patterns.mesh_in import FootMesh, section_points

FloatArray = npt.NDArray[np.float64]

LEVELS = 36
LEAST_POINTS = 3


@dataclass(frozen=True)
class ToeWrap:
    """Convex outlines seen from above, each at a height, of all that lies before a station.

    Parameters
    ----------
    behind_mm : float
        The station where the wrap begins.
    outlines : tuple of (height, array of shape (n, 2))
    """

    behind_mm: float
    outlines: tuple[tuple[float, FloatArray], ...]

    def section(self, x_mm: float) -> FloatArray:
        """Return points (y, height) on both sides where an upright plane cuts the wrap."""
        start, end, height = self._sides
        crossing = (start[:, 0] < x_mm) != (end[:, 0] < x_mm)
        a, b = start[crossing], end[crossing]
        y = a[:, 1] + (x_mm - a[:, 0]) / (b[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
        return np.column_stack([y, height[crossing]])

    @cached_property
    def _sides(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return both ends of every side of the outlines, and its height."""
        ends = [np.roll(outline, -1, axis=0) for _, outline in self.outlines]
        heights = [np.full(len(outline), height) for height, outline in self.outlines]
        starts = [outline for _, outline in self.outlines]
        return np.vstack(starts), np.vstack(ends), np.concatenate(heights)


def toe_wrap(mesh: FootMesh, behind_mm: float, ground_mm: float) -> ToeWrap:
    """Return the wrap of all that lies before a station."""
    points = mesh.points_mm
    ahead = points[points[:, 0] > behind_mm]
    behind = section_points(mesh, (behind_mm, 0.0, 0.0), (1.0, 0.0, 0.0))
    top = float(ahead[:, 2].max())
    outlines = []
    for height in ground_mm + (top - ground_mm) * (np.arange(LEVELS) + 0.5) / LEVELS:
        level = section_points(mesh, (0.0, 0.0, float(height)), (0.0, 0.0, 1.0))
        level = level[level[:, 0] > behind_mm, :2]
        outline = _hull(np.vstack([level, _cut_at(behind, float(height))]))
        if outline is not None:
            outlines.append((float(height), outline))
    return ToeWrap(behind_mm, tuple(outlines))


def _cut_at(section: FloatArray, height: float) -> FloatArray:
    """Return the ends of a section's hull at a height, as points seen from above."""
    outline = _hull(section[:, 1:])
    if outline is None:
        return np.zeros((0, 2))
    start, end = outline, np.roll(outline, -1, axis=0)
    crossing = (start[:, 1] < height) != (end[:, 1] < height)
    a, b = start[crossing], end[crossing]
    y = a[:, 0] + (height - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return np.column_stack([np.full(len(y), section[0, 0]), y])


def _hull(points: FloatArray) -> FloatArray | None:
    if len(points) < LEAST_POINTS:
        return None
    try:
        return np.asarray(points[ConvexHull(points).vertices], dtype=float)
    except QhullError:
        return None
