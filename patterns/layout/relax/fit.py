"""A set of pieces lying somewhere, and the attempt to bring such a set apart."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from patterns.geometry.convex import FloatArray, IntArray
from patterns.layout.relax.places import depths
from patterns.layout.relax.separate import SOLVED, separate
from patterns.layout.relax.state import State, new_state, new_work
from patterns.layout.relax.tables import Rooms, tables_of
from patterns.layout.relax.world import World

SEED_END = 2**31


@dataclass(frozen=True, slots=True)
class Fit:
    """Pieces and where they lie: shapes (n,), places (n, 4) as x, y, angle and allowed turn."""

    shapes: IntArray
    places: FloatArray

    @property
    def count(self) -> int:
        """Return how many pieces there are."""
        return int(self.shapes.size)

    def without(self, numbers: Sequence[int]) -> "Fit":
        """Return the pieces but for those of these numbers."""
        keep = np.ones(self.count, dtype=bool)
        keep[list(numbers)] = False
        return Fit(self.shapes[keep], self.places[keep])

    def joined(self, other: "Fit") -> "Fit":
        """Return these pieces and others after them."""
        return Fit(
            np.concatenate([self.shapes, other.shapes]),
            np.concatenate([self.places, other.places]),
        )


def empty_fit() -> Fit:
    """Return no pieces."""
    return Fit(np.zeros(0, dtype=np.int64), np.zeros((0, 4)))


def thrown(world: World, rooms: Rooms, shapes: Sequence[int], random: np.random.Generator) -> Fit:
    """Return pieces thrown down anywhere on the leather."""
    count = len(shapes)
    places = np.zeros((count, 4))
    boxes = rooms.box[np.searchsorted(rooms.share, random.random(count))]
    share = random.random((count, 2))
    places[:, :2] = boxes[:, :2] + share * (boxes[:, 2:] - boxes[:, :2])
    for number, shape in enumerate(shapes):
        first, end = world.shapes.turn_first[shape], world.shapes.turn_first[shape + 1]
        turn = world.shapes.turns[random.integers(first, end)]
        places[number, 2:] = turn
    return Fit(np.array(shapes, dtype=np.int64), places)


class Attempt:
    """Pieces to be brought apart; goes on where it was left."""

    def __init__(self, world: World, rooms: Rooms, fit: Fit, fixed: Fit) -> None:
        self._world, self._rooms = world, rooms
        together = fixed.joined(fit)
        self._fixed = fixed.count
        self._tables, self._at = tables_of(world.shapes, world.ground, together.count)
        self._state: State = new_state(together.count, fixed.count)
        self._state.place[:] = together.places
        self._state.shape[:] = together.shapes

    @property
    def looks(self) -> int:
        """Return how many places were looked at so far."""
        return int(self._state.counts[1])

    @property
    def count(self) -> int:
        """Return how many pieces are to be brought apart, the fixed ones left aside."""
        return int(self._state.shape.size) - self._fixed

    @property
    def pressure_mm2(self) -> float:
        """Return how hard the pieces press on one another; endless before they have settled."""
        return float(self._state.pressure[0])

    def go_on(self, random: np.random.Generator, looks: int, patience: int) -> int:
        """Look at so many more places; return how it stands.

        The patience is how many moves for each piece may pass without the pressure falling.
        """
        if self._state.shape.size == self._fixed:
            return SOLVED
        return separate(
            self._world.shapes,
            self._rooms,
            self._tables,
            self._at,
            self._state,
            self._world.gap_mm,
            int(random.integers(SEED_END)),
            looks,
            patience * self.count,
        )

    def fit(self) -> Fit:
        """Return the pieces as they lie, without the fixed ones."""
        return Fit(self._state.shape[self._fixed :].copy(), self._state.place[self._fixed :].copy())

    def depths_mm(self) -> FloatArray:
        """Return how deep each piece lies in each other, last and weighted in what is barred.

        An array of shape (n, n + 1). Fixed pieces count with the free ones only: what they lack
        to anything else is not theirs to mend.
        """
        state, fixed = self._state, self._fixed
        count = state.shape.size
        depth = depths(
            self._tables, self._at, new_work(count), state.place, state.shape, self._world.gap_mm
        )
        depth[:fixed, :fixed] = 0.0
        depth[:fixed, count] = 0.0
        both = np.maximum(depth[:, :count], depth[:, :count].T)
        return np.hstack([both, depth[:, count:]])

    def salvaged(self) -> Fit:
        """Return the pieces without those in the way: the deepest goes, one after another."""
        depth = self.depths_mm()
        count = len(depth)
        here = np.ones(count, dtype=bool)
        totals = depth.sum(axis=1)
        totals[: self._fixed] = 0.0
        while totals.max(initial=0.0) > 0.0:
            worst = int(totals.argmax())
            here[worst] = False
            totals = depth[:, np.append(here, True)].sum(axis=1)
            totals[~here] = 0.0
            totals[: self._fixed] = 0.0
        here[: self._fixed] = False
        return Fit(self._state.shape[here].copy(), self._state.place[here].copy())
