"""The table the search works at: every hide's board, the pieces on them and those left over."""

import math
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import numpy as np

from patterns.layout.board import Board, NoFitMasks, Window
from patterns.layout.ground import laid_shape, usable_area_mm2
from patterns.layout.orientations import Kind, Orientation, kinds_of, orientations_of
from patterns.layout.room import too_large_error
from patterns.layout.values import LayoutRequest, Placement
from patterns.layout.waste import Bounds, CutMap

# Grid steps are halves of one another, so that outlines drawn on whole millimetres can touch.
GRID_LADDER_MM = tuple(2.0**power for power in range(4, -11, -1))
STEPS_ACROSS_PIECE = 50  # trials on the sample hides: finer gains little and costs much time
CELLS_MAX = 64_000_000  # one or two bytes each
REFINEMENTS = 2


class Laid(NamedTuple):
    """A piece on a board, at a cell of its grid."""

    board: int
    orientation: int
    row: int
    column: int


class Table:
    """Boards, pieces laid and copies left; lays and lifts pieces, keeping all counts in step."""

    def __init__(self, request: LayoutRequest) -> None:
        self.request = request
        self.kinds: list[Kind] = kinds_of(request)
        self.orientations: list[Orientation] = orientations_of(request, self.kinds)
        self.usable_mm2 = usable_area_mm2(request)
        self.cut_maps = [CutMap(hide) for hide in request.hides]
        self.fixed_bounds = [_fixed_bounds(request, hide.id) for hide in request.hides]
        self.fixed_counts = self._count_fixed()
        self.left = [
            kind.quantity - sum(counts[number] for counts in self.fixed_counts)
            for number, kind in enumerate(self.kinds)
        ]
        self.ways = [
            [n for n, way in enumerate(self.orientations) if way.kind == kind]
            for kind in range(len(self.kinds))
        ]
        self.laid: list[Laid] = []
        self._kept: tuple[list[Laid], list[int]] = ([], list(self.left))
        self.boards = self._fitting_boards()
        self.reach_cells = self._reach_cells()

    def lay(self, laid: Laid) -> None:
        """Lay a piece on a board."""
        self.boards[laid.board].stamp(laid.orientation, laid.row, laid.column)
        self.laid.append(laid)
        self.left[self.orientations[laid.orientation].kind] -= 1

    def lift(self, places: Iterable[int]) -> None:
        """Take up the pieces at those places of the list of laid ones."""
        for place in sorted(places, reverse=True):
            laid = self.laid.pop(place)
            self.boards[laid.board].stamp(laid.orientation, laid.row, laid.column, remove=True)
            self.left[self.orientations[laid.orientation].kind] += 1

    def keep(self) -> None:
        """Take what lies there now for the state to go back to."""
        for board in self.boards:
            board.keep()
        self._kept = (list(self.laid), list(self.left))

    def go_back(self) -> None:
        """Bring everything back to the state last kept."""
        for board in self.boards:
            board.go_back()
        self.laid, self.left = list(self._kept[0]), list(self._kept[1])

    def restore(self, state: Sequence[Laid]) -> None:
        """Bring the boards back to an earlier list of laid pieces."""
        wanted = set(state)
        self.lift([place for place, laid in enumerate(self.laid) if laid not in wanted])
        there = set(self.laid)
        for laid in state:
            if laid not in there:
                self.lay(laid)

    def kind_of(self, laid: Laid) -> int:
        """Return the number of the kind a laid piece is of."""
        return self.orientations[laid.orientation].kind

    def copies_of(self, state: Sequence[Laid]) -> list[int]:
        """Return the copies of each kind in a list of laid pieces, with the fixed ones."""
        copies = [sum(column) for column in zip(*self.fixed_counts, strict=True)]
        for laid in state:
            copies[self.kind_of(laid)] += 1
        return copies

    def counts(self) -> list[list[int]]:
        """Return the copies on each board by kind, the fixed ones included."""
        found = [list(row) for row in self.fixed_counts]
        for laid in self.laid:
            found[laid.board][self.kind_of(laid)] += 1
        return found

    def occupied_mm2(self) -> float:
        """Return about how much leather the laid and fixed pieces take off the hides."""
        bounds = list(self.fixed_bounds)
        for laid in self.laid:
            bounds[laid.board] = _joined(bounds[laid.board], self._bounds(laid))
        return sum(
            cut_map.occupied_mm2(laid_bounds)
            for cut_map, laid_bounds in zip(self.cut_maps, bounds, strict=True)
            if laid_bounds is not None
        )

    def placements(self, state: Sequence[Laid]) -> tuple[Placement, ...]:
        """Return fixed and laid pieces in the hides' coordinates, hide by hide."""
        found = list(self.request.fixed)
        for laid in sorted(state):
            piece = self.kinds[self.kind_of(laid)].piece.id
            board = self.boards[laid.board]
            found.append(board.placement(piece, laid.orientation, laid.row, laid.column))
        return tuple(found)

    def window_round(self, laid: Sequence[Laid]) -> Window:
        """Return the window in which lifting those pieces can have made room."""
        reach = self.reach_cells
        rows, columns = [row.row for row in laid], [row.column for row in laid]
        return Window(
            min(rows) - reach, max(rows) + reach + 1, min(columns) - reach, max(columns) + reach + 1
        )

    def _bounds(self, laid: Laid) -> Bounds:
        board = self.boards[laid.board]
        x = board.origin_mm[0] + laid.column * board.grid_mm
        y = board.origin_mm[1] + laid.row * board.grid_mm
        x0, y0, x1, y1 = self.orientations[laid.orientation].bounds_mm
        return x + x0, y + y0, x + x1, y + y1

    def _count_fixed(self) -> list[list[int]]:
        counts = [[0] * len(self.kinds) for _ in self.request.hides]
        hide_number = {hide.id: number for number, hide in enumerate(self.request.hides)}
        for row in self.request.fixed:
            for number, kind in enumerate(self.kinds):
                if kind.piece.id == row.id and row.mirrored in kind.mirrorings:
                    counts[hide_number[row.container]][number] += 1
        return counts

    def _fitting_boards(self) -> list[Board]:
        """Return boards on which every kind fits somewhere, on a finer grid if it must be."""
        grid_mm = _grid_mm(self.request, self.orientations)
        for _ in range(REFINEMENTS + 1):
            boards = self._boards(grid_mm)
            homeless = self._homeless(boards)
            if not homeless:
                return boards
            grid_mm /= 2.0
            if _cells(self.request, len(self.orientations), grid_mm) > CELLS_MAX:
                break
        piece = self.kinds[homeless[0]].piece.id
        raise too_large_error(
            self.request, piece, [self.orientations[way] for way in self.ways[homeless[0]]]
        )

    def _boards(self, grid_mm: float) -> list[Board]:
        copies = sum(kind.quantity for kind in self.kinds)
        # Each copy adds one at most to a cell, and one stands for what is always barred.
        dtype: Any = np.uint8 if copies + 1 <= np.iinfo(np.uint8).max else np.uint16
        masks = NoFitMasks(self.orientations, grid_mm, dtype)
        return [
            Board(hide, self.request, self.kinds, self.orientations, masks, grid_mm, dtype)
            for hide in self.request.hides
        ]

    def _homeless(self, boards: Sequence[Board]) -> list[int]:
        """Return the kinds still to be laid that fit no hide, not even an empty one."""
        return [
            number
            for number, ways in enumerate(self.ways)
            if self.left[number] > 0
            and not any(board.fits_empty(way) for board in boards for way in ways)
        ]

    def _reach_cells(self) -> int:
        grid_mm = self.boards[0].grid_mm
        most = 0.0
        for way in self.orientations:
            x0, y0, x1, y1 = way.bounds_mm
            most = max(most, x1, y1, -x0, -y0)
        return math.ceil((2.0 * most + self.request.spacing_mm) / grid_mm) + 1


