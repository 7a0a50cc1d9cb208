"""How hard pieces press on one another where they lie, and which way that drives each of them.

The pressure of two parts is the square of what they lack to the gap; so it falls smoothly to
nothing where the gap is reached, and its slopes tell how to move and turn all pieces at once.
"""

from patterns.geometry.convex import FloatArray, IntArray
from patterns.layout.relax.compiled import compiled_borrowing
from patterns.layout.relax.contact import CORNER_X, CORNER_Y, PUSH_X, PUSH_Y, sides_apart, way_out
from patterns.layout.relax.look import BARRED_WEIGHT, lay_row
from patterns.layout.relax.tables import At, HintArray


@compiled_borrowing
def pressure(
    corners: FloatArray,
    boxes: FloatArray,
    wholes: IntArray,
    hints: HintArray,
    numbers: FloatArray,
    push: FloatArray,
    at: At,
    shape: IntArray,
    radius: FloatArray,
    is_free: IntArray,
    place: FloatArray,
    gap: float,
    margin: float,
    slope: FloatArray,
    pressed: FloatArray,
) -> float:
    """Return the pressure in mm2 of all pieces at a place, and write its slopes.

    ``place`` and ``slope`` have three numbers for each piece: x, y, and the angle as the length
    of its arc at the piece's radius, so that all three weigh alike. ``pressed`` gets the pressure
    on each piece. Pieces that are not free press on the free ones, but not on each other. The
    margin is asked for beyond every gap.
    """
    count = shape.size
    wide = gap + margin
    total = 0.0
    for i in range(count):
        kind = shape[i]
        x, y, arc = place[3 * i], place[3 * i + 1], place[3 * i + 2]
        lay_row(corners, boxes, wholes, at, i, kind, x, y, arc / radius[kind])
        slope[3 * i] = slope[3 * i + 1] = slope[3 * i + 2] = 0.0
        pressed[i] = 0.0
    for i in range(count):
        kind = shape[i]
        p0, p1 = wholes[at.part_first + kind], wholes[at.part_first + kind + 1]
        to_own = at.row_corners + i * at.corner_width - wholes[at.corner_first + p0]
        own_parts = at.part_boxes + i * at.part_width - p0
        own = at.row_boxes + i
        left, bottom = boxes[own, 0] - wide, boxes[own, 1] - wide
        right, top = boxes[own, 2] + wide, boxes[own, 3] + wide
        x, y = place[3 * i], place[3 * i + 1]
        for j in range(i):
            around = at.row_boxes + j
            if (
                boxes[around, 0] >= right
                or boxes[around, 2] <= left
                or boxes[around, 1] >= top
                or boxes[around, 3] <= bottom
                or not (is_free[i] or is_free[j])
            ):
                continue
            other = shape[j]
            q0, q1 = wholes[at.part_first + other], wholes[at.part_first + other + 1]
            to_other = at.row_corners + j * at.corner_width - wholes[at.corner_first + q0]
            other_parts = at.part_boxes + j * at.part_width - q0
            for p in range(p0, p1):
                part = own_parts + p
                # A part that is not near the other piece as a whole needs no look at its parts.
                if (
                    boxes[around, 0] - boxes[part, 2] >= wide
                    or boxes[part, 0] - boxes[around, 2] >= wide
                    or boxes[around, 1] - boxes[part, 3] >= wide
                    or boxes[part, 1] - boxes[around, 3] >= wide
                ):
                    continue
                for q in range(q0, q1):
                    box = other_parts + q
                    if (
                        boxes[box, 0] - boxes[part, 2] >= wide
                        or boxes[part, 0] - boxes[box, 2] >= wide
                        or boxes[box, 1] - boxes[part, 3] >= wide
                        or boxes[part, 1] - boxes[box, 3] >= wide
                    ):
                        continue
                    hint = (i * at.part_width + p - p0) * at.hint_width + box - at.barred_boxes
                    a0 = to_own + wholes[at.corner_first + p]
                    a1 = to_own + wholes[at.corner_first + p + 1]
                    b0 = to_other + wholes[at.corner_first + q]
                    b1 = to_other + wholes[at.corner_first + q + 1]
                    way_x = boxes[box, 0] + boxes[box, 2] - boxes[part, 0] - boxes[part, 2]
                    way_y = boxes[box, 1] + boxes[box, 3] - boxes[part, 1] - boxes[part, 3]
                    apart = sides_apart(corners, hints, hint, a0, a1, b0, b1, way_x, way_y, wide)
                    if apart >= wide:
                        continue
                    apart = way_out(corners, hints[hint], a0, a1, b0, b1, apart, push)
                    if apart >= wide:
                        continue
                    depth = wide - apart
                    total += depth * depth
                    pressed[i] += depth * depth
                    pressed[j] += depth * depth
                    force_x, force_y = 2.0 * depth * push[PUSH_X], 2.0 * depth * push[PUSH_Y]
                    slope[3 * i] -= force_x
                    slope[3 * i + 1] -= force_y
                    slope[3 * j] += force_x
                    slope[3 * j + 1] += force_y
                    arm_x, arm_y = push[CORNER_X] - x, push[CORNER_Y] - y
                    slope[3 * i + 2] -= (arm_x * force_y - arm_y * force_x) / radius[kind]
                    arm_x, arm_y = push[CORNER_X] - place[3 * j], push[CORNER_Y] - place[3 * j + 1]
                    slope[3 * j + 2] += (arm_x * force_y - arm_y * force_x) / radius[other]
        if not is_free[i]:
            continue
        middle_x, middle_y = 0.5 * (left + right), 0.5 * (bottom + top)
        pitch = numbers[at.grid + 2]
        column = min(max((middle_x - numbers[at.grid]) / pitch, 0.0), numbers[at.grid + 3] - 1.0)
        line = min(max((middle_y - numbers[at.grid + 1]) / pitch, 0.0), numbers[at.grid + 4] - 1.0)
        cell = int(line) * int(numbers[at.grid + 3]) + int(column)
        grade = wholes[at.grade + kind]
        for listed in range(wholes[at.near_first + cell], wholes[at.near_first + cell + 1]):
            o = wholes[at.near + listed]
            if wholes[at.barred_grade + o] <= grade:
                continue
            box = at.barred_boxes + o
            keep = numbers[at.gap + o] + margin
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
                    boxes[box, 0] - boxes[part, 2] >= keep
                    or boxes[part, 0] - boxes[box, 2] >= keep
                    or boxes[box, 1] - boxes[part, 3] >= keep
                    or boxes[part, 1] - boxes[box, 3] >= keep
                ):
                    continue
                hint = (i * at.part_width + p - p0) * at.hint_width + o
                a0 = to_own + wholes[at.corner_first + p]
                a1 = to_own + wholes[at.corner_first + p + 1]
                b0 = at.barred_corners + wholes[at.barred_first + o]
                b1 = at.barred_corners + wholes[at.barred_first + o + 1]
                way_x = boxes[box, 0] + boxes[box, 2] - boxes[part, 0] - boxes[part, 2]
                way_y = boxes[box, 1] + boxes[box, 3] - boxes[part, 1] - boxes[part, 3]
                apart = sides_apart(corners, hints, hint, a0, a1, b0, b1, way_x, way_y, keep)
                if apart >= keep:
                    continue
                apart = way_out(corners, hints[hint], a0, a1, b0, b1, apart, push)
                if apart >= keep:
                    continue
                depth = keep - apart
                total += BARRED_WEIGHT * depth * depth
                pressed[i] += BARRED_WEIGHT * depth * depth
                force = 2.0 * BARRED_WEIGHT * depth
                force_x, force_y = force * push[PUSH_X], force * push[PUSH_Y]
                slope[3 * i] -= force_x
                slope[3 * i + 1] -= force_y
                arm_x, arm_y = push[CORNER_X] - x, push[CORNER_Y] - y
                slope[3 * i + 2] -= (arm_x * force_y - arm_y * force_x) / radius[kind]
    return float(total)
