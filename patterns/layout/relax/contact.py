"""Two convex parts: how far apart they are, and which way pushes them apart.

Two convex parts are apart by at least a gap exactly when some direction shows them so far apart;
for polygons it is enough to look along the normals of their sides, and near corners along the
line between the two corners. What is missing to the gap along the best direction is the depth.
It is zero once the gap holds and never understates an overlap.

Source: the separating axis theorem; Gottschalk, Lin, Manocha, "OBBTree", SIGGRAPH 1996.
"""

import math

from patterns.geometry.convex import FloatArray
from patterns.layout.relax.compiled import compiled_borrowing
from patterns.layout.relax.tables import NORMAL_X, NORMAL_Y, REACH, HintArray, X, Y

# What `way_out` writes: the way one is pushed away from two, and the corner it is pushed at.
PUSH_X, PUSH_Y, CORNER_X, CORNER_Y = range(4)
PUSH_NUMBERS = 4


@compiled_borrowing
def sides_apart(
    corners: FloatArray,
    hints: HintArray,
    hint: int,
    a0: int,
    a1: int,
    b0: int,
    b1: int,
    way_x: float,
    way_y: float,
    gap: float,
) -> float:
    """Return how far two convex rings are apart along the side that shows them farthest apart.

    At least the gap is enough: then no other side is looked at. The way leads from one to two;
    sides that look the other way never show them apart, so they are passed over. The hint gets
    the side found, counted from 1 in ring one and from -1 down in ring two: the next time it is
    looked at first, because mostly it shows the same two apart again.
    """
    hinted = hints[hint]
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
            least -= corners[REACH, side]
            if least >= gap:
                return float(least)
    best = -1e300
    found = 1
    for e in range(a0, a1):
        normal_x, normal_y = corners[NORMAL_X, e], corners[NORMAL_Y, e]
        if normal_x * way_x + normal_y * way_y < 0.0:
            continue
        least = 1e300
        for k in range(b0, b1):
            least = min(least, corners[X, k] * normal_x + corners[Y, k] * normal_y)
        least -= corners[REACH, e]
        if least > best:
            best, found = least, e - a0 + 1
            if best >= gap:
                break
    if best < gap:
        for e in range(b0, b1):
            normal_x, normal_y = corners[NORMAL_X, e], corners[NORMAL_Y, e]
            if normal_x * way_x + normal_y * way_y > 0.0:
                continue
            least = 1e300
            for k in range(a0, a1):
                least = min(least, corners[X, k] * normal_x + corners[Y, k] * normal_y)
            least -= corners[REACH, e]
            if least > best:
                best, found = least, b0 - e - 1
                if best >= gap:
                    break
    hints[hint] = found
    return float(best)


@compiled_borrowing
def way_out(
    corners: FloatArray,
    hinted: int,
    a0: int,
    a1: int,
    b0: int,
    b1: int,
    apart: float,
    push: FloatArray,
) -> float:
    """Return how far two rings really are apart, and write the way that takes one off two.

    ``hinted`` and ``apart`` are what `sides_apart` found. Between two corners the rings are
    farther apart than along any side; facing the side itself, its distance is the distance.
    """
    side, begin, end, first, last, sign = a0 + hinted - 1, b0, b1, a0, a1, -1.0
    if hinted < 0:
        side, begin, end, first, last, sign = b0 - hinted - 1, a0, a1, b0, b1, 1.0
    normal_x, normal_y = corners[NORMAL_X, side], corners[NORMAL_Y, side]
    least, corner = 1e300, begin
    for k in range(begin, end):
        along = corners[X, k] * normal_x + corners[Y, k] * normal_y
        if along < least:
            least, corner = along, k
    x, y = corners[X, corner], corners[Y, corner]
    push[CORNER_X], push[CORNER_Y] = x, y
    if apart > 0.0:
        after = side + 1 if side + 1 < last else first
        step_x = corners[X, after] - corners[X, side]
        step_y = corners[Y, after] - corners[Y, side]
        along = (x - corners[X, side]) * step_x + (y - corners[Y, side]) * step_y
        if along < 0.0 or along > step_x * step_x + step_y * step_y:
            nearest = side if along < 0.0 else after
            way_x, way_y = x - corners[X, nearest], y - corners[Y, nearest]
            length = math.hypot(way_x, way_y)
            if length > apart:
                way_x, way_y = way_x / length, way_y / length
                most, least = -1e300, 1e300
                for k in range(first, last):
                    most = max(most, corners[X, k] * way_x + corners[Y, k] * way_y)
                for k in range(begin, end):
                    least = min(least, corners[X, k] * way_x + corners[Y, k] * way_y)
                if least - most > apart:
                    apart, normal_x, normal_y = least - most, way_x, way_y
    push[PUSH_X], push[PUSH_Y] = sign * normal_x, sign * normal_y
    return float(apart)
