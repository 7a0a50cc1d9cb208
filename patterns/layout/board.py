"""A hide as a grid of places: how many things stand in the way of each piece at each of them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon, box

from patterns.geometry.convex import (
    ConvexStack,
    FloatArray,
    cells_of_runs,
    convex_parts,
    grown,
    stacked,
    sum_runs,
)
from patterns.hide import Hide
from patterns.layout.ground import polygons_of
from patterns.layout.orientations import (
    Kind,
    Orientation,
    grown_parts,
    laid_ring,
    simpler_around,
)
from patterns.layout.values import LayoutRequest, Placement
from patterns.pieces.piece import Ring

Counts = npt.NDArray[np.unsignedinteger[Any]]

# A graded area is checked by the area lying on it, so a hair's breadth is kept off it.
GRADE_MARGIN_MM = 2e-3
# In a box, the sum of both reaches decides between places that widen it alike.
TIE_SHARE = 0.05
OBSTACLE_CORNERS_MAX = 400
OBSTACLE_SIMPLER_MM = (0.05, 0.1, 0.2, 0.4, 0.8)


class Cell(NamedTuple):
    """A free place for a piece: lower score is further along the packing direction."""

    score: float
    orientation: int
    row: int
    column: int


class Pull(NamedTuple):
    """Where pieces are drawn to: the place that reaches least far along (x, y) is taken.

    Boxed, the longer of the two reaches counts, each from the hide's side, so that pieces fill a
    box in a corner; else their sum, so that they fill up to a slanting line.
    """

    x: float
    y: float
    boxed: bool = False


class Window(NamedTuple):
    """A block of the grid, the ends not included."""

    top: int
    bottom: int
    left: int
    right: int


@dataclass(frozen=True, slots=True)
class Mask:
    """Cells barred around a laid piece, as 0 and 1; ``row`` and ``column`` place its corner."""

    cells: Counts
    row: int
    column: int


class NoFitMasks:
    """The places where one piece would touch another, for every two orientations."""

    def __init__(self, orientations: Sequence[Orientation], grid_mm: float, dtype: Any) -> None:
        self._orientations = orientations
        self._grid_mm = grid_mm
        self._dtype = dtype
        self._masks: dict[tuple[int, int], Mask] = {}
        self._rows: dict[int, tuple[list[Mask], Window]] = {}

    def masks_of(self, laid: int) -> list[Mask]:
        """Return the places barred to each orientation in turn, relative to where one lies."""
        return self._row(laid)[0]

    def reach_of(self, laid: int) -> Window:
        """Return the block, relative to where a piece lies, in which it bars any place."""
        return self._row(laid)[1]

    def _row(self, laid: int) -> tuple[list[Mask], Window]:
        found = self._rows.get(laid)
        if found is None:
            masks = [self._mask(laid, other) for other in range(len(self._orientations))]
            reach = Window(
                min(mask.row for mask in masks),
                max(mask.row + mask.cells.shape[0] for mask in masks),
                min(mask.column for mask in masks),
                max(mask.column + mask.cells.shape[1] for mask in masks),
            )
            found = self._rows[laid] = (masks, reach)
        return found

    def _mask(self, laid: int, other: int) -> Mask:
        found = self._masks.get((laid, other))
        if found is None:
            found = self._masks[(laid, other)] = self._made(laid, other)
            # What bars one from the other bars the other from the one, seen the other way.
            cells = np.ascontiguousarray(found.cells[::-1, ::-1])
            height, width = cells.shape
            back = Mask(cells, 1 - found.row - height, 1 - found.column - width)
            self._masks.setdefault((other, laid), back)
        return found

    def _made(self, laid: int, other: int) -> Mask:
        one, two = self._orientations[laid].grown, self._orientations[other].turned_grown
        runs = sum_runs(one, two, self._grid_mm)
        if not len(runs.row):
            return Mask(np.zeros((0, 0), self._dtype), 0, 0)
        bottom, left = int(runs.row.min()), int(runs.first.min())
        rows, columns = int(runs.row.max()) - bottom + 1, int(runs.last.max()) - left + 1
        cells = cells_of_runs(runs, bottom=bottom, left=left, rows=rows, columns=columns)
        return Mask(cells.astype(self._dtype), bottom, left)


class Board:
    """One hide's grid; ``counts[orientation, row, column]`` is 0 where the piece may lie."""

    def __init__(
        self,
        hide: Hide,
        request: LayoutRequest,
        kinds: Sequence[Kind],
        orientations: Sequence[Orientation],
        masks: NoFitMasks,
        grid_mm: float,
        dtype: Any,
    ) -> None:
        self.hide = hide
        self.grid_mm = grid_mm
        self._orientations = orientations
        self._masks = masks
        x0, y0, x1, y1 = Polygon(hide.outline_mm).bounds
        self.origin_mm = (x0, y0)
        self.size_mm = (x1 - x0, y1 - y0)
        self.rows = int((y1 - y0) / grid_mm + 1e-9) + 1
        self.columns = int((x1 - x0) / grid_mm + 1e-9) + 1
        self.counts: Counts = np.ones((len(orientations), self.rows, self.columns), dtype)
        self._bar_hide(request, kinds)
        self._fits_empty = [bool((layer == 0).any()) for layer in self.counts]
        self._bar_fixed(request)
        self._kept = self.counts.copy()
        self._touched: list[Window] = []

    def bar(self, orientation: int, obstacle: ConvexStack, piece: ConvexStack) -> None:
        """Bar the places where a piece, given mirrored through its origin, meets an obstacle."""
        runs = sum_runs(obstacle, piece, self.grid_mm)
        barred = cells_of_runs(runs, bottom=0, left=0, rows=self.rows, columns=self.columns)
        self.counts[orientation][barred] = 1

    def stamp(self, orientation: int, row: int, column: int, *, remove: bool = False) -> None:
        """Count a piece laid at a place in, or out again."""
        change = np.subtract if remove else np.add
        masks = self._masks.masks_of(orientation)
        for layer, mask in zip(self.counts, masks, strict=True):
            height, width = mask.cells.shape
            top, left = row + mask.row, column + mask.column
            bottom, right = top + height, left + width
            if top >= 0 and left >= 0 and bottom <= self.rows and right <= self.columns:
                there = layer[top:bottom, left:right]
                change(there, mask.cells, out=there)
            elif bottom > 0 and right > 0 and top < self.rows and left < self.columns:
                there = layer[max(0, top) : bottom, max(0, left) : right]
                first_row, first = max(0, -top), max(0, -left)
                cells = mask.cells[
                    first_row : first_row + there.shape[0], first : first + there.shape[1]
                ]
                change(there, cells, out=there)
        reach = self._masks.reach_of(orientation)
        self._touched.append(
            Window(row + reach.top, row + reach.bottom, column + reach.left, column + reach.right)
        )

    def keep(self) -> None:
        """Take the counts as they are for those to go back to."""
        for part in self._touched_part():
            self._kept[part] = self.counts[part]

    def go_back(self) -> None:
        """Bring the counts back to those last kept."""
        for part in self._touched_part():
            self.counts[part] = self._kept[part]

    def _touched_part(self) -> list[tuple[slice, slice, slice]]:
        """Return the block changed since the counts were last kept, and forget it."""
        touched, self._touched = self._touched, []
        if not touched:
            return []
        block = self.clipped(
            Window(
                min(window.top for window in touched),
                max(window.bottom for window in touched),
                min(window.left for window in touched),
                max(window.right for window in touched),
            )
        )
        return [(slice(None), slice(block.top, block.bottom), slice(block.left, block.right))]

    def fits_empty(self, orientation: int) -> bool:
        """Tell whether a piece fits the hide with nothing on it, fixed pieces left aside."""
        return self._fits_empty[orientation]

    def whole(self) -> Window:
        """Return the window of the whole grid."""
        return Window(0, self.rows, 0, self.columns)

    def clipped(self, window: Window) -> Window:
        """Return the part of a window that lies on the grid."""
        return Window(
            max(0, window.top),
            min(self.rows, window.bottom),
            max(0, window.left),
            min(self.columns, window.right),
        )

    def scores(self, pull: Pull, window: Window) -> FloatArray:
        """Return how far along a pull the reference point in each cell lies, flattened."""
        rows, columns = self._axes(pull, window)
        along: FloatArray = np.add.outer(rows, columns).ravel()
        return along

    def best_cell(
        self, candidates: Iterable[int], pull: Pull, window: Window, scores: FloatArray
    ) -> Cell | None:
        """Return the free place whose piece reaches least far along a pull, if any."""
        best: Cell | None = None
        width = window.right - window.left
        for orientation in candidates:
            there = self.counts[orientation, window.top : window.bottom, window.left : window.right]
            free = np.flatnonzero(there == 0)
            if not len(free):
                continue
            reach_x, reach_y = self._reach(orientation, pull)
            if pull.boxed:
                scores = self._boxed_scores(pull, window, reach_x, reach_y)
                reach_x = reach_y = 0.0
            at = int(free[scores[free].argmin()])
            score = float(scores[at]) + reach_x + reach_y
            if best is None or score < best.score:
                row, column = divmod(at, width)
                best = Cell(score, orientation, window.top + row, window.left + column)
        return best

    def placement(self, piece: str, orientation: int, row: int, column: int) -> Placement:
        """Return a laid piece in the hide's own coordinates."""
        way = self._orientations[orientation]
        return Placement(
            id=piece,
            container=self.hide.id,
            x_mm=round(self.origin_mm[0] + column * self.grid_mm, 6),
            y_mm=round(self.origin_mm[1] + row * self.grid_mm, 6),
            rotation_deg=way.rotation_deg,
            mirrored=way.mirrored,
        )

    def _axes(self, pull: Pull, window: Window) -> tuple[FloatArray, FloatArray]:
        """Return how far along the pull rows and columns lie, from the sides it draws to."""
        rows = np.arange(window.top, window.bottom) * (pull.y * self.grid_mm)
        columns = np.arange(window.left, window.right) * (pull.x * self.grid_mm)
        from_left = -pull.x * self.size_mm[0] if pull.x < 0.0 else 0.0
        from_bottom = -pull.y * self.size_mm[1] if pull.y < 0.0 else 0.0
        return rows + from_bottom, columns + from_left

    def _boxed_scores(
        self, pull: Pull, window: Window, reach_x: float, reach_y: float
    ) -> FloatArray:
        rows, columns = self._axes(pull, window)
        rows, columns = rows + reach_y, columns + reach_x
        scores: FloatArray = np.maximum.outer(rows, columns)
        scores += TIE_SHARE * np.add.outer(rows, columns)
        return scores.ravel()

    def _reach(self, orientation: int, pull: Pull) -> tuple[float, float]:
        """Return how much further than its reference point a piece reaches, along x and y."""
        x0, y0, x1, y1 = self._orientations[orientation].bounds_mm
        return pull.x * (x1 if pull.x >= 0 else x0), pull.y * (y1 if pull.y >= 0 else y0)

    def _bar_hide(self, request: LayoutRequest, kinds: Sequence[Kind]) -> None:
        edge = request.edge_spacing_mm
        around = _stack_at(grown(_obstacle_parts(self.hide), edge), self.origin_mm)
        graded = [
            (area.grade, _graded_stack(area.outline_mm, self.origin_mm)) for area in self.hide.areas
        ]
        for number, way in enumerate(self._orientations):
            self._open_inside(number, way, edge)
            if around is not None:
                self.bar(number, around, way.turned_plain)
            least = kinds[way.kind].piece.grade
            for grade, stack in graded:
                if least is not None and grade > least:
                    self.bar(number, stack, way.turned_plain)

    def _open_inside(self, number: int, way: Orientation, edge_mm: float) -> None:
        x0, y0, x1, y1 = way.bounds_mm
        slack = 1e-6
        left = int(np.ceil((edge_mm - x0 - slack) / self.grid_mm))
        right = int(np.floor((self.size_mm[0] - edge_mm - x1 + slack) / self.grid_mm))
        top = int(np.ceil((edge_mm - y0 - slack) / self.grid_mm))
        bottom = int(np.floor((self.size_mm[1] - edge_mm - y1 + slack) / self.grid_mm))
        if right >= max(left, 0) and bottom >= max(top, 0):
            self.counts[number, max(top, 0) : bottom + 1, max(left, 0) : right + 1] = 0

    def _bar_fixed(self, request: LayoutRequest) -> None:
        pieces = {piece.id: piece for piece in request.pieces}
        for row in request.fixed:
            if row.container != self.hide.id:
                continue
            offset = (row.x_mm - self.origin_mm[0], row.y_mm - self.origin_mm[1])
            parts = [
                laid_ring(part, row.rotation_deg, row.mirrored) + offset
                for part in grown_parts(pieces[row.id], request.spacing_mm / 2.0)
            ]
            obstacle = stacked(parts)
            for number, way in enumerate(self._orientations):
                self.bar(number, obstacle, way.turned_grown)