def _grid_mm(request: LayoutRequest, orientations: Sequence[Orientation]) -> float:
    extents = sorted(
        max(way.bounds_mm[2] - way.bounds_mm[0], way.bounds_mm[3] - way.bounds_mm[1])
        for way in orientations
    )
    wanted = extents[len(extents) // 2] / STEPS_ACROSS_PIECE
    grid_mm = next((step for step in GRID_LADDER_MM if step <= wanted), GRID_LADDER_MM[-1])
    while _cells(request, len(orientations), grid_mm) > CELLS_MAX:
        grid_mm *= 2.0
    return grid_mm


def _cells(request: LayoutRequest, orientation_count: int, grid_mm: float) -> float:
    total = 0.0
    for hide in request.hides:
        xs, ys = [x for x, _ in hide.outline_mm], [y for _, y in hide.outline_mm]
        total += ((max(xs) - min(xs)) / grid_mm + 1) * ((max(ys) - min(ys)) / grid_mm + 1)
    return total * orientation_count


def _fixed_bounds(request: LayoutRequest, hide: str) -> Bounds | None:
    pieces = {piece.id: piece for piece in request.pieces}
    bounds: Bounds | None = None
    for row in request.fixed:
        if row.container == hide:
            bounds = _joined(bounds, laid_shape(pieces[row.id], row).bounds)
    return bounds


def _joined(one: Bounds | None, two: Bounds) -> Bounds:
    if one is None:
        return two
    return min(one[0], two[0]), min(one[1], two[1]), max(one[2], two[2]), max(one[3], two[3])
