"""Moving pieces apart: one at a time to where it lies least deep in the others, compiled.

Each overlap has a weight that grows while it stays, so that the search leaves every dead end;
see the package for the source.
"""

from typing import NamedTuple

import numpy as np

from patterns.geometry.convex import FloatArray, IntArray
from patterns.layout.relax.compiled import compiled
from patterns.layout.relax.look import lay_row, look
from patterns.layout.relax.tables import At, Rooms, Shapes, Tables

NEAR_SAMPLES = 20  # places looked at round where a piece lies, a move
WIDE_SAMPLES = 40  # and all over the leather
KEPT_SAMPLES = 3  # the best of them are refined
STEP_GROWTH, STEP_SHRINK = 1.1, 0.5
COARSE_STEP, COARSE_END = 0.25, 0.02  # of a piece's radius
FINE_STEP, FINE_END = 0.02, 0.00002
WEIGHT_GROWTH_LEAST, WEIGHT_GROWTH_MOST, WEIGHT_DECAY = 1.2, 2.0, 0.95
CLEAR_MM = 1e-9  # depths summed below this are none
GAIN_SHARE = 0.98  # the overlap must fall below this share of the least to count as progress

SOLVED, OUT_OF_LOOKS, STUCK = 0, 1, 2
# Columns of a place that is looked at.
AT_X, AT_Y, ANGLE, TURN, SHAPE, VALUE = range(6)
PLACE_COLUMNS = 6


class State(NamedTuple):
    """Where every piece lies, how deep in every other, and the weights.

    Fixed pieces come first, ``fixed`` of them.

    ``place`` has a row x, y, angle and allowed turn for each; ``depth`` and ``weight`` have a row
    for each piece and a column for every other, the last for what is barred; ``kept_place`` and
    ``kept_shape`` hold the state of least overlap, ``least`` that overlap, and ``counts`` the
    sweeps since it fell and the looks taken in all.
    """

    place: FloatArray
    shape: IntArray
    depth: FloatArray
    weight: FloatArray
    kept_place: FloatArray
    kept_shape: IntArray
    least: FloatArray
    counts: IntArray
    fixed: int


def new_state(count: int, fixed: int) -> State:
    """Return a state of so many pieces, all at the origin."""
    return State(
        place=np.zeros((count, 4)),
        shape=np.zeros(count, dtype=np.int64),
        depth=np.zeros((count, count + 1)),
        weight=np.ones((count, count + 1)),
        kept_place=np.zeros((count, 4)),
        kept_shape=np.zeros(count, dtype=np.int64),
        least=np.full(1, np.inf),
        counts=np.zeros(2, dtype=np.int64),
        fixed=fixed,
    )


@compiled
def _sample(
    shapes: Shapes,
    rooms: Rooms,
    tables: Tables,
    at: At,
    state: State,
    piece: int,
    gap: float,
    kept: FloatArray,
    depth: FloatArray,
) -> None:
    """Look at a piece's own place and at random ones; keep the best, the best first."""
    corners, boxes, wholes, numbers = tables
    weight, place, box, share = state.weight, state.place, rooms.box, rooms.share
    turn_first, turns, slack, twin = shapes.turn_first, shapes.turns, shapes.slack, shapes.twin
    own = state.shape[piece]
    radius = shapes.radius[own]
    trial = np.empty(PLACE_COLUMNS)
    last = kept.shape[0] - 1
    kept[:, VALUE] = 1e300
    for number in range(1 + NEAR_SAMPLES + WIDE_SAMPLES):
        wide = number > NEAR_SAMPLES
        shape = own
        trial[:4] = place[piece]
        if wide or (number > 0 and np.random.random() < 0.5):
            # A way to lie anew; near by, every other look keeps the one it has.
            if twin[own] >= 0 and np.random.random() < 0.5:
                shape = twin[own]
            first, end = turn_first[shape], turn_first[shape + 1]
            trial[TURN] = turns[first + np.random.randint(end - first)]
            trial[ANGLE] = trial[TURN] + slack[shape] * (2.0 * np.random.random() - 1.0)
        if wide:
            room = np.searchsorted(share, np.random.random())
            trial[AT_X] = box[room, 0] + np.random.random() * (box[room, 2] - box[room, 0])
            trial[AT_Y] = box[room, 1] + np.random.random() * (box[room, 3] - box[room, 1])
        elif number > 0:
            trial[AT_X] += radius * (np.random.random() - 0.5)
            trial[AT_Y] += radius * (np.random.random() - 0.5)
        trial[SHAPE] = shape
        trial[VALUE] = look(
            corners,
            boxes,
            wholes,
            numbers,
            weight,
            depth,
            at,
            piece,
            gap,
            kept[last, VALUE],
            shape,
            trial[AT_X],
            trial[AT_Y],
            trial[ANGLE],
        )
        if trial[VALUE] < kept[last, VALUE]:
            to = last
            while to > 0 and trial[VALUE] < kept[to - 1, VALUE]:
                kept[to] = kept[to - 1]
                to -= 1
            kept[to] = trial
    state.counts[1] += 1 + NEAR_SAMPLES + WIDE_SAMPLES


