"""One chain of attempts at more sets and at more leather laid, step after step.

A step goes on with an attempt at one set more or at more leather laid: all pieces thrown down at
once, or some of the best's taken up and others thrown in. All end after so many looks at places,
so that the same seed gives the same steps on any machine.

Trials of 20 s of two cores, medians of four seeds, with four attempts of five from the best and
with every second: 0.760 and 0.7585 of the leather on the sample of 600 by 400 mm. Swapping a few
pieces in every fifth step instead gave 0.765 there against 0.768 without, and no clear difference
on the remnant.
"""

import numpy as np

from patterns.geometry.convex import IntArray
from patterns.layout.relax.fit import Attempt, Fit, empty_fit, thrown
from patterns.layout.relax.problem import Problem
from patterns.layout.relax.separate import SOLVED, STUCK
from patterns.layout.relax.tables import Rooms

STEP_LOOKS = 40_000
OPEN_LOOKS = 300_000  # for the pieces laid from nothing
AREA_LOOKS = 4_000_000  # spent on one attempt at more leather before it is given up
SET_LOOKS = 12_000_000  # and on one at more sets
ATTEMPT_PATIENCE = 10  # moves for each piece without the pressure falling, and it is given up
RAISE_FIRST, RAISE_LEAST = 0.04, 0.004  # of the leather that an attempt lays more than the best
RAISE_SHRINK = 0.5  # after an attempt that failed
EASY_LOOKS = 100_000  # what was solved within so many says nothing against aiming as high again
FRESH_SHARE = 0.3  # of the attempts lay everything anew, the others go on from the best
AREA_EVERY = 4  # of the attempts one is at more leather though a set more is hoped for
CLOSE_OVER = 0.004  # of the leather: so little above what was aimed at, if it can be
LIFTED_MAX = 8  # pieces taken up where an attempt goes on from the best
FIRST_SHARES = (0.7, 0.62, 0.54, 0.46)  # of the leather that whole sets may cover, first guesses
HOPE_SHARE = 0.86  # no set more is tried for that would cover more of the leather
EASY_SHARE = 0.72  # a set more that covers no more than this of it is always tried for
FREE_EASY_SHARE = 0.81  # and where every piece may turn as it likes: such lie closer
SET_FIRST_LOOKS = 15_000_000  # at sets alone, as long as there is hope: pairs count before leather
HOPE_RAISE = 0.025  # nor one that would cover so much more of it than the best
ALL_SHARE = 0.8  # with less asked than this of the leather, all is thrown down at once
CHOICES = 30  # of other pieces to lay instead, before another spot is looked for
HARDLY_MM2 = 1e-3  # less than this is no gain
GROW_MOST = 1.3  # of a piece's area: so much above what is aimed at where nothing is nearer


