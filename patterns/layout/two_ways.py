"""The two ways of searching taken together, and the best layout either has found.

Overlap relaxation packs more into a hide that is too small for all that is asked; ruin and
recreate, on the raster, pushes together what fits and weighs several hides against one another.
"""

from concurrent.futures import Executor

from patterns.layout.check import layout_faults
from patterns.layout.ground import piece_areas_mm2
from patterns.layout.objective import Rank
from patterns.layout.relax.relaxer import Relaxer
from patterns.layout.sets import copies_laid, sets_of_copies
from patterns.layout.table import Table
from patterns.layout.tries import Tries
from patterns.layout.values import Layout, Placement

# With every piece laid, this many steps without a smaller cut end the search.
SETTLED_STEPS = 400
EASY_SHARE = 0.62  # asked of the leather; up to this the raster alone mostly lays everything
RASTER_FIRST_STEPS = 4  # go to the raster, but for the very first where much is asked
RASTER_EVERY = 8  # of the later steps one goes to the raster


class TwoWays:
    """Both searches of one request; a step is one of either."""

    def __init__(self, table: Table, seed: int, executor: Executor) -> None:
        self._table = table
        self._seed = seed
        self._raster = Tries(table, seed)
        self._relaxer = Relaxer(table, seed, executor)
        self.step = 0
        self._best_step = 0
        self._best_rank: Rank | None = None
        self._placements: tuple[Placement, ...] = table.request.fixed
        self._areas = piece_areas_mm2(table.request)
        asked_mm2 = sum(kind.area_mm2 * kind.quantity for kind in table.kinds)
        self._is_easy = asked_mm2 <= EASY_SHARE * table.usable_mm2

    def advance(self, share: float) -> None:
        """Make one step; ``share`` is how much of the time allowed has passed."""
        way = self._raster if self._raster_is_next() else self._relaxer
        if isinstance(way, Tries):
            way.advance(share)
        else:
            way.advance()
        worth = way.best_rank
        if worth is not None and (self._best_rank is None or worth > self._best_rank):
            placements = way.placements()
            # The exact check: what breaks a rule is never shown.
            if not layout_faults(self._table.request, placements):
                self._best_rank, self._placements = worth, placements
                self._best_step = self.step
                # What the raster filled best, the relaxation squeezes more into.
                self._relaxer.adopt(placements, worth)
        self.step += 1

    def settled(self) -> bool:
        """Tell whether nothing is left to gain: all laid, and no smaller cut for long."""
        all_laid = len(self._placements) == sum(kind.quantity for kind in self._table.kinds)
        nothing = not self._placements
        return (all_laid or nothing) and self.step - self._best_step >= SETTLED_STEPS

    def best_layout(self) -> Layout:
        """Return the best so far, which has passed the exact check."""
        request = self._table.request
        laid = copies_laid(self._placements)
        return Layout(
            placements=self._placements,
            placed=len(self._placements),
            requested=sum(piece.quantity for piece in request.pieces),
            complete_sets=sum(sets_of_copies(request.pieces, laid).values()),
            used_area_mm2=sum(self._areas[row.id] for row in self._placements),
            usable_area_mm2=self._table.usable_mm2,
            seed=self._seed,
            steps=self.step,
        )

    def _raster_is_next(self) -> bool:
        if self._raster.step and self._raster.all_laid():
            return True
        if self._relaxer.best_rank is not None and self._relaxer.all_laid():
            return True
        if not self.step:
            return self._is_easy or len(self._table.request.hides) > 1
        return self.step < RASTER_FIRST_STEPS or not self.step % RASTER_EVERY