@compiled
def _refine(
    shapes: Shapes,
    rooms: Rooms,
    tables: Tables,
    at: At,
    state: State,
    piece: int,
    gap: float,
    best: FloatArray,
    depth: FloatArray,
    first_step: float,
    last_step: float,
) -> None:
    """Better a place going along one axis after another, both ways, in ever smaller steps."""
    corners, boxes, wholes, numbers = tables
    weight, box = state.weight, rooms.box
    trial = best.copy()
    shape = int(best[SHAPE])
    slack, radius = shapes.slack[shape], shapes.radius[shape]
    ways = 5 if slack > 0.0 else 4
    step, end = first_step * radius, last_step * radius
    looks = 0
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
            looks += 1
            trial[VALUE] = look(
                corners,
                boxes,
                wholes,
                numbers,
                weight,
                depth,
                at,
                piece,
                gap,
                best[VALUE],
                shape,
                trial[AT_X],
                trial[AT_Y],
                trial[ANGLE],
            )
            if trial[VALUE] < best[VALUE]:
                best[:] = trial
        step *= STEP_GROWTH if best[VALUE] < before else STEP_SHRINK
    state.counts[1] += looks


@compiled
def _lay(tables: Tables, at: At, state: State, piece: int, gap: float, depth: FloatArray) -> None:
    """Write a piece's row, and how deep it lies in what is barred and in every other."""
    count = state.shape.size
    x, y, angle, _ = state.place[piece]
    shape = state.shape[piece]
    lay_row(tables.corners, tables.boxes, tables.wholes, at, piece, shape, x, y, angle)
    look(
        tables.corners,
        tables.boxes,
        tables.wholes,
        tables.numbers,
        state.weight,
        depth,
        at,
        piece,
        gap,
        1e300,
        shape,
        x,
        y,
        angle,
    )
    if piece < state.fixed:
        depth[: state.fixed] = 0.0
        depth[count] = 0.0
    depth[piece] = 0.0
    for other in range(count):
        state.depth[piece, other] = depth[other]
        state.depth[other, piece] = depth[other]
    state.depth[piece, count] = depth[count]


@compiled
def _weigh(state: State) -> None:
    """Let the weights of what overlaps grow, of the deepest most, and the others fade."""
    count = state.shape.size
    most = 1e-12
    for piece in range(count):
        for other in range(count + 1):
            most = max(most, state.depth[piece, other])
    spread = (WEIGHT_GROWTH_MOST - WEIGHT_GROWTH_LEAST) / most
    for piece in range(count):
        for other in range(count + 1):
            depth = state.depth[piece, other]
            factor = WEIGHT_GROWTH_LEAST + spread * depth if depth > 0.0 else WEIGHT_DECAY
            state.weight[piece, other] = max(1.0, state.weight[piece, other] * factor)


@compiled
def _depth_of_all(state: State) -> float:
    count = state.shape.size
    total = 0.0
    for piece in range(count):
        total += state.depth[piece, count]
        for other in range(piece):
            total += state.depth[piece, other]
    return total


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

    Stuck means that for ``patience`` sweeps the overlap did not fall noticeably.
    """
    np.random.seed(seed)
    count = state.shape.size
    kept = np.empty((KEPT_SAMPLES, PLACE_COLUMNS))
    depth = np.zeros(count + 1)
    # Twice: the first rows are measured against others that are not laid yet.
    for number in range(2 * count):
        _lay(tables, at, state, number % count, gap, depth)
    end = state.counts[1] + looks
    while True:
        total = _depth_of_all(state)
        state.counts[0] += 1
        if total < GAIN_SHARE * state.least[0]:
            state.counts[0] = 0
        if total < state.least[0]:
            state.least[0] = total
            state.kept_place[:, :] = state.place
            state.kept_shape[:] = state.shape
        if total <= CLEAR_MM:
            return SOLVED
        if state.counts[0] > patience:
            return STUCK
        if state.counts[1] >= end:
            return OUT_OF_LOOKS
        _weigh(state)
        for piece in np.random.permutation(count):
            if piece < state.fixed or state.depth[piece].max() <= 0.0:
                continue
            _sample(shapes, rooms, tables, at, state, piece, gap, kept, depth)
            best, first, last = 0, COARSE_STEP, COARSE_END
            for number in range(KEPT_SAMPLES + 1):
                # At last the best of all is refined once more, finely.
                now = number if number < KEPT_SAMPLES else best
                if number == KEPT_SAMPLES:
                    first, last = FINE_STEP, FINE_END
                _refine(shapes, rooms, tables, at, state, piece, gap, kept[now], depth, first, last)
                if kept[now, VALUE] < kept[best, VALUE]:
                    best = now
            state.place[piece] = kept[best, :4]
            state.shape[piece] = int(kept[best, SHAPE])
            _lay(tables, at, state, piece, gap, depth)
