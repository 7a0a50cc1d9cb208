"""The last as a closed body, for a printer or a mould: STL and OBJ in mm."""

from dataclasses import replace

import numpy as np

from patterns.last.last import FloatArray, IntArray, Last

MM_DIGITS = 4  # of the text file; a tenth of a micrometre


def mirrored_last(last: Last) -> Last:
    """Return the last of the other foot: y mirrored, its outer side still the outer side."""
    return replace(
        last,
        grid_mm=last.grid_mm * np.array([1.0, -1.0, 1.0]),
        lateral_sign=-last.lateral_sign,
    )


def closed_triangles(last: Last) -> tuple[FloatArray, IntArray]:
    """Return points and triangles of the last with its shaft closed by a flat top.

    Returns
    -------
    (array of shape (n, 3), array of shape (m, 3))
        The last point is the middle of the top; triangles run counter-clockwise from outside.
    """
    points = last.points_mm
    rim = np.arange(len(points) - last.turn_count, len(points))
    middle = points[rim].mean(axis=0)
    beside = np.roll(rim, -1)
    cap = np.column_stack([rim, beside, np.full(len(rim), len(points))])
    if last.lateral_sign < 0:
        cap = cap[:, ::-1]
    return np.vstack([points, middle]), np.vstack([last.triangles, cap]).astype(np.int64)
