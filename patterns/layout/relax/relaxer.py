"""Two chains at once, each on a core of its own, and the best layout they have found."""

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from functools import partial

from patterns.layout.objective import Rank
from patterns.layout.relax.chain import Chain
from patterns.layout.relax.fit import Fit, empty_fit
from patterns.layout.relax.problem import Problem
from patterns.layout.table import Table
from patterns.layout.values import Placement

CHAINS = 2  # always two, on one core or more: so the result depends on the seed alone


class Relaxer:
    """The chains and the best fit; every step of theirs begins from that best."""

    def __init__(self, table: Table, seed: int, executor: Executor) -> None:
        self._problem = Problem(table)
        self._chains = [Chain(self._problem, seed, number) for number in range(CHAINS)]
        self._executor = executor
        self._openings = 0
        self._best: Fit = empty_fit()
        self.best_rank: Rank | None = None

    def advance(self) -> bool:
        """Let every chain make a step; tell whether the best has become better."""
        if self.best_rank is None or not self._best.count:
            first = self._openings
            self._openings += CHAINS
            steps: list[Callable[[], Fit | None]] = [
                partial(chain.open, first + number) for number, chain in enumerate(self._chains)
            ]
        else:
            steps = [partial(chain.advance, self._best) for chain in self._chains]
        found = list(self._executor.map(lambda step: step(), steps))
        # Every one is looked at: the second may be better than the first.
        better = [self._keep_if_better(fit) for fit in found if fit is not None]
        return any(better)

    def adopt(self, placements: Sequence[Placement], worth: Rank) -> None:
        """Go on from a layout found elsewhere, if it is better than the best."""
        if self.best_rank is None or worth > self.best_rank:
            laid = placements[len(self._problem.request.fixed) :]
            self._best, self.best_rank = self._problem.fit_of(laid), worth

    def placements(self) -> tuple[Placement, ...]:
        """Return the best fit in the hides' coordinates."""
        return self._problem.placements(self._best)

    def all_laid(self) -> bool:
        """Tell whether every copy asked for lies there."""
        return bool((self._problem.copies(self._best) == self._problem.most).all())

    def _keep_if_better(self, fit: Fit) -> bool:
        worth = self._problem.rank(fit)
        if self.best_rank is not None and worth <= self.best_rank:
            return False
        # What the exact check refuses is dropped, never mended: the next step finds another.
        if not self._problem.holds(fit):
            return False
        self._best, self.best_rank = fit, worth
        return True
