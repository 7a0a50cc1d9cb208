"""A better place for one piece: many are looked at, the best of them bettered step by step."""

import math

import numpy as np

from patterns.geometry.convex import FloatArray, IntArray
from patterns.layout.relax.compiled import compiled
from patterns.layout.relax.look import lay_row, look
from patterns.layout.relax.state import State, Work
from patterns.layout.relax.tables import At, Rooms, Shapes, Tables

ANYWHERE_SAMPLES = 60  # places looked at all over the leather for a piece laid elsewhere
NEAR_SAMPLES = 20  # and within reach of a spot
KEPT_SAMPLES = 3  # the best of those all over the leather are refined, near a spot the best alone
FIRST_STEP, LAST_STEP = 0.25, 0.02  # of a piece's radius, while a place is refined
STEP_GROWTH, STEP_SHRINK = 1.1, 0.5
ELSEWHERE = 0.5  # of its radius: a piece laid elsewhere goes at least so far

# Columns of a place that is looked at.
AT_X, AT_Y, ANGLE, TURN, SHAPE, VALUE = range(6)
PLACE_COLUMNS = 6


@compiled
def _look_at(
    tables: Tables,
    at: At,
    work: Work,
    depth: FloatArray,
    piece: int,
    gap: float,
    bound: float,
    trial: FloatArray,
) -> float:
    """Return the depth of a piece at a place."""
    return float(
        look(
            tables.corners,
            tables.boxes,
            tables.wholes,
            tables.hints,
            tables.numbers,
            depth,
            work.push,
            at,
            piece,
            gap,
            bound,
            int(trial[SHAPE]),
            trial[AT_X],
            trial[AT_Y],
            trial[ANGLE],
        )
    )


@compiled
def _sample(
    shapes: Shapes,
    rooms: Rooms,
    tables: Tables,
    at: At,
    state: State,
    work: Work,
    piece: int,
    gap: float,
    kept: FloatArray,
    depth: FloatArray,
    spot_x: float,
    spot_y: float,
    reach: float,
) -> None:
    """Look at random places for a piece and keep the best, the best first.

    They lie within reach of a spot, or with no reach anywhere but where the piece lies now.
    """
    box, share = rooms.box, rooms.share
    own = state.shape[piece]
    trial = np.empty(PLACE_COLUMNS)
    last = kept.shape[0] - 1
    kept[:, VALUE] = 1e300
    samples = NEAR_SAMPLES if reach > 0.0 else ANYWHERE_SAMPLES
    for _ in range(samples):
        shape = own
        if shapes.twin[own] >= 0 and np.random.random() < 0.5:
            shape = shapes.twin[own]
        first, end = shapes.turn_first[shape], shapes.turn_first[shape + 1]
        trial[TURN] = shapes.turns[first + np.random.randint(end - first)]
        trial[ANGLE] = trial[TURN] + shapes.slack[shape] * (2.0 * np.random.random() - 1.0)
        trial[SHAPE] = shape
        if reach > 0.0:
            trial[AT_X] = spot_x + reach * (2.0 * np.random.random() - 1.0)
            trial[AT_Y] = spot_y + reach * (2.0 * np.random.random() - 1.0)
        else:
            room = np.searchsorted(share, np.random.random())
            trial[AT_X] = box[room, 0] + np.random.random() * (box[room, 2] - box[room, 0])
            trial[AT_Y] = box[room, 1] + np.random.random() * (box[room, 3] - box[room, 1])
            far = math.hypot(trial[AT_X] - spot_x, trial[AT_Y] - spot_y)
            if far < ELSEWHERE * shapes.radius[own]:
                continue
        trial[VALUE] = _look_at(tables, at, work, depth, piece, gap, kept[last, VALUE], trial)
        if trial[VALUE] < kept[last, VALUE]:
            to = last
            while to > 0 and trial[VALUE] < kept[to - 1, VALUE]:
                kept[to] = kept[to - 1]
                to -= 1
            kept[to] = trial
    state.counts[1] += samples


