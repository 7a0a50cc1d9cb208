"""All pieces moved and turned at once, down the slopes of the pressure until they rest.

Source: Liu and Nocedal, "On the limited memory BFGS method for large scale optimization",
Mathematical Programming 45 (1989), 503-528; that such a descent separates pieces laid over one
another: Imamichi, Yagiura, Nagamochi, "An iterated local search algorithm based on nonlinear
programming for the irregular strip packing problem", Discrete Optimization 6 (2009), 345-361.
"""

from patterns.geometry.convex import FloatArray, IntArray
from patterns.layout.relax.compiled import compiled
from patterns.layout.relax.pressure import pressure
from patterns.layout.relax.state import MEMORY, Work
from patterns.layout.relax.tables import At, Rooms, Shapes, Tables

STEPS_MAX = 300
FIRST_SHARE = 0.25  # of the slope is gone along at first: two parts alone are then apart
FARTHEST = 0.5  # of the pieces' mean radius: none goes farther in one step; 0.2 and 25 were worse
SHORTENED_MAX = 12
SUFFICIENT = 1e-4  # share of the fall foreseen that a step must reach
AT_REST = 1e-5  # a step that gains less than this share ends the descent
MARGIN_MM = 0.01  # asked for beyond every gap
CLEAR_MM2 = MARGIN_MM**2  # a sum of squares not above it: no single one is beyond the margin
NEAR_CLEAR_MM2 = 1e-2  # so near to it small gains count as well


@compiled
def pressure_at(
    shapes: Shapes,
    tables: Tables,
    at: At,
    work: Work,
    shape: IntArray,
    place: FloatArray,
    gap: float,
    slope: FloatArray,
) -> float:
    """Return the pressure at a place, its slopes and the share of every piece written."""
    return float(
        pressure(
            tables.corners,
            tables.boxes,
            tables.wholes,
            tables.hints,
            tables.numbers,
            work.push,
            at,
            shape,
            shapes.radius,
            work.is_free,
            place,
            gap,
            MARGIN_MM,
            slope,
            work.pressed,
        )
    )


@compiled
def _set_limits(
    shapes: Shapes, rooms: Rooms, work: Work, shape: IntArray, turn: FloatArray
) -> None:
    """Write how far each piece may go: in the box of its hide, and near its allowed turn."""
    box = rooms.box
    for i in range(shape.size):
        radius, slack = shapes.radius[shape[i]], shapes.slack[shape[i]]
        room = 0
        for number in range(box.shape[0]):
            if box[number, 0] <= work.place[3 * i] <= box[number, 2]:
                room = number
        work.low[3 * i], work.high[3 * i] = box[room, 0], box[room, 2]
        work.low[3 * i + 1], work.high[3 * i + 1] = box[room, 1], box[room, 3]
        work.low[3 * i + 2] = (turn[i] - slack) * radius
        work.high[3 * i + 2] = (turn[i] + slack) * radius
        if not work.is_free[i]:
            for k in range(3 * i, 3 * i + 3):
                work.low[k] = work.high[k] = work.place[k]


@compiled
def _downhill(work: Work, used: int, last: int) -> float:
    """Write the way of the next step, as the last steps tell; return the slope along it.

    The two loops are those of the source; without steps to tell, it goes straight downhill.
    """
    slope, way, moved, bent = work.slope, work.way, work.moved, work.bent
    wide = slope.size
    for k in range(wide):
        way[k] = -slope[k]
    for back in range(used):
        row = (last - back) % MEMORY
        along = 0.0
        for k in range(wide):
            along += moved[row, k] * way[k]
        work.share[row] = work.inverse[row] * along
        for k in range(wide):
            way[k] -= work.share[row] * bent[row, k]
    scale = FIRST_SHARE
    if used > 0:
        bent_most = 0.0
        for k in range(wide):
            bent_most += bent[last, k] * bent[last, k]
        scale = 1.0 / (work.inverse[last] * bent_most)
    for k in range(wide):
        way[k] *= scale
    for back in range(used - 1, -1, -1):
        row = (last - back) % MEMORY
        along = 0.0
        for k in range(wide):
            along += bent[row, k] * way[k]
        change = work.share[row] - work.inverse[row] * along
        for k in range(wide):
            way[k] += change * moved[row, k]
    along = 0.0
    for k in range(wide):
        along += way[k] * slope[k]
    return along


@compiled
def settle(
    shapes: Shapes,
    rooms: Rooms,
    tables: Tables,
    at: At,
    work: Work,
    shape: IntArray,
    turn: FloatArray,
    gap: float,
    hopes: FloatArray,
) -> tuple[float, int]:
    """Move the pieces of ``work.place`` until they rest; return the pressure left and the looks.

    ``hopes`` has rows of a step and the most pressure there may be after it: above it the descent
    is given up. A look is counted for every free piece whenever the pressure is measured.
    """
    place, tried, slope, there, way = work.place, work.tried, work.slope, work.slope_there, work.way
    wide = place.size
    _set_limits(shapes, rooms, work, shape, turn)
    now = pressure_at(shapes, tables, at, work, shape, place, gap, slope)
    free = work.is_free.sum()
    looks = free
    used, last = 0, MEMORY - 1
    farthest_mm = FARTHEST * shapes.radius.mean()
    for step in range(STEPS_MAX):
        if now <= CLEAR_MM2:
            break
        hopeless = False
        for row in range(hopes.shape[0]):
            if step == hopes[row, 0] and now > hopes[row, 1]:
                hopeless = True
        if hopeless:
            break
        steepest = 0.0
        for k in range(wide):
            if (place[k] <= work.low[k] and slope[k] > 0.0) or (
                place[k] >= work.high[k] and slope[k] < 0.0
            ):
                slope[k] = 0.0
            steepest += slope[k] * slope[k]
        if steepest < CLEAR_MM2 * CLEAR_MM2:
            break
        along = _downhill(work, used, last)
        if along >= 0.0:
            used = 0
            along = _downhill(work, used, last)
        farthest = 0.0
        for k in range(wide):
            farthest = max(farthest, abs(way[k]))
        share = min(1.0, farthest_mm / farthest)
        after = now
        gained = False
        for _ in range(SHORTENED_MAX):
            for k in range(wide):
                tried[k] = min(max(place[k] + share * way[k], work.low[k]), work.high[k])
            after = pressure_at(shapes, tables, at, work, shape, tried, gap, there)
            looks += free
            if after <= now + SUFFICIENT * share * along:
                gained = True
                break
            share *= 0.5
        if not gained:
            if used == 0:
                break
            used = 0
            continue
        row = (last + 1) % MEMORY
        bend = 0.0
        for k in range(wide):
            work.moved[row, k] = tried[k] - place[k]
            work.bent[row, k] = there[k] - slope[k]
            bend += work.moved[row, k] * work.bent[row, k]
            place[k], slope[k] = tried[k], there[k]
        if bend > CLEAR_MM2 * CLEAR_MM2:
            work.inverse[row] = 1.0 / bend
            last, used = row, min(used + 1, MEMORY)
        rested = now - after < AT_REST * now and after > NEAR_CLEAR_MM2
        now = after
        if rested:
            break
    return now, looks
