"""One look at one place for a piece: how deep it would lie in all others there.

Each function is written out at length: handing tables to small helpers in the inner loops was
measured to cost four times the arithmetic.
"""

import math

from patterns.geometry.convex import FloatArray, IntArray
from patterns.layout.relax.compiled import compiled_borrowing
from patterns.layout.relax.contact import sides_apart, way_out
from patterns.layout.relax.tables import NORMAL_X, NORMAL_Y, REACH, At, HintArray, X, Y

# Pieces give way to one another, the leather's edge and defects to nothing: a large piece across a
# small defect would else count as nearly laid. Trials with 31 pieces on the free sample: with all
# alike two of four seeds stayed for good with a large piece across a defect; with 4 and with 12
# all eight were solved, in 1.5 and 2 s of processor time (medians).
BARRED_WEIGHT = 10.0
BARRED_DEPTH_WEIGHT = math.sqrt(BARRED_WEIGHT)


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
def look(
    corners: FloatArray,
    boxes: FloatArray,
    wholes: IntArray,
    hints: HintArray,
    numbers: FloatArray,
    depth: FloatArray,
    push: FloatArray,
    at: At,
    piece: int,
    gap: float,
    bound: float,
    shape: int,
    x: float,
    y: float,
    angle: float,
) -> float:
    """Return the depth of a piece at a place; at or above the bound it is cut short.

    What lies in barred ground counts `BARRED_DEPTH_WEIGHT` times.

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
        total += found
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
            worth = depth[other]
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
                hint = (row * at.part_width + p - p0) * at.hint_width + o
                a0 = to_own + wholes[at.corner_first + p]
                a1 = to_own + wholes[at.corner_first + p + 1]
                b0 = at.barred_corners + wholes[at.barred_first + o]
                b1 = at.barred_corners + wholes[at.barred_first + o + 1]
                way_x = boxes[box, 0] + boxes[box, 2] - boxes[part, 0] - boxes[part, 2]
                way_y = boxes[box, 1] + boxes[box, 3] - boxes[part, 1] - boxes[part, 3]
                apart = sides_apart(corners, hints, hint, a0, a1, b0, b1, way_x, way_y, keep)
                if 0.0 < apart < keep:
                    apart = way_out(corners, hints[hint], a0, a1, b0, b1, apart, push)
                if apart < keep:
                    found += BARRED_DEPTH_WEIGHT * (keep - apart)
                    if total + found >= bound:
                        return float(total + found)
    depth[row] = found
    total += found
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
                    hint = (row * at.part_width + p - p0) * at.hint_width + box - at.barred_boxes
                    a0 = to_own + wholes[at.corner_first + p]
                    a1 = to_own + wholes[at.corner_first + p + 1]
                    b0 = to_other + wholes[at.corner_first + q]
                    b1 = to_other + wholes[at.corner_first + q + 1]
                    way_x = boxes[box, 0] + boxes[box, 2] - boxes[part, 0] - boxes[part, 2]
                    way_y = boxes[box, 1] + boxes[box, 3] - boxes[part, 1] - boxes[part, 3]
                    apart = sides_apart(corners, hints, hint, a0, a1, b0, b1, way_x, way_y, gap)
                    if 0.0 < apart < gap:
                        apart = way_out(corners, hints[hint], a0, a1, b0, b1, apart, push)
                    if apart < gap:
                        found += gap - apart
                        if total + found >= bound:
                            return float(total + found)
        depth[other] = found
        total += found
    return float(total)