@compiled
def _refine(
    shapes: Shapes,
    rooms: Rooms,
    tables: Tables,
    at: At,
    state: State,
    work: Work,
    piece: int,
    gap: float,
    best: FloatArray,
    depth: FloatArray,
) -> None:
    """Better a place going along one axis after another, both ways, in ever smaller steps."""
    box = rooms.box
    trial = best.copy()
    shape = int(best[SHAPE])
    slack, radius = shapes.slack[shape], shapes.radius[shape]
    ways = 5 if slack > 0.0 else 4
    step, end = FIRST_STEP * radius, LAST_STEP * radius
    while step > end and best[VALUE] > 0.0:
        way = np.random.randint(ways)
        along_x = step if way == 0 or way == 2 or way == 3 else 0.0
        along_y = step if way == 1 or way == 2 else -step if way == 3 else 0.0
        along_angle = step / radius if way == 4 else 0.0
        x, y, angle, before = best[AT_X], best[AT_Y], best[ANGLE], best[VALUE]
        for sign in (1.0, -1.0):
            trial[AT_X], trial[AT_Y] = x + sign * along_x, y + sign * along_y
            trial[ANGLE] = angle + sign * along_angle
            trial[ANGLE] = min(max(trial[ANGLE], best[TURN] - slack), best[TURN] + slack)
            # A piece never leaves the boxes of the hides; out there nothing would be in its way.
            inside = False
            for room in range(box.shape[0]):
                if (
                    box[room, 0] <= trial[AT_X] <= box[room, 2]
                    and box[room, 1] <= trial[AT_Y] <= box[room, 3]
                ):
                    inside = True
            if not inside:
                continue
            state.counts[1] += 1
            trial[VALUE] = _look_at(tables, at, work, depth, piece, gap, best[VALUE], trial)
            if trial[VALUE] < best[VALUE]:
                best[:] = trial
        step *= STEP_GROWTH if best[VALUE] < before else STEP_SHRINK


@compiled
def lay(tables: Tables, at: At, state: State, piece: int) -> None:
    """Write the row of a piece where it lies."""
    x, y, angle, _ = state.place[piece]
    shape = state.shape[piece]
    lay_row(tables.corners, tables.boxes, tables.wholes, at, piece, shape, x, y, angle)


@compiled
def move(
    shapes: Shapes,
    rooms: Rooms,
    tables: Tables,
    at: At,
    state: State,
    work: Work,
    piece: int,
    gap: float,
    kept: FloatArray,
    depth: FloatArray,
    spot_x: float,
    spot_y: float,
    reach: float,
) -> None:
    """Take a piece to the best of many places, within reach of a spot or elsewhere."""
    _sample(shapes, rooms, tables, at, state, work, piece, gap, kept, depth, spot_x, spot_y, reach)
    best = 0
    for number in range(1 if reach > 0.0 else KEPT_SAMPLES):
        if kept[number, VALUE] < 1e300:
            _refine(shapes, rooms, tables, at, state, work, piece, gap, kept[number], depth)
            if kept[number, VALUE] < kept[best, VALUE]:
                best = number
    if kept[best, VALUE] < 1e300:
        state.place[piece] = kept[best, :4]
        state.shape[piece] = int(kept[best, SHAPE])
        lay(tables, at, state, piece)


@compiled
def depths(
    tables: Tables, at: At, work: Work, place: FloatArray, shape: IntArray, gap: float
) -> FloatArray:
    """Return how deep each piece lies in each other, last and weighted in what is barred."""
    count = shape.size
    found = np.zeros((count, count + 1))
    trial = np.empty(PLACE_COLUMNS)
    for piece in range(count):
        lay_row(tables.corners, tables.boxes, tables.wholes, at, piece, shape[piece],
                place[piece, 0], place[piece, 1], place[piece, 2])  # fmt: skip
    for piece in range(count):
        trial[:4] = place[piece]
        trial[SHAPE] = shape[piece]
        _look_at(tables, at, work, found[piece], piece, gap, 1e300, trial)
        found[piece, piece] = 0.0
    return found
