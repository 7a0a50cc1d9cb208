"""View: a form in space seen from one side, and which parts of a line on it can be seen."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from patterns.pieces.piece import Point

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

# Of the longest extent: the cells in which the nearest surface is noted, and how far behind it a
# line still counts as lying on it.
CELL_SHARE = 1 / 110
BEHIND_CELLS = 2.0
FINER = 4  # points put between two of the grid's, so that no cell is missed
SHORTEST_RUN_CELLS = 1.5


@dataclass(frozen=True, slots=True)
class View:
    """A direction to look from: what lies to the right and what lies up on the paper."""

    name: str
    right: tuple[float, float, float]
    up: tuple[float, float, float]

    def flat(self, points_mm: FloatArray) -> FloatArray:
        """Return where points come to lie on the paper, shape (..., 2)."""
        return np.asarray(points_mm @ np.array([self.right, self.up]).T, dtype=float)

    def nearness(self, points_mm: FloatArray) -> FloatArray:
        """Return how far towards the eye points lie."""
        return np.asarray(points_mm @ np.cross(self.right, self.up), dtype=float)


def shadow(view: View, grid_mm: FloatArray) -> tuple[Point, ...]:
    """Return the outline of a form of closed sections, shape (stations, turns, 3), as seen.

    Neighbouring sections are spanned by their common hull, which is exact where each is convex.
    """
    flat = view.flat(grid_mm)
    spans = [
        shapely.convex_hull(shapely.multipoints(np.vstack([flat[k], flat[k + 1]])))
        for k in range(len(flat) - 1)
    ]
    # Spans of one shared line touch without overlapping: grown by a hair they join for sure.
    whole = shapely.union_all([span.buffer(0.02) for span in spans]).buffer(-0.02)
    if whole.geom_type == "MultiPolygon":
        whole = max(whole.geoms, key=lambda part: float(part.area))
    ring = shapely.Polygon(whole.exterior).simplify(0.02)
    return tuple((float(x), float(y)) for x, y in ring.exterior.coords[:-1])


class NearSurface:
    """How near the nearest surface is in every cell of a view."""

    def __init__(self, view: View, grid_mm: FloatArray) -> None:
        self._note(view, _finer(grid_mm).reshape(-1, 3))

    @classmethod
    def of_points(cls, view: View, points_mm: FloatArray) -> "NearSurface":
        """Return what points hide that lie close together on a surface, shape (n, 3)."""
        surface = cls.__new__(cls)
        surface._note(view, points_mm)
        return surface

    def _note(self, view: View, points: FloatArray) -> None:
        self.view = view
        flat = view.flat(points)
        self._origin = flat.min(axis=0)
        self.cell_mm = float(np.ptp(flat, axis=0).max()) * CELL_SHARE
        across, high = self._cells(flat).max(axis=0) + 1
        self._nearest = np.full((int(across), int(high)), -np.inf)
        cells = self._cells(flat)
        np.maximum.at(self._nearest, (cells[:, 0], cells[:, 1]), view.nearness(points))
        self._nearest = _least_round(self._nearest)

    def _cells(self, flat: FloatArray) -> npt.NDArray[np.int64]:
        return np.asarray((flat - self._origin) / self.cell_mm, dtype=np.int64)

    def seen(self, points_mm: FloatArray) -> BoolArray:
        """Return which points of the surface are not hidden behind other parts of it."""
        cells = np.clip(
            self._cells(self.view.flat(points_mm)), 0, np.array(self._nearest.shape) - 1
        )
        nearest = self._nearest[cells[:, 0], cells[:, 1]]
        behind = nearest - self.view.nearness(points_mm)
        return np.asarray(behind <= BEHIND_CELLS * self.cell_mm, dtype=bool)

    def seen_runs(self, line_mm: FloatArray, *, closed: bool = False) -> list[tuple[Point, ...]]:
        """Return the parts of a line on the surface that can be seen, as they lie on the paper."""
        fine = _finer_line(line_mm, self.cell_mm, closed=closed)
        visible = self.seen(fine)
        if closed and not visible.all() and visible.any():
            start = int(np.flatnonzero(~visible)[0])
            fine, visible = np.roll(fine, -start, axis=0), np.roll(visible, -start)
        elif closed:
            fine, visible = np.vstack([fine, fine[:1]]), np.append(visible, visible[0])
        flat = self.view.flat(fine)
        ends = np.flatnonzero(np.diff(np.concatenate([[False], visible, [False]]).astype(int)))
        return [
            _thinned(flat[first:last])
            for first, last in zip(ends[::2], ends[1::2], strict=True)
            if _length(flat[first:last]) > SHORTEST_RUN_CELLS * self.cell_mm
        ]


def _least_round(nearest: FloatArray) -> FloatArray:
    """Return the least value among a cell and its neighbours, those with no surface left out.

    Where a surface runs almost along the line of sight, points of one cell lie far apart in depth.
    """
    padded = np.pad(np.where(np.isfinite(nearest), nearest, np.inf), 1, constant_values=np.inf)
    across, high = nearest.shape
    shifts = [padded[i : i + across, k : k + high] for i in range(3) for k in range(3)]
    return np.asarray(np.minimum.reduce(shifts), dtype=float)


def _length(flat: FloatArray) -> float:
    return float(np.linalg.norm(np.diff(flat, axis=0), axis=1).sum())


def _thinned(flat: FloatArray) -> tuple[Point, ...]:
    line = shapely.LineString(flat).simplify(0.02)
    return tuple((float(x), float(y)) for x, y in line.coords)


def _finer(grid_mm: FloatArray) -> FloatArray:
    """Return the grid with points put between its own, and its flat top closed."""
    around = np.concatenate([grid_mm, grid_mm[:, :1]], axis=1)
    turned = _between(around, 1)[:, :-1]
    middle = np.broadcast_to(turned[-1].mean(axis=0), turned[-1].shape)
    top = _between(np.stack([turned[-1], (turned[-1] + middle) / 2, middle]), 0)
    top = _between(top, 0)
    return np.concatenate([_between(turned, 0), top])


def _between(values: FloatArray, axis: int) -> FloatArray:
    """Return the values with `FINER` - 1 more between any two along an axis."""
    moved = np.moveaxis(values, axis, 0)
    shares = np.arange(FINER)[:, None] / FINER
    steps = [(1 - s) * moved[:-1] + s * moved[1:] for s in shares.ravel()]
    woven = np.stack(steps, axis=1).reshape(-1, *moved.shape[1:])
    return np.moveaxis(np.concatenate([woven, moved[-1:]]), 0, axis)


def _finer_line(line_mm: FloatArray, step_mm: float, *, closed: bool) -> FloatArray:
    line = np.vstack([line_mm, line_mm[:1]]) if closed else line_mm
    along = np.concatenate([[0.0], np.linalg.norm(np.diff(line, axis=0), axis=1).cumsum()])
    count = max(2, int(along[-1] / (step_mm / 2)) + 1)
    at = np.linspace(0.0, along[-1], count)
    fine = np.column_stack([np.interp(at, along, line[:, k]) for k in range(3)])
    return fine[:-1] if closed else fine
