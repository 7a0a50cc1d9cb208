"""Moving pieces apart: they settle, one is laid elsewhere or two change places, they settle again.

A settled heap is left in a state of least pressure near by. Then a piece, most likely one pressed
hard, is taken to the best of many places looked at, or two unlike pieces are exchanged, and all
settle anew. What presses less is kept, and at times what presses a little more, which leads out
of dead ends; see the package for the source.
"""

import math

import numpy as np

from patterns.geometry.convex import FloatArray
from patterns.layout.relax.compiled import compiled
from patterns.layout.relax.places import KEPT_SAMPLES, PLACE_COLUMNS, lay, move
from patterns.layout.relax.settle import CLEAR_MM2, pressure_at, settle
from patterns.layout.relax.state import ENDLESS, State, Work, new_work
from patterns.layout.relax.tables import At, Rooms, Shapes, Tables

PRESSED_SHARE = 0.95  # of the pieces moved are chosen by the pressure on them
ELSEWHERE_SHARE = 0.2  # of the moves take one piece elsewhere, the others exchange two
EXCHANGE_REACH = 0.25  # of the other's radius: so near its place one that is exchanged comes
UNLIKE_TRIES = 20
# After so many steps a descent is given up that presses so many times harder than the state kept,
# and so much more.
HOPES = ((25, 3.0, 20.0), (60, 1.5, 5.0))
WORSE_SHARE, WORSE_MM2 = 0.03, 0.5  # of the pressure: how much worse is still kept at times

SOLVED, OUT_OF_LOOKS, STUCK = 0, 1, 2


@compiled
def _one_pressed(state: State, work: Work) -> int:
    """Return the number of a piece that may move, mostly of one pressed hard."""
    fixed, count = state.fixed, state.shape.size
    piece = fixed + np.random.randint(count - fixed)
    if np.random.random() < PRESSED_SHARE:
        rest = np.random.random() * work.pressed[fixed:].sum()
        for number in range(fixed, count):
            rest -= work.pressed[number]
            if rest < 0.0:
                return number
    return piece


@compiled
def _move_some(
    shapes: Shapes,
    rooms: Rooms,
    tables: Tables,
    at: At,
    state: State,
    work: Work,
    gap: float,
    kept: FloatArray,
    depth: FloatArray,
) -> None:
    """Take a piece elsewhere, or exchange two unlike ones."""
    place, shape, radius = state.place, state.shape, shapes.radius
    one = _one_pressed(state, work)
    x, y = place[one, 0], place[one, 1]
    two = one
    if np.random.random() >= ELSEWHERE_SHARE:
        for _ in range(UNLIKE_TRIES):
            two = state.fixed + np.random.randint(shape.size - state.fixed)
            if shape[two] != shape[one]:
                break
    if shape[two] == shape[one]:
        move(shapes, rooms, tables, at, state, work, one, gap, kept, depth, x, y, 0.0)
        return
    there_x, there_y = place[two, 0], place[two, 1]
    near_one = EXCHANGE_REACH * radius[shape[one]]
    near_two = EXCHANGE_REACH * radius[shape[two]]
    place[two, 0], place[two, 1] = x, y
    lay(tables, at, state, two)
    move(shapes, rooms, tables, at, state, work, one, gap, kept, depth, there_x, there_y, near_two)
    move(shapes, rooms, tables, at, state, work, two, gap, kept, depth, x, y, near_one)


@compiled
def _settled(
    shapes: Shapes,
    rooms: Rooms,
    tables: Tables,
    at: At,
    state: State,
    work: Work,
    gap: float,
    hopes: FloatArray,
) -> float:
    """Let all settle from where they lie; return the pressure left."""
    place, shape, radius = state.place, state.shape, shapes.radius
    for piece in range(shape.size):
        work.place[3 * piece] = place[piece, 0]
        work.place[3 * piece + 1] = place[piece, 1]
        work.place[3 * piece + 2] = place[piece, 2] * radius[shape[piece]]
    found, looks = settle(shapes, rooms, tables, at, work, shape, place[:, 3], gap, hopes)
    state.counts[1] += looks
    for piece in range(state.fixed, shape.size):
        place[piece, 0] = work.place[3 * piece]
        place[piece, 1] = work.place[3 * piece + 1]
        place[piece, 2] = work.place[3 * piece + 2] / radius[shape[piece]]
    return found


@compiled
def separate(
    shapes: Shapes,
    rooms: Rooms,
    tables: Tables,
    at: At,
    state: State,
    gap: float,
    seed: int,
    looks: int,
    patience: int,
) -> int:
    """Move pieces apart until none overlaps, so many places were looked at, or nothing helps.

    Stuck means that for ``patience`` moves the pressure did not fall below its least.
    """
    np.random.seed(seed)
    count = state.shape.size
    work = new_work(count)
    kept = np.empty((KEPT_SAMPLES, PLACE_COLUMNS))
    depth = np.zeros(count + 1)
    hopes = np.zeros((len(HOPES), 2))
    work.is_free[: state.fixed] = 0
    end = state.counts[1] + looks
    if state.pressure[0] >= ENDLESS:
        hopes[:, 1] = ENDLESS
        state.pressure[:] = _settled(shapes, rooms, tables, at, state, work, gap, hopes)
    place, shape = state.place.copy(), state.shape.copy()
    while state.pressure[0] > CLEAR_MM2:
        if state.counts[0] > patience:
            return STUCK
        if state.counts[1] >= end:
            return OUT_OF_LOOKS
        # The pressure of the state kept, so that all rows lie there and each one's share is known.
        for piece in range(count):
            work.tried[3 * piece] = place[piece, 0]
            work.tried[3 * piece + 1] = place[piece, 1]
            work.tried[3 * piece + 2] = place[piece, 2] * shapes.radius[shape[piece]]
        before = pressure_at(shapes, tables, at, work, shape, work.tried, gap, work.slope_there)
        _move_some(shapes, rooms, tables, at, state, work, gap, kept, depth)
        for row in range(len(HOPES)):
            hopes[row, 0] = HOPES[row][0]
            hopes[row, 1] = HOPES[row][1] * before + HOPES[row][2]
        after = _settled(shapes, rooms, tables, at, state, work, gap, hopes)
        state.counts[0] += 1
        worse = (after - before) / (WORSE_SHARE * before + WORSE_MM2)
        if worse <= 0.0 or np.random.random() < math.exp(-worse):
            place[:], shape[:] = state.place, state.shape
            state.pressure[0] = after
            if after < state.pressure[1]:
                state.pressure[1], state.counts[0] = after, 0
        else:
            state.place[:], state.shape[:] = place, shape
    return SOLVED
