"""One try after another: lay greedily, then take some pieces up and lay them again, better.

Every piece goes to the free place that reaches least far along a pull; free places are exact,
because the boards count for each piece and place what stands in the way. A step takes up a few
neighbouring pieces, lays what fits in another order and pull, and keeps the result if it is
not much worse; how much worse it may be shrinks as time runs out.

Source of the idea to ruin and recreate: Schrimpf et al., "Record breaking optimization results
using the ruin and recreate principle", Journal of Computational Physics 159 (2000), 139-171.
"""

import math
from collections.abc import Sequence

import numpy as np

from patterns.geometry.convex import FloatArray
from patterns.layout.aims import Aims
from patterns.layout.board import Pull, Window
from patterns.layout.objective import Rank, climb_value, opened_cost, rank
from patterns.layout.table import Laid, Table
from patterns.layout.values import Placement

LARGEST_FIRST_SHARE = 0.8  # of the choices take the largest piece left, the others any
LIFTED_MIN = 2
LIFTED_PARAMETER = 0.4  # of the geometric distribution: 2.5 pieces more on average
FRESH_SHARE = 0.3  # share of steps that lay everything afresh once every piece fits
NEAR_SHARE = 0.5  # of a hide's places: looking at fewer first pays
BOXED_SHARE = 0.6  # of the fresh starts go into a corner, the others to a side
AXIS_TILT_RAD = 0.1  # a slight tilt breaks ties between places along an edge

HideWindow = tuple[int, Window | None]  # None for the whole hide
WindowScores = tuple[Window, FloatArray]


