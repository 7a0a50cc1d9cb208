"""The coordinates in which a style's curves are drawn, at every point of a last's surface."""

from collections.abc import Mapping

import numpy as np

from patterns.last.last import FloatArray, Last

# The grid's own columns at the middle of sole and top are the centre line, so that it follows the
# last's sections: a leg does not stand over the middle of its foot.


def fields_of_last(last: Last) -> Mapping[str, FloatArray]:
    """Return every field of `patterns.style_lines.FIELDS`, each of shape (points,).

    They are lengths in mm, but for ``turn``, a share. At the tip of the toe, where all turns meet,
    each is that of the middle of the top.
    """
    grid = last.grid_mm
    half = last.turn_count // 2
    round_mm = _way_round(grid)
    outer = round_mm[:, : half + 1]
    inner = round_mm[:, -1:] - round_mm[:, half:]
    from_back = np.concatenate([outer, inner[:, 1:-1]], axis=1)
    length = np.concatenate(
        [np.repeat(outer[:, -1:], half + 1, axis=1), np.repeat(inner[:, :1], half - 1, axis=1)],
        axis=1,
    )
    from_front = np.maximum(length - from_back, 0.0)
    outside = np.ones(last.turn_count)
    outside[half + 1 :] = -1.0
    side = outside * np.minimum(from_back, from_front)
    side[:, [0, half]] = 0.0
    along = _way_along(grid[:, half])
    whole = {
        "x": grid[..., 0],
        "y": grid[..., 1],
        "z": grid[..., 2],
        "above_sole": grid[..., 2] - last.sole_height_mm(grid[..., 0]),
        "drop": grid[:, half, 2][:, None] - grid[..., 2],
        "along": np.repeat(along[:, None], last.turn_count, axis=1),
        "from_front": from_front,
        "from_back": from_back,
        "side": side,
        "turn": np.divide(from_front, length, out=np.zeros_like(from_front), where=length > 0),
    }
    return {name: _at_points(values, half) for name, values in whole.items()}


def _way_round(grid: FloatArray) -> FloatArray:
    """Return the way round each section from turn 0, its whole length last: (stations, turns+1)."""
    closed = np.concatenate([grid, grid[:, :1]], axis=1)
    steps = np.linalg.norm(np.diff(closed, axis=1), axis=2)
    start = np.zeros((len(grid), 1))
    return np.concatenate([start, np.cumsum(steps, axis=1)], axis=1)


def _way_along(ridge: FloatArray) -> FloatArray:
    steps = np.linalg.norm(np.diff(ridge, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _at_points(values: FloatArray, half: int) -> FloatArray:
    """Return values of the grid in the order of `Last.points_mm`, the tip of the toe once."""
    return np.concatenate([values[:1, half], values[1:].ravel()])
