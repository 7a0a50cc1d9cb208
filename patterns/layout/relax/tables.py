"""Everything the compiled search reads, in a few flat tables.

The compiler counts the users of every array it hands about, and that cost more than the geometry
itself while there were thirty of them; so there are few, and ``At`` says what begins where.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from patterns.geometry.convex import FloatArray, IntArray

HintArray = npt.NDArray[np.int16]

# Rows of the table of corners: where a corner lies, the outward normal of the side that begins
# there, and how far its ring lies along that normal.
X, Y, NORMAL_X, NORMAL_Y, REACH = range(5)
CORNER_ROWS = 5

NO_GRADE = 1_000_000


class Shapes(NamedTuple):
    """Outlines of all pieces as convex parts, about the middle of each piece.

    Part ``p`` of shape ``s`` is from ``part_first[s]`` up to ``part_first[s + 1]``; its corners
    are from ``corner_first[p]`` on. ``discs`` lie inside a shape, as x, y, radius and 0. ``turns``
    are allowed angles in radians, ``slack`` how far a turn may be off them. ``twin`` is the mirror
    image a copy may change into, or -1.
    """

    part_first: IntArray
    corner_first: IntArray
    corners: FloatArray
    disc_first: IntArray
    discs: FloatArray
    grade: IntArray
    radius: FloatArray
    turn_first: IntArray
    turns: FloatArray
    slack: FloatArray
    twin: IntArray


class Ground(NamedTuple):
    """What no piece may lie on, as convex parts, with lists of what is near each cell of a grid.

    Every part bars shapes whose grade is below its own, and keeps them its own gap away.
    ``grid`` is that grid's corner x and y, its pitch, and how many columns and rows it has.
    """

    corner_first: IntArray
    corners: FloatArray
    box: FloatArray
    grade: IntArray
    gap: FloatArray
    near_first: IntArray
    near: IntArray
    grid: FloatArray


class Rooms(NamedTuple):
    """Boxes to lay pieces in: x0, y0, x1, y1 of each, and the share of the area up to each."""

    box: FloatArray
    share: FloatArray


class At(NamedTuple):
    """Where in the tables each list begins, and how wide the row of one laid piece is.

    In ``wholes``: ``part_first`` to ``listed``; in ``numbers``: ``gap`` and ``grid``; in
    ``corners`` and ``boxes`` what is barred, then the rows of the pieces, the last row for trying.
    """

    rows: int
    part_first: int
    corner_first: int
    disc_first: int
    grade: int
    barred_first: int
    barred_grade: int
    near_first: int
    near: int
    shape: int
    listed: int
    hint_width: int
    gap: int
    grid: int
    barred_corners: int
    row_corners: int
    corner_width: int
    barred_boxes: int
    part_boxes: int
    part_width: int
    row_boxes: int
    discs: int
    row_discs: int
    disc_width: int


class Tables(NamedTuple):
    """The tables: corners (5, n), boxes and discs (n, 4), whole numbers, other numbers, hints.

    A hint tells which side showed two parts apart the last time. Each part of each laid piece has
    a line of them, ``At.hint_width`` long: for what is barred, then for every part of every piece.
    """

    corners: FloatArray
    boxes: FloatArray
    wholes: IntArray
    numbers: FloatArray
    hints: HintArray


def tables_of(shapes: Shapes, ground: Ground, rows: int) -> tuple[Tables, At]:
    """Return the tables for so many pieces, none of them laid yet."""
    widths = [
        int(np.diff(shapes.corner_first[shapes.part_first]).max()),
        int(np.diff(shapes.part_first).max()),
        int(np.diff(shapes.disc_first).max()),
    ]
    barred = len(ground.box)
    hint_width = barred + (rows + 1) * widths[1]
    whole_lists = [
        shapes.part_first,
        shapes.corner_first,
        shapes.disc_first,
        shapes.grade,
        ground.corner_first,
        ground.grade,
        ground.near_first,
        ground.near,
        np.zeros(rows + 1, dtype=np.int64),
        np.zeros(rows + 1, dtype=np.int64),
    ]
    corner_lists = [
        shapes.corners,
        ground.corners,
        np.zeros((CORNER_ROWS, (rows + 1) * widths[0])),
    ]
    box_lists = [
        ground.box,
        np.zeros(((rows + 1) * widths[1], 4)),
        np.zeros((rows + 1, 4)),
        shapes.discs,
        np.zeros(((rows + 1) * widths[2], 4)),
    ]
    wholes = _firsts(whole_lists)
    corners = _firsts([table.T for table in corner_lists])
    boxes = _firsts(box_lists)
    at = At(
        rows=rows,
        part_first=wholes[0],
        corner_first=wholes[1],
        disc_first=wholes[2],
        grade=wholes[3],
        barred_first=wholes[4],
        barred_grade=wholes[5],
        near_first=wholes[6],
        near=wholes[7],
        shape=wholes[8],
        listed=wholes[9],
        hint_width=hint_width,
        gap=0,
        grid=barred,
        barred_corners=corners[1],
        row_corners=corners[2],
        corner_width=widths[0],
        barred_boxes=boxes[0],
        part_boxes=boxes[1],
        part_width=widths[1],
        row_boxes=boxes[2],
        discs=boxes[3],
        row_discs=boxes[4],
        disc_width=widths[2],
    )
    return Tables(
        corners=np.ascontiguousarray(np.concatenate(corner_lists, axis=1)),
        boxes=np.concatenate(box_lists),
        wholes=np.concatenate(whole_lists),
        numbers=np.concatenate([ground.gap, ground.grid]),
        hints=np.zeros((rows + 1) * widths[1] * hint_width, dtype=np.int16),
    ), at


def _firsts(lists: list[FloatArray] | list[IntArray]) -> list[int]:
    return [0, *np.cumsum([len(row) for row in lists]).tolist()[:-1]]
