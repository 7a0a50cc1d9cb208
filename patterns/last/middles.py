"""Where sections have their middles, below and above: the line along which a last is parted."""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

# Of a section's height, from its end: the chord there has a middle that hardly moves when the
# section changes by a hair; the highest point of a flat top may lie anywhere on it.
CHORD_SHARE = 0.10
STEP_LEAST = 0.004  # of foot length: sections nearer than this count as so far apart
TIP_WEIGHT = 1e4  # the tip is one point and stays where it is


def smooth_middles(
    rings: FloatArray, below: FloatArray, above: FloatArray, spread_mm: float, length_mm: float
) -> FloatArray:
    """Return the sideways place of each section's middle below and above, shape (sections, 2).

    Parameters
    ----------
    rings : array of shape (sections, n, 2)
        Convex rings from their lowest point counter-clockwise, as of `supports.boundary`; the
        first is the tip.
    below, above : array of shape (sections, 3)
        Where the sections' bottoms and tops lie in space: how far apart they are.
    spread_mm : float
        Waves shorter than about six times this are evened out; an even slope stays.
    """
    return np.column_stack(
        [
            _evened(
                _chord_middles(rings, share),
                np.maximum(_steps(place), STEP_LEAST * length_mm),
                spread_mm,
            )
            for share, place in ((CHORD_SHARE, below), (1.0 - CHORD_SHARE, above))
        ]
    )


def _chord_middles(rings: FloatArray, share: float) -> FloatArray:
    """Return the middles of the chords at a share of each section's height."""
    half = rings.shape[1] // 2
    middles = np.empty(len(rings))
    for k, ring in enumerate(rings):
        level = ring[0, 1] + share * (ring[half, 1] - ring[0, 1])
        outer, inner = ring[: half + 1], np.vstack([ring[:1], ring[: half - 1 : -1]])
        middles[k] = sum(np.interp(level, side[:, 1], side[:, 0]) for side in (outer, inner)) / 2
    return middles


def _steps(places: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.norm(np.diff(places, axis=0), axis=1))


def _evened(values: FloatArray, steps: FloatArray, spread: float) -> FloatArray:
    """Return values at uneven steps with their bends evened out.

    The least of the squares of the moves plus spread^4 times those of the second derivative.
    Source: E. T. Whittaker, On a New Method of Graduation, 1922 (from memory).
    """
    count = len(values)
    room = (steps[:-1] + steps[1:]) / 2
    bend = np.zeros((count - 2, count))
    rows = np.arange(count - 2)
    bend[rows, rows] = 1.0 / (steps[:-1] * room)
    bend[rows, rows + 2] = 1.0 / (steps[1:] * room)
    bend[rows, rows + 1] = -bend[rows, rows] - bend[rows, rows + 2]
    weight = np.concatenate([[steps[0]], room, [steps[-1]]])
    weight[0] *= TIP_WEIGHT
    matrix = np.diag(weight) + spread**4 * (bend.T * room) @ bend
    return np.asarray(np.linalg.solve(matrix, weight * values), dtype=float)
