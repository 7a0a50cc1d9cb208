"""One look at one place for a piece: the function the whole search spends its time in.

Two convex parts are apart by at least a gap exactly when some direction shows them so far apart;
for polygons it is enough to look along the normals of their sides, and near corners along the
line between the two corners. What is missing to the gap along the best direction is the depth.
It is zero once the gap holds and never understates an overlap.

Each function is written out at length: handing tables to small helpers in the inner loops was
measured to cost four times the arithmetic.

Source: the separating axis theorem; Gottschalk, Lin, Manocha, "OBBTree", SIGGRAPH 1996.
"""

import math

from patterns.geometry.convex import FloatArray, IntArray
from patterns.layout.relax.compiled import compiled_borrowing
from patterns.layout.relax.tables import NORMAL_X, NORMAL_Y, REACH, At, X, Y


@compiled_borrowing
def lay_row(
    corners: FloatArray,
    boxes: FloatArray,
    wholes: IntArray,
    at: At,
    row: int,
    shape: int,
    x: float,
    y: float,
    angle: float,
) -> None:
    """Write a shape into a row: its corners, boxes round its parts and itself, and its discs."""
    cosine, sine = math.cos(angle), math.sin(angle)
    first_part = wholes[at.part_first + shape]
    to = at.row_corners + row * at.corner_width - wholes[at.corner_first + first_part]
    left, bottom, right, top = 1e300, 1e300, -1e300, -1e300
    for p in range(first_part, wholes[at.part_first + shape + 1]):
        x0, y0, x1, y1 = 1e300, 1e300, -1e300, -1e300
        for k in range(wholes[at.corner_first + p], wholes[at.corner_first + p + 1]):
            normal_x = cosine * corners[NORMAL_X, k] - sine * corners[NORMAL_Y, k]
            normal_y = sine * corners[NORMAL_X, k] + cosine * corners[NORMAL_Y, k]
            at_x = cosine * corners[X, k] - sine * corners[Y, k] + x
            at_y = sine * corners[X, k] + cosine * corners[Y, k] + y
            corners[X, to + k] = at_x
            corners[Y, to + k] = at_y
            corners[NORMAL_X, to + k] = normal_x
            corners[NORMAL_Y, to + k] = normal_y
            corners[REACH, to + k] = corners[REACH, k] + normal_x * x + normal_y * y
            x0, y0 = min(x0, at_x), min(y0, at_y)
            x1, y1 = max(x1, at_x), max(y1, at_y)
        box = at.part_boxes + row * at.part_width + p - first_part
        boxes[box, 0], boxes[box, 1], boxes[box, 2], boxes[box, 3] = x0, y0, x1, y1
        left, bottom = min(left, x0), min(bottom, y0)
        right, top = max(right, x1), max(top, y1)
    box = at.row_boxes + row
    boxes[box, 0], boxes[box, 1], boxes[box, 2], boxes[box, 3] = left, bottom, right, top
    first = wholes[at.disc_first + shape]
    to = at.row_discs + row * at.disc_width - first
    for k in range(first, wholes[at.disc_first + shape + 1]):
        disc = at.discs + k
        boxes[to + k, 0] = cosine * boxes[disc, 0] - sine * boxes[disc, 1] + x
        boxes[to + k, 1] = sine * boxes[disc, 0] + cosine * boxes[disc, 1] + y
        boxes[to + k, 2] = boxes[disc, 2]
    wholes[at.shape + row] = shape


@compiled_borrowing
def part_depth(
    corners: FloatArray,
    wholes: IntArray,
    hint: int,
    a0: int,
    a1: int,
    b0: int,
    b1: int,
    way_x: float,
    way_y: float,
    gap: float,
) -> float:
    """Return what two convex rings lack to the gap, 0 if nothing; the way leads from one to two.

    Sides that look the other way never show two rings apart, so they are passed over. The hint
    holds the side that showed these two apart the last time: mostly it does so again.
    """
    hinted = wholes[hint]
    if hinted != 0:
        # A hint left by another shape may point past the end: then it is passed over.
        side, begin, end = a0 + hinted - 1, b0, b1
        if hinted < 0:
            side, begin, end = b0 - hinted - 1, a0, a1
        if (hinted > 0 and side < a1) or (hinted < 0 and side < b1):
            normal_x, normal_y = corners[NORMAL_X, side], corners[NORMAL_Y, side]
            least = 1e300
            for k in range(begin, end):
                least = min(least, corners[X, k] * normal_x + corners[Y, k] * normal_y)
            if least - corners[REACH, side] >= gap:
                return 0.0
    best = -1e300
    best_side = a0
    for e in range(a0, a1):
        normal_x, normal_y = corners[NORMAL_X, e], corners[NORMAL_Y, e]
        if normal_x * way_x + normal_y * way_y < 0.0:
            continue
        least = 1e300
        for k in range(b0, b1):
            least = min(least, corners[X, k] * normal_x + corners[Y, k] * normal_y)
        least -= corners[REACH, e]
        if least >= gap:
            wholes[hint] = e - a0 + 1
            return 0.0
        if least > best:
            best, best_side = least, e
    for e in range(b0, b1):
        normal_x, normal_y = corners[NORMAL_X, e], corners[NORMAL_Y, e]
        if normal_x * way_x + normal_y * way_y > 0.0:
            continue
        least = 1e300
        for k in range(a0, a1):
            least = min(least, corners[X, k] * normal_x + corners[Y, k] * normal_y)
        least -= corners[REACH, e]
        if least >= gap:
            wholes[hint] = b0 - e - 1
            return 0.0
        if least > best:
            best, best_side = least, e
    if best > 0.0:
        if a0 <= best_side < a1:
            best = max(best, _past_corner(corners, best_side, a0, a1, b0, b1))
        else:
            best = max(best, _past_corner(corners, best_side, b0, b1, a0, a1))
    return max(0.0, gap - best)


