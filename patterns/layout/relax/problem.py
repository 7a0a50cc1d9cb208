"""What the outer search knows of a request: areas, sets, and the worth of pieces laid."""

import math
from collections.abc import Sequence

import numpy as np

from patterns.geometry.convex import IntArray
from patterns.layout.check import layout_faults
from patterns.layout.objective import Rank, needed_copies, rank_of, set_counts
from patterns.layout.orientations import laid_ring
from patterns.layout.relax.fit import Fit
from patterns.layout.relax.tables import Rooms
from patterns.layout.relax.world import World, placement_of, rooms_of, world_of
from patterns.layout.table import Table
from patterns.layout.values import Placement


class Problem:
    """A request, its arrays, and the pieces that lie already."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self.request, self.kinds = table.request, table.kinds
        self.world: World = world_of(self.request, self.kinds)
        self.area_mm2 = np.array([kind.area_mm2 for kind in self.kinds])
        self.form_of = np.array(self.world.form_of)
        self.kind_of = np.array([form.kind for form in self.world.forms])
        fixed = np.array(table.fixed_counts, dtype=np.int64).sum(axis=0)
        self.fixed_copies: IntArray = fixed
        # Copies that may still be laid, by kind; more fixed ones than asked are refused earlier.
        self.most: IntArray = np.array([kind.quantity for kind in self.kinds]) - fixed
        self.fixed: Fit = self.fit_of(self.request.fixed)
        self.asked = set_counts(self.kinds, [kind.quantity for kind in self.kinds])

    def copies(self, fit: Fit) -> IntArray:
        """Return the copies of each kind laid, without the fixed ones."""
        found: IntArray = np.bincount(self.kind_of[fit.shapes], minlength=len(self.kinds))
        return found

    def sets(self, fit: Fit) -> dict[str, int]:
        """Return the complete sets by name, the fixed pieces counted in."""
        return set_counts(self.kinds, (self.copies(fit) + self.fixed_copies).tolist())

    def needed(self, aim: dict[str, int]) -> IntArray:
        """Return the copies to lay for so many sets, beside the fixed ones."""
        needed = np.array(needed_copies(self.kinds, aim), dtype=np.int64)
        found: IntArray = np.clip(needed - self.fixed_copies, 0, self.most)
        return found

    def rooms(self, hides: Sequence[int]) -> Rooms:
        """Return the boxes of some hides."""
        return rooms_of(self.request, self.world.shift_mm, hides)

    def hides_of(self, fit: Fit) -> IntArray:
        """Return the number of the hide each piece lies on."""
        starts = self.world.start_x_mm
        found: IntArray = np.searchsorted(starts, fit.places[:, 0], side="right") - 1
        return np.clip(found, 0, len(starts) - 1)

    def rank(self, fit: Fit) -> Rank:
        """Return the worth of a fit."""
        hides = self.hides_of(fit)
        counts = [list(row) for row in self.table.fixed_counts]
        for hide, kind in zip(hides.tolist(), self.kind_of[fit.shapes].tolist(), strict=True):
            counts[hide][kind] += 1
        return rank_of(self.table, counts, self._occupied_mm2(fit, hides))

    def placements(self, fit: Fit) -> tuple[Placement, ...]:
        """Return fixed and laid pieces in the hides' coordinates, hide by hide."""
        hides = self.hides_of(fit)
        order = np.lexsort((fit.places[:, 1], fit.places[:, 0], fit.shapes, hides))
        laid = [
            placement_of(
                self.world,
                self.request,
                self.kinds,
                fit.places[number],
                int(fit.shapes[number]),
                int(hides[number]),
            )
            for number in order.tolist()
        ]
        return (*self.request.fixed, *laid)

    def holds(self, fit: Fit) -> bool:
        """Tell whether the exact check finds no fault."""
        return not layout_faults(self.request, self.placements(fit))

    def _occupied_mm2(self, fit: Fit, hides: IntArray) -> float:
        total = 0.0
        for number, cut_map in enumerate(self.table.cut_maps):
            boxes = [self._bounds(fit, n) for n in np.flatnonzero(hides == number).tolist()]
            dx, dy = self.world.shift_mm[number]
            boxes = [(x0 - dx, y0 - dy, x1 - dx, y1 - dy) for x0, y0, x1, y1 in boxes]
            fixed = self.table.fixed_bounds[number]
            boxes += [fixed] if fixed is not None else []
            if boxes:
                lows, highs = np.array(boxes).min(axis=0), np.array(boxes).max(axis=0)
                total += cut_map.occupied_mm2(
                    (float(lows[0]), float(lows[1]), float(highs[2]), float(highs[3]))
                )
        return total

    def _bounds(self, fit: Fit, number: int) -> tuple[float, float, float, float]:
        x, y, angle, _ = fit.places[number].tolist()
        ring = laid_ring(self.world.outlines[int(fit.shapes[number])], math.degrees(angle), False)
        (x0, y0), (x1, y1) = ring.min(axis=0).tolist(), ring.max(axis=0).tolist()
        return x + x0, y + y0, x + x1, y + y1

    def fit_of(self, placements: Sequence[Placement]) -> Fit:
        """Return placements as pieces of the search."""
        numbers = {hide.id: number for number, hide in enumerate(self.request.hides)}
        shapes, places = [], np.zeros((len(placements), 4))
        for index, row in enumerate(placements):
            shape = next(
                number
                for number, form in enumerate(self.world.forms)
                if self.kinds[form.kind].piece.id == row.id and form.mirrored == row.mirrored
            )
            shapes.append(shape)
            dx, dy = self.world.shift_mm[numbers[row.container]]
            middle = np.array([self.world.forms[shape].middle])
            turned = laid_ring(middle, row.rotation_deg, False)[0]
            angle = math.radians(row.rotation_deg)
            x, y = row.x_mm + dx + float(turned[0]), row.y_mm + dy + float(turned[1])
            places[index] = (x, y, angle, self._turn_near(shape, angle))
        return Fit(np.array(shapes, dtype=np.int64), places)

    def _turn_near(self, shape: int, angle: float) -> float:
        """Return the allowed turn nearest to an angle, whole turns off if need be."""
        shapes = self.world.shapes
        turns = shapes.turns[shapes.turn_first[shape] : shapes.turn_first[shape + 1]]
        off = (turns - angle + math.pi) % (2.0 * math.pi) - math.pi
        return angle + float(off[np.abs(off).argmin()])
