"""The toes wrapped together: level by level, so that gaps are bridged but nothing is raised."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull, QhullError

from patterns.last.measuring import ball_points
from patterns.mesh_in import FootMesh, section_points

FloatArray = npt.NDArray[np.float64]

LEVELS = 36
TOP_SHARE = 0.35  # of foot length: higher up there is no forefoot, but a leg may lean over it
AHEAD_SHARE = 0.04  # of foot length before the ball: girths up to there stay as they are
LEAST_POINTS = 3


@dataclass(frozen=True)
class ToeWrap:
    """Convex outlines seen from above, each at a height, of all that lies before the ball.

    Parameters
    ----------
    behind_mm : float
        The rearmost station the wrap has to do with.
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


@dataclass(frozen=True)
class _ToeLine:
    """The line from which the toes are wrapped, seen from above: beside that of the ball."""

    inner: FloatArray
    along: FloatArray  # unit, towards the outer side

    @property
    def ahead(self) -> FloatArray:
        """Return the unit direction square to the line, towards the toes."""
        return np.array([self.along[1], -self.along[0]])

    def before(self, points: FloatArray) -> FloatArray:
        """Return the points that lie nearer to the toes than the line does."""
        return points[(points[:, :2] - self.inner) @ self.ahead > 0.0]

    def laid_back(self, along: FloatArray) -> FloatArray:
        """Return places on the line as (x, y)."""
        return self.inner + along[:, None] * self.along


def toe_wrap(mesh: FootMesh, heel_mm: float, ground_mm: float, length_mm: float) -> ToeWrap:
    """Return the wrap of all that lies before the ball of a foot, outer side towards +y.

    It begins a little ahead of where the ball's girth is taken; from there on gaps between toes
    and the hollow beside the smallest are bridged as leather bridges them.
    """
    points = mesh.points_mm
    inner, outer = ball_points(points - [heel_mm, 0.0, ground_mm], length_mm)
    along = outer[:2] - inner[:2]
    start = inner[:2] + np.array([heel_mm + AHEAD_SHARE * length_mm, 0.0])
    line = _ToeLine(start, along / np.linalg.norm(along))
    low = points[points[:, 2] < ground_mm + TOP_SHARE * length_mm]
    top = float(line.before(low)[:, 2].max())
    ball = section_points(mesh, (*line.inner, 0.0), (*line.ahead, 0.0))
    ball = ball[ball[:, 2] < ground_mm + TOP_SHARE * length_mm]
    ball = np.column_stack([(ball[:, :2] - line.inner) @ line.along, ball[:, 2]])
    outlines = []
    for height in ground_mm + (top - ground_mm) * (np.arange(LEVELS) + 0.5) / LEVELS:
        level = section_points(mesh, (0.0, 0.0, float(height)), (0.0, 0.0, 1.0))
        ends = line.laid_back(_cut_at(ball, float(height)))
        outline = _hull(np.vstack([line.before(level)[:, :2], ends]))
        if outline is not None:
            outlines.append((float(height), outline))
    rearmost = min(float(outline[:, 0].min()) for _, outline in outlines)
    return ToeWrap(rearmost, tuple(outlines))


def _cut_at(section: FloatArray, height: float) -> FloatArray:
    """Return the ends of a section's hull at a height, as places along it."""
    outline = _hull(section)
    if outline is None:
        return np.zeros(0)
    start, end = outline, np.roll(outline, -1, axis=0)
    crossing = (start[:, 1] < height) != (end[:, 1] < height)
    a, b = start[crossing], end[crossing]
    return np.asarray(a[:, 0] + (height - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0]))


def _hull(points: FloatArray) -> FloatArray | None:
    if len(points) < LEAST_POINTS:
        return None
    try:
        return np.asarray(points[ConvexHull(points).vertices], dtype=float)
    except QhullError:
        return None