def _graded_stack(outline_mm: Ring, origin_mm: tuple[float, float]) -> ConvexStack:
    parts = grown(convex_parts(Polygon(outline_mm)), GRADE_MARGIN_MM)
    return stacked([part - origin_mm for part in parts])


def _stack_at(parts: list[FloatArray], origin_mm: tuple[float, float]) -> ConvexStack | None:
    return stacked([part - origin_mm for part in parts]) if parts else None


def _obstacle_parts(hide: Hide) -> list[FloatArray]:
    """Return what is not usable inside the hide's bounding box, as convex parts."""
    outer = Polygon(hide.outline_mm)
    barred = shapely.union_all(
        [box(*outer.bounds).difference(outer), *[Polygon(ring) for ring in hide.defects_mm]]
    )
    found = polygons_of(barred)
    for within_mm in OBSTACLE_SIMPLER_MM:
        if sum(len(shapely.get_coordinates(shape)) for shape in found) <= OBSTACLE_CORNERS_MAX:
            break
        found = [_simpler_obstacle(shape, within_mm) for shape in polygons_of(barred)]
    return [part for shape in found for part in convex_parts(shape)]


def _simpler_obstacle(shape: Polygon, within_mm: float) -> Polygon:
    if shape.interiors:  # filling its holes would bar good leather
        return shape
    simpler = simpler_around(shape, within_mm)
    # A much larger result has closed a ring round good leather.
    if simpler is None or simpler.area > shape.area + 4.0 * within_mm * shape.length:
        return shape
    return simpler