class Chain:
    """The state of one chain; ``number`` tells which of several it is."""

    def __init__(self, problem: Problem, seed: int, number: int) -> None:
        self._problem = problem
        self._random = np.random.default_rng([seed, number])
        self._raise = RAISE_FIRST
        self._turn = 0
        self._set_looks = 0
        turns_freely = bool((problem.world.shapes.slack >= np.pi).all())
        self._easy_share = FREE_EASY_SHARE if turns_freely else EASY_SHARE
        self._attempt: Attempt | None = None
        self._for_set = False
        self._attempt_worth = (0, 0.0)

    def open(self, number: int) -> Fit:
        """Return pieces laid from nothing; each opening aims lower than the one before."""
        problem = self._problem
        usable = problem.table.usable_mm2
        copies = problem.most
        if number or float((copies * problem.area_mm2).sum()) > ALL_SHARE * usable:
            copies = self._first_copies(FIRST_SHARES[min(number, len(FIRST_SHARES) - 1)])
        shapes = problem.form_of[np.repeat(np.arange(len(copies)), copies)].tolist()
        rooms = problem.world.rooms
        attempt = Attempt(
            problem.world, rooms, thrown(problem.world, rooms, shapes, self._random), problem.fixed
        )
        solved = attempt.go_on(self._random, OPEN_LOOKS, ATTEMPT_PATIENCE) == SOLVED
        return attempt.fit() if solved else attempt.salvaged()

    def advance(self, best: Fit) -> Fit | None:
        """Make one step; return what it found if that may be better than the best."""
        if self._attempt is None or self._attempt_worth <= self._worth(best):
            self._begin_attempt(best)
        attempt = self._attempt
        if attempt is None:
            return None
        before = attempt.looks
        how = attempt.go_on(self._random, STEP_LOOKS, ATTEMPT_PATIENCE)
        if self._for_set:
            self._set_looks += attempt.looks - before
        if how == SOLVED:
            self._attempt = None
            self._aim_after(attempt.looks)
            return attempt.fit()
        if how == STUCK or attempt.looks > (SET_LOOKS if self._for_set else AREA_LOOKS):
            self._attempt = None
            if not self._for_set:
                self._raise = max(RAISE_LEAST, self._raise * RAISE_SHRINK)
        return None

    def _first_copies(self, share: float) -> IntArray:
        problem = self._problem
        asked_mm2 = float((problem.needed(problem.asked) * problem.area_mm2).sum())
        if not asked_mm2:
            # No sets: so many of each piece as that share of the leather allows.
            asked_mm2 = float((problem.most * problem.area_mm2).sum())
            part = min(1.0, share * problem.table.usable_mm2 / max(asked_mm2, 1e-9))
            some: IntArray = np.floor(problem.most * part).astype(np.int64)
            return some
        part = min(1.0, share * problem.table.usable_mm2 / asked_mm2)
        return problem.needed({name: int(most * part) for name, most in problem.asked.items()})

    def _aim_after(self, looks: int) -> None:
        """Aim the less above the best the next time, the longer what was solved now has taken.

        Trials with fresh seeds on the remnant of 300 by 200 mm, 20 s: 0.723 before, 0.7347 with
        it (medians of five, while pieces were still moved one by one); before, most of the time
        went into aims far above what can be.
        """
        ease = (EASY_LOOKS / max(looks, EASY_LOOKS)) ** 0.5
        self._raise = max(RAISE_LEAST, min(2.0 * self._raise, RAISE_FIRST * ease))

    def _begin_attempt(self, best: Fit) -> None:
        """Begin at one set more where there is hope of it, turn by turn with more leather laid."""
        at_set = bool(self._turn % AREA_EVERY) or self._set_looks < SET_FIRST_LOOKS
        self._attempt = self._attempt_at_set(best) if at_set else None
        self._turn += 1
        self._for_set = self._attempt is not None
        if self._attempt is None:
            self._attempt = self._attempt_at_area(best)
        if self._attempt is not None:
            self._attempt_worth = self._worth(self._attempt.fit())

    def _worth(self, fit: Fit) -> tuple[int, float]:
        return sum(self._problem.sets(fit).values()), self._area(fit)

    def _attempt_at_set(self, best: Fit) -> Attempt | None:
        problem, random = self._problem, self._random
        sets = problem.sets(best)
        names = sorted(name for name, most in problem.asked.items() if sets[name] < most)
        if not names:
            return None
        name = names[int(random.integers(len(names)))]
        needed = problem.needed({**sets, name: sets[name] + 1})
        usable = problem.table.usable_mm2
        share = float((needed * problem.area_mm2).sum()) / usable
        hope = max(self._easy_share, min(HOPE_SHARE, self._area(best) / usable + HOPE_RAISE))
        if share > hope:
            return None
        surplus = np.maximum(problem.copies(best) - needed, 0)
        kept = best.without(self._some_of(best, surplus))
        return self._attempt_with(kept, needed - problem.copies(kept), problem.world.rooms)

    def _attempt_at_area(self, best: Fit) -> Attempt | None:
        """Begin at the best's sets with more leather laid, from its places or all thrown anew."""
        problem, random = self._problem, self._random
        usable, before = problem.table.usable_mm2, problem.copies(best)
        kept = best
        if random.random() < FRESH_SHARE:
            kept = empty_fit()
        elif best.count:
            count = int(random.integers(1, LIFTED_MAX + 1))
            kept = best.without(random.permutation(best.count)[:count].tolist())
        smallest, largest = float(problem.area_mm2.min()), float(problem.area_mm2.max())
        all_mm2 = float((problem.most * problem.area_mm2).sum())
        least = self._area(best) + self._raise * usable * float(random.uniform(0.3, 1.0))
        least = min(least, all_mm2 - HARDLY_MM2)
        needed = problem.needed(problem.sets(best))
        # The nearer to what is aimed at the better; with few large pieces nothing may be near.
        for over in (CLOSE_OVER * usable, GROW_MOST * smallest, GROW_MOST * largest):
            chosen = self._other_copies(problem.copies(kept), before, needed, least, least + over)
            if chosen is not None:
                break
        if chosen is None:
            return None
        more = chosen - problem.copies(kept)
        return self._attempt_with(kept, more, self._open_rooms(best))

    def _some_of(self, fit: Fit, copies: IntArray) -> list[int]:
        """Return the numbers of random pieces of a fit, so many of each kind."""
        left = copies.tolist()
        found = []
        for number in self._random.permutation(fit.count).tolist():
            kind = int(self._problem.kind_of[fit.shapes[number]])
            if left[kind] > 0:
                left[kind] -= 1
                found.append(number)
        return found

    def _attempt_with(self, kept: Fit, more: IntArray, rooms: Rooms) -> Attempt:
        """Return an attempt with more copies thrown in."""
        problem = self._problem
        shapes = problem.form_of[np.repeat(np.arange(len(more)), more)].tolist()
        added = thrown(problem.world, rooms, shapes, self._random)
        return Attempt(problem.world, rooms, kept.joined(added), problem.fixed)

    def _area(self, fit: Fit) -> float:
        return float(self._problem.area_mm2[self._problem.kind_of[fit.shapes]].sum())

    def _open_rooms(self, fit: Fit) -> Rooms:
        """Return the hides pieces lie on, or all while none does: odd pieces open no hide."""
        problem = self._problem
        if len(problem.request.hides) == 1 or not fit.count:
            return problem.world.rooms
        opened = set(problem.hides_of(fit).tolist())
        free = {n for n, hide in enumerate(problem.request.hides) if not hide.cost}
        return problem.rooms(sorted(opened | free))

    def _other_copies(
        self, kept: IntArray, before: IntArray, needed: IntArray, least: float, most: float
    ) -> IntArray | None:
        """Return copies of each kind that cover more than ``least`` and at most ``most``."""
        area, limit = self._problem.area_mm2, self._problem.most
        for _ in range(CHOICES):
            copies = np.maximum(kept, needed)
            covered = float((copies * area).sum())
            while covered <= least:
                open_kinds = np.flatnonzero(copies < limit)
                if not open_kinds.size:
                    break
                kind = int(open_kinds[self._random.integers(open_kinds.size)])
                copies[kind] += 1
                covered += float(area[kind])
            if least < covered <= most and not np.array_equal(copies, before):
                return copies
        return None
