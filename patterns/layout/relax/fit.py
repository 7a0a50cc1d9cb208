"""A set of pieces lying somewhere, and the attempt to bring such a set apart."""

import bisect
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from patterns.geometry.convex import FloatArray, IntArray
from patterns.layout.relax.separate import SOLVED, State, new_state, separate
from patterns.layout.relax.tables import Rooms, tables_of
from patterns.layout.relax.world import World

SEED_END = 2**31
MET_SPREAD = 0.25  # of the states met, sorted by overlap: how far down the choice mostly goes


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
        self._met: list[tuple[float, int, FloatArray, IntArray]] = []
        self._tables, self._at = tables_of(world.shapes, world.ground, together.count)
        self._state: State = new_state(together.count, fixed.count)
        self._state.place[:] = together.places
        self._state.shape[:] = together.shapes

    @property
    def looks(self) -> int:
        """Return how many places were looked at so far."""
        return int(self._state.counts[1])

    @property
    def least_mm(self) -> float:
        """Return the least depth of all overlaps so far."""
        return float(self._state.least[0])

    def go_on(self, random: np.random.Generator, looks: int, patience: int) -> int:
        """Look at so many more places; return how it stands."""
        if not self._state.shape.size:
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
            patience,
        )

    def shake(self, random: np.random.Generator) -> None:
        """Go on from a state of little overlap with two unlike pieces exchanged, all weights one.

        Of the states that earlier shakes ended in, those of less overlap are taken up oftener.
        """
        state = self._state
        met = (self.least_mm, len(self._met), state.kept_place.copy(), state.kept_shape.copy())
        bisect.insort(self._met, met)
        chosen = int(abs(random.normal(0.0, MET_SPREAD)) * len(self._met))
        _, _, places, shapes = self._met[min(chosen, len(self._met) - 1)]
        state.place[:], state.shape[:] = places, shapes
        state.weight[:], state.least[0], state.counts[0] = 1.0, np.inf, 0
        one = int(random.integers(self._fixed, shapes.size))
        unlike = self._fixed + np.flatnonzero(shapes[self._fixed :] != shapes[one])
        if unlike.size:
            two = int(random.choice(unlike))
            state.place[[one, two], :2] = state.place[[two, one], :2]

    def fit(self) -> Fit:
        """Return the pieces as they lie, without the fixed ones."""
        return Fit(self._state.shape[self._fixed :].copy(), self._state.place[self._fixed :].copy())

    def salvaged(self) -> Fit:
        """Return the pieces without those in the way: the deepest goes, one after another."""
        depth = self._state.depth
        count = depth.shape[0]
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