@compiled_borrowing
def _past_corner(corners: FloatArray, side: int, a0: int, a1: int, b0: int, b1: int) -> float:
    """Return how far two rings are apart between an end of a side and the corner nearest to it.

    Facing the side itself the distance to the side is the distance, and this is far below it.
    """
    least, corner = 1e300, b0
    for k in range(b0, b1):
        along = corners[X, k] * corners[NORMAL_X, side] + corners[Y, k] * corners[NORMAL_Y, side]
        if along < least:
            least, corner = along, k
    after = side + 1 if side + 1 < a1 else a0
    step_x = corners[X, after] - corners[X, side]
    step_y = corners[Y, after] - corners[Y, side]
    x, y = corners[X, corner], corners[Y, corner]
    along = (x - corners[X, side]) * step_x + (y - corners[Y, side]) * step_y
    if 0.0 <= along <= step_x * step_x + step_y * step_y:
        return -1e300
    end = side if along < 0.0 else after
    way_x, way_y = x - corners[X, end], y - corners[Y, end]
    length = math.hypot(way_x, way_y)
    if length < 1e-12:
        return -1e300
    most = -1e300
    for k in range(a0, a1):
        most = max(most, corners[X, k] * way_x + corners[Y, k] * way_y)
    least = 1e300
    for k in range(b0, b1):
        least = min(least, corners[X, k] * way_x + corners[Y, k] * way_y)
    return (least - most) / length


