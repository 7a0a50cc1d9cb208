"""How many complete sets the search aims at, turn by turn one more than it has."""

import numpy as np

from patterns.layout.objective import needed_copies, set_counts
from patterns.layout.table import Laid, Table

# Steps between aiming at one more set and polishing the sets there are.
BLOCK_STEPS = 40
# Every so many blocks the climb starts from an empty table: trials gained 1 to 2 % by it.
AFRESH_BLOCKS = 8
# First guesses of the share of leather that whole sets can cover, one a step.
FIRST_SHARES = (0.75, 0.65, 0.55)
# One more set is tried for while its pieces take at most this much more than the best has laid.
HOPE_FACTOR = 1.1


class Aims:
    """The sets aimed at, by their names; ``most`` is how many were asked for."""

    def __init__(self, table: Table, random: np.random.Generator) -> None:
        self.most = set_counts(table.kinds, [kind.quantity for kind in table.kinds])
        self._table = table
        self._random = random
        self._set_mm2: dict[str, float] = dict.fromkeys(self.most, 0.0)
        for kind in table.kinds:
            if kind.per_set:
                self._set_mm2[kind.piece.set_name] += kind.area_mm2 * kind.per_set
        self._aim = self._first(FIRST_SHARES[0])
        self._climbing = False
        self._climbed: list[Laid] = []

    def needed(self) -> list[int]:
        """Return how many copies of each kind the sets aimed at need."""
        return needed_copies(self._table.kinds, self._aim)

    def change(self, step: int, best: list[Laid]) -> bool:
        """Turn by turn aim at one more set than the best has, and at the best's own sets.

        The table is brought back to where each aim was left; the answer is True when the step
        should lay everything afresh instead.
        """
        if step < len(FIRST_SHARES):
            self._aim = self._first(FIRST_SHARES[step])
            return True
        reached = set_counts(self._table.kinds, self._table.copies_of(best))
        block, place = divmod(step - len(FIRST_SHARES), BLOCK_STEPS)
        if place:
            if self._climbing and all(reached[name] >= n for name, n in self._aim.items()):
                self._aim = self._raised(reached, best)
            return False
        self._climbing = not block % 2
        if not self._climbing:
            self._climbed = list(self._table.laid)
            self._aim = reached
            self._table.restore(best)
            return False
        self._aim = self._raised(reached, best)
        if block and not block % AFRESH_BLOCKS:
            return True
        self._table.restore(self._climbed or best)
        return False

    def _first(self, share: float) -> dict[str, int]:
        all_sets_mm2 = sum(self._set_mm2.values())
        if not all_sets_mm2:
            return {}
        guess = max(1, int(share * self._table.usable_mm2 / all_sets_mm2))
        return {name: min(guess, most) for name, most in self.most.items()}

    def _raised(self, reached: dict[str, int], best: list[Laid]) -> dict[str, int]:
        """Return the sets reached and one more of a kind, unless that is out of reach."""
        open_names = sorted(name for name, most in self.most.items() if reached[name] < most)
        if not open_names:
            return reached
        name = open_names[int(self._random.integers(len(open_names)))]
        raised = {**reached, name: reached[name] + 1}
        needed_mm2 = sum(self._set_mm2[key] * count for key, count in raised.items())
        copies = self._table.copies_of(best)
        kinds = self._table.kinds
        laid_mm2 = sum(k.area_mm2 * count for k, count in zip(kinds, copies, strict=True))
        return raised if needed_mm2 <= HOPE_FACTOR * laid_mm2 else reached