class Tries:
    """The state of one search: the table, the best found and what is aimed at."""

    def __init__(self, table: Table, seed: int) -> None:
        self.table = table
        self.step = 0
        self._random = np.random.default_rng(seed)
        self._smallest_mm2 = min(kind.area_mm2 for kind in table.kinds)
        self._aims = Aims(table, self._random)
        self._home = Pull(1.0, 0.0)
        self._best: list[Laid] = []
        self._best_rank: Rank | None = None

    def advance(self, share: float) -> None:
        """Make one step; ``share`` is how much of the time allowed has passed."""
        if not self.step:
            self._lay_afresh()
        else:
            afresh = self._aims.change(self.step, self._best)
            self.table.keep()
            if afresh and any(self.table.left):
                self._lay_afresh()
            elif any(self.table.left) or not self.table.laid:
                self._lay_again(share)
            else:
                self._tighten(share)
        self._keep_if_best()
        self.step += 1

    @property
    def best_rank(self) -> Rank | None:
        """Return the worth of the best so far."""
        return self._best_rank

    def placements(self) -> tuple[Placement, ...]:
        """Return the best so far in the hides' coordinates."""
        return self.table.placements(self._best)

    def all_laid(self) -> bool:
        """Tell whether every copy asked for lies there."""
        return len(self._best) == len(self.table.laid) + sum(self.table.left)

    # Steps

    def _lay_afresh(self) -> None:
        self.table.lift(range(len(self.table.laid)))
        self._home = self._home_pull()
        self._fill(self._hides_in_turn(), self._home, noise=0.2)

    def _lay_again(self, share: float) -> None:
        """Take up neighbours somewhere and lay what fits there in another way."""
        table = self.table
        value_before = self._value()
        hides: list[HideWindow] = self._hides_in_turn()
        if table.laid:
            gone = self._neighbours()
            window = table.window_round(gone)
            table.lift([table.laid.index(laid) for laid in gone])
            first = gone[0].board
            hides = [(first, window), *[row for row in hides if row[0] != first]]
        self._fill(hides, self._any_pull(), noise=0.5)
        self._close_idle_hides()
        self._accept(value_before, self._smallest_mm2 * 0.9 * (1.0 - share))

    def _tighten(self, share: float) -> None:
        """With all pieces laid: lay some again so that less of the hides is cut off."""
        table = self.table
        value_before, home_before = self._value(), self._home
        if self._random.random() < FRESH_SHARE:
            self._lay_afresh()
        else:
            gone = self._frontier() if self._random.random() < 0.6 else self._neighbours()
            table.lift([table.laid.index(laid) for laid in gone])
            self._fill(self._hides_in_turn(), self._home, noise=0.5)
        self._close_idle_hides()
        if not self._accept(value_before, self._smallest_mm2 * 0.05 * (1.0 - share)):
            self._home = home_before

    def _accept(self, value_before: float, slack_mm2: float) -> bool:
        """Keep the step if it is better than ever or hardly worse than before; tell whether."""
        better = self._best_rank is not None and self._rank() > self._best_rank
        least = value_before - slack_mm2 * float(self._random.random())
        if not better and self._value() < least:
            self.table.go_back()
            return False
        return True

    def _keep_if_best(self) -> None:
        found = self._rank()
        if self._best_rank is None or found > self._best_rank:
            self._best_rank = found
            self._best = list(self.table.laid)

    def _rank(self) -> Rank:
        return rank(self.table, self.table.counts())

    def _value(self) -> float:
        needed = self._aims.needed()
        return climb_value(self.table, self.table.counts(), needed)

    # Laying

    def _fill(self, hides: Sequence[HideWindow], pull: Pull, *, noise: float) -> None:
        """Lay what the sets aimed at need, then whatever else fits."""
        kinds = self.table.kinds
        copies = self.table.copies_of(self.table.laid)
        needed = self._aims.needed()
        missing = [max(0, need - count) for need, count in zip(needed, copies, strict=True)]
        shuffle = np.exp(noise * self._random.standard_normal(len(kinds)))
        order = sorted(range(len(kinds)), key=lambda k: -kinds[k].area_mm2 * float(shuffle[k]))
        scores = {number: self._scores(number, window, pull) for number, window in hides}
        dead = self._lay_wanted(order, missing, scores, pull, set())
        if any(self._aims.most.values()) and len(self.table.request.hides) > 1:
            scores = {n: row for n, row in scores.items() if self._may_take_odd(n)}
        self._lay_wanted(order, self.table.left, scores, pull, dead)

    def _lay_wanted(
        self,
        order: Sequence[int],
        wanted: list[int],
        scores: dict[int, WindowScores],
        pull: Pull,
        dead: set[int],
    ) -> set[int]:
        """Lay copies until none is wanted or none fits; return the kinds that fit no more."""
        while True:
            todo = [k for k in order if min(wanted[k], self.table.left[k]) > 0 and k not in dead]
            if not todo:
                return dead
            kind = todo[0]
            if self._random.random() > LARGEST_FIRST_SHARE:
                kind = todo[int(self._random.integers(len(todo)))]
            laid = self._place_for(kind, scores, pull)
            if laid is None:
                dead.add(kind)
                continue
            self.table.lay(laid)
            if wanted is not self.table.left:
                wanted[kind] -= 1

    def _place_for(self, kind: int, scores: dict[int, WindowScores], pull: Pull) -> Laid | None:
        ways = self.table.ways[kind]
        for number, (window, along) in scores.items():
            board = self.table.boards[number]
            cell = None
            if window == board.whole():
                near = self._near(number, pull)
                if near is not None:
                    cell = board.best_cell(ways, pull, near, board.scores(pull, near))
            if cell is None:
                cell = board.best_cell(ways, pull, window, along)
            if cell is not None:
                return Laid(number, cell.orientation, cell.row, cell.column)
        return None

    def _near(self, number: int, pull: Pull) -> Window | None:
        """Return a window that holds the best free place, if it holds any; None if not small.

        Beyond the pieces laid by more than a piece's reach, every place lies further along the
        pull than one beside them.
        """
        board = self.table.boards[number]
        rows = [laid.row for laid in self.table.laid if laid.board == number]
        columns = [laid.column for laid in self.table.laid if laid.board == number]
        if not rows:
            return None
        top, bottom, left, right = board.whole()
        reach = self.table.reach_cells
        if pull.boxed or abs(pull.x) > abs(pull.y):
            left = left if pull.x > 0 else min(columns) - reach
            right = max(columns) + reach + 1 if pull.x > 0 else right
        if pull.boxed or abs(pull.x) <= abs(pull.y):
            top = top if pull.y > 0 else min(rows) - reach
            bottom = max(rows) + reach + 1 if pull.y > 0 else bottom
        near = board.clipped(Window(top, bottom, left, right))
        cells = (near.bottom - near.top) * (near.right - near.left)
        return near if cells < NEAR_SHARE * board.rows * board.columns else None

    def _scores(self, number: int, window: Window | None, pull: Pull) -> WindowScores:
        board = self.table.boards[number]
        clipped = board.whole() if window is None else board.clipped(window)
        return clipped, board.scores(pull, clipped)

    # Hides

    def _hides_in_turn(self) -> list[HideWindow]:
        """Return the hides in the order to fill: mostly cheap ones first, large ones first."""
        hides = self.table.request.hides
        if len(hides) == 1:
            return [(0, None)]
        opened = {laid.board for laid in self.table.laid}
        areas = [cut_map.usable_mm2 for cut_map in self.table.cut_maps]
        worth = [
            (float(hide.cost) if hide.cost is not None else 0.0) / area
            for hide, area in zip(hides, areas, strict=True)
        ]
        way = int(self._random.integers(3))
        jitter = np.exp(0.3 * self._random.standard_normal(len(hides)))
        if way == 0:
            key = [float(j) * w for j, w in zip(jitter, worth, strict=True)]
        elif way == 1:
            key = [-float(j) * a for j, a in zip(jitter, areas, strict=True)]
        else:
            key = [float(j) for j in jitter]
        order = sorted(range(len(hides)), key=lambda n: (n not in opened, key[n]))
        return [(number, None) for number in order]

    def _may_take_odd(self, number: int) -> bool:
        """Odd pieces never open a hide that costs something."""
        hide = self.table.request.hides[number]
        counts = self.table.counts()
        opened = any(counts[number])
        return opened or not hide.cost or not any(any(row) for row in counts)

    def _close_idle_hides(self) -> None:
        """Take up what lies on a hide whose cost buys no set."""
        if len(self.table.request.hides) == 1 or not opened_cost(self.table, self.table.counts()):
            return
        for number in range(len(self.table.boards)):
            there = [place for place, laid in enumerate(self.table.laid) if laid.board == number]
            if not there:
                continue
            found, state = self._rank(), list(self.table.laid)
            self.table.lift(there)
            if self._rank() < found:
                self.table.restore(state)

    # Choices

    def _neighbours(self) -> list[Laid]:
        """Return a few pieces that lie together, around a random spot."""
        laid = self.table.laid
        spot = laid[int(self._random.integers(len(laid)))]
        board = self.table.boards[spot.board]
        here = [row for row in laid if row.board == spot.board]
        row, column = self._random.uniform(0, board.rows), self._random.uniform(0, board.columns)
        count = int(LIFTED_MIN + self._random.geometric(LIFTED_PARAMETER))
        return sorted(here, key=lambda p: (p.row - row) ** 2 + (p.column - column) ** 2)[:count]

    def _frontier(self) -> list[Laid]:
        """Return the pieces that reach furthest along the pull packed with."""
        pull = self._home

        def reach(laid: Laid) -> float:
            along_x, along_y = pull.x * laid.column, pull.y * laid.row
            return max(along_x, along_y) if pull.boxed else along_x + along_y

        count = int(1 + self._random.geometric(LIFTED_PARAMETER))
        return sorted(self.table.laid, key=lambda laid: -reach(laid))[:count]

    def _home_pull(self) -> Pull:
        """Return a pull to a side, or into a box of some shape in a corner."""
        if self._random.random() < BOXED_SHARE:
            corner = int(self._random.integers(4))
            slant = math.exp(float(self._random.uniform(-1.0, 1.0)))
            return Pull((1.0, -1.0)[corner % 2], (slant, -slant)[corner // 2], boxed=True)
        angle = int(self._random.integers(4)) * math.pi / 2.0
        tilt = float(self._random.uniform(-AXIS_TILT_RAD, AXIS_TILT_RAD))
        return Pull(math.cos(angle + tilt), math.sin(angle + tilt))

    def _any_pull(self) -> Pull:
        if self._random.random() < 0.5:
            angle = float(self._random.uniform(0.0, 2.0 * math.pi))
        else:
            angle = int(self._random.integers(4)) * math.pi / 2.0 + AXIS_TILT_RAD
        return Pull(math.cos(angle), math.sin(angle))
