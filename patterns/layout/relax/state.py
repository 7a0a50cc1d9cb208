"""Where pieces lie while they are moved apart, and the room the search works in."""

from typing import NamedTuple

import numpy as np

from patterns.geometry.convex import FloatArray, IntArray
from patterns.layout.relax.compiled import compiled
from patterns.layout.relax.contact import PUSH_NUMBERS

ENDLESS = 1e300  # no true infinity: the compiler takes it that there is none
MEMORY = 8  # steps of a descent remembered to tell the next one


class State(NamedTuple):
    """Where every piece lies and how hard all press on one another.

    Fixed pieces come first, ``fixed`` of them. ``place`` has a row x, y, angle and allowed turn
    for each; ``pressure`` is that of the state, endless before all have settled, and the least
    there was; ``counts`` the moves made since it fell, and the looks taken in all.
    """

    place: FloatArray
    shape: IntArray
    pressure: FloatArray
    counts: IntArray
    fixed: int


def new_state(count: int, fixed: int) -> State:
    """Return a state of so many pieces, all at the origin."""
    return State(
        place=np.zeros((count, 4)),
        shape=np.zeros(count, dtype=np.int64),
        pressure=np.full(2, ENDLESS),
        counts=np.zeros(2, dtype=np.int64),
        fixed=fixed,
    )


class Work(NamedTuple):
    """Room for one descent of n pieces, used again and again; three numbers for each piece."""

    place: FloatArray
    tried: FloatArray
    slope: FloatArray
    slope_there: FloatArray
    way: FloatArray
    low: FloatArray
    high: FloatArray
    moved: FloatArray
    bent: FloatArray
    inverse: FloatArray
    share: FloatArray
    pressed: FloatArray
    is_free: IntArray
    push: FloatArray


@compiled
def new_work(count: int) -> Work:
    """Return room for so many pieces."""
    wide = 3 * count
    return Work(
        place=np.zeros(wide),
        tried=np.zeros(wide),
        slope=np.zeros(wide),
        slope_there=np.zeros(wide),
        way=np.zeros(wide),
        low=np.zeros(wide),
        high=np.zeros(wide),
        moved=np.zeros((MEMORY, wide)),
        bent=np.zeros((MEMORY, wide)),
        inverse=np.zeros(MEMORY),
        share=np.zeros(MEMORY),
        pressed=np.zeros(count),
        is_free=np.ones(count, dtype=np.int64),
        push=np.zeros(PUSH_NUMBERS),
    )