@compiled_borrowing
def look(
    corners: FloatArray,
    boxes: FloatArray,
    wholes: IntArray,
    numbers: FloatArray,
    weight: FloatArray,
    depth: FloatArray,
    at: At,
    piece: int,
    gap: float,
    bound: float,
    shape: int,
    x: float,
    y: float,
    angle: float,
) -> float:
    """Return the weighted depth of a piece at a place; at or above the bound it is cut short.

    ``depth`` gets the depth in each other piece, the last in what is barred; as far as looked.
    """
    row = at.rows
    # Discs first: they cost little, and mostly show a place to be bad before its corners are laid.
    cosine, sine = math.cos(angle), math.sin(angle)
    left, bottom, right, top = 1e300, 1e300, -1e300, -1e300
    disc = at.discs + wholes[at.disc_first + shape]
    first_disc = at.row_discs + row * at.disc_width
    end_disc = first_disc + wholes[at.disc_first + shape + 1] - wholes[at.disc_first + shape]
    for k in range(first_disc, end_disc):
        at_x = cosine * boxes[disc, 0] - sine * boxes[disc, 1] + x
        at_y = sine * boxes[disc, 0] + cosine * boxes[disc, 1] + y
        radius = boxes[disc, 2]
        boxes[k, 0], boxes[k, 1], boxes[k, 2] = at_x, at_y, radius
        left, bottom = min(left, at_x - radius), min(bottom, at_y - radius)
        right, top = max(right, at_x + radius), max(top, at_y + radius)
        disc += 1
    total = 0.0
    for other in range(row):
        box = at.row_boxes + other
        depth[other] = 0.0
        if (
            boxes[box, 0] >= right
            or boxes[box, 2] <= left
            or boxes[box, 1] >= top
            or boxes[box, 3] <= bottom
            or other == piece
        ):
            continue
        found = 0.0
        kind = wholes[at.shape + other]
        first = at.row_discs + other * at.disc_width
        end = first + wholes[at.disc_first + kind + 1] - wholes[at.disc_first + kind]
        for k in range(first_disc, end_disc):
            for m in range(first, end):
                dx, dy = boxes[m, 0] - boxes[k, 0], boxes[m, 1] - boxes[k, 1]
                reach = boxes[m, 2] + boxes[k, 2]
                squared = dx * dx + dy * dy
                if squared < reach * reach:
                    found += reach - math.sqrt(squared)
        depth[other] = found
        total += weight[piece, other] * found
        if total >= bound:
            return float(total)
    lay_row(corners, boxes, wholes, at, row, shape, x, y, angle)
    own = at.row_boxes + row
    left, bottom = boxes[own, 0] - gap, boxes[own, 1] - gap
    right, top = boxes[own, 2] + gap, boxes[own, 3] + gap
    listed = 0
    most = 0.0
    for other in range(row):
        box = at.row_boxes + other
        if (
            boxes[box, 0] < right
            and boxes[box, 2] > left
            and boxes[box, 1] < top
            and boxes[box, 3] > bottom
            and other != piece
        ):
            # The one that most likely shows the place to be bad comes first.
            worth = weight[piece, other] * depth[other]
            to = at.listed + listed
            if worth > most:
                most = worth
                wholes[to], to = wholes[at.listed], at.listed
            wholes[to] = other
            listed += 1
    p0, p1 = wholes[at.part_first + shape], wholes[at.part_first + shape + 1]
    to_own = at.row_corners + row * at.corner_width - wholes[at.corner_first + p0]
    own_parts = at.part_boxes + row * at.part_width - p0
    middle_x, middle_y = 0.5 * (left + right), 0.5 * (bottom + top)
    pitch = numbers[at.grid + 2]
    column = min(max((middle_x - numbers[at.grid]) / pitch, 0.0), numbers[at.grid + 3] - 1.0)
    line = min(max((middle_y - numbers[at.grid + 1]) / pitch, 0.0), numbers[at.grid + 4] - 1.0)
    cell = int(line) * int(numbers[at.grid + 3]) + int(column)
    found = 0.0
    grade = wholes[at.grade + shape]
    for place in range(wholes[at.near_first + cell], wholes[at.near_first + cell + 1]):
        o = wholes[at.near + place]
        if wholes[at.barred_grade + o] <= grade:
            continue
        box = at.barred_boxes + o
        keep = numbers[at.gap + o]
        if (
            boxes[box, 0] - boxes[own, 2] >= keep
            or boxes[own, 0] - boxes[box, 2] >= keep
            or boxes[box, 1] - boxes[own, 3] >= keep
            or boxes[own, 1] - boxes[box, 3] >= keep
        ):
            continue
        for p in range(p0, p1):
            part = own_parts + p
            if (
                boxes[box, 0] - boxes[part, 2] < keep
                and boxes[part, 0] - boxes[box, 2] < keep
                and boxes[box, 1] - boxes[part, 3] < keep
                and boxes[part, 1] - boxes[box, 3] < keep
            ):
                found += part_depth(
                    corners,
                    wholes,
                    at.hint + (p - p0) * at.hint_width + o,
                    to_own + wholes[at.corner_first + p],
                    to_own + wholes[at.corner_first + p + 1],
                    at.barred_corners + wholes[at.barred_first + o],
                    at.barred_corners + wholes[at.barred_first + o + 1],
                    boxes[box, 0] + boxes[box, 2] - boxes[part, 0] - boxes[part, 2],
                    boxes[box, 1] + boxes[box, 3] - boxes[part, 1] - boxes[part, 3],
                    keep,
                )
                if total + weight[piece, row] * found >= bound:
                    return float(total + weight[piece, row] * found)
    depth[row] = found
    total += weight[piece, row] * found
    for number in range(listed):
        if total >= bound:
            return float(total)
        other = wholes[at.listed + number]
        kind = wholes[at.shape + other]
        q0, q1 = wholes[at.part_first + kind], wholes[at.part_first + kind + 1]
        to_other = at.row_corners + other * at.corner_width - wholes[at.corner_first + q0]
        other_parts = other * at.part_width - q0
        around = at.row_boxes + other
        found = 0.0
        for p in range(p0, p1):
            part = own_parts + p
            # A part that is not near the other piece as a whole needs no look at its parts.
            if (
                boxes[around, 0] - boxes[part, 2] >= gap
                or boxes[part, 0] - boxes[around, 2] >= gap
                or boxes[around, 1] - boxes[part, 3] >= gap
                or boxes[part, 1] - boxes[around, 3] >= gap
            ):
                continue
            for q in range(q0, q1):
                box = at.part_boxes + other_parts + q
                if (
                    boxes[box, 0] - boxes[part, 2] < gap
                    and boxes[part, 0] - boxes[box, 2] < gap
                    and boxes[box, 1] - boxes[part, 3] < gap
                    and boxes[part, 1] - boxes[box, 3] < gap
                ):
                    found += part_depth(
                        corners,
                        wholes,
                        at.hint + (p - p0) * at.hint_width + box - at.barred_boxes,
                        to_own + wholes[at.corner_first + p],
                        to_own + wholes[at.corner_first + p + 1],
                        to_other + wholes[at.corner_first + q],
                        to_other + wholes[at.corner_first + q + 1],
                        boxes[box, 0] + boxes[box, 2] - boxes[part, 0] - boxes[part, 2],
                        boxes[box, 1] + boxes[box, 3] - boxes[part, 1] - boxes[part, 3],
                        gap,
                    )
                    if total + weight[piece, other] * found >= bound:
                        return float(total + weight[piece, other] * found)
        depth[other] += found
        total += weight[piece, other] * found
    return float(total)
