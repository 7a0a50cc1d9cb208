"""Convex sections told by how far they reach in every direction of their plane.

The reach h(a) of a convex section is the greatest p . n(a) over its points p, with n(a) the
direction at angle a. Its boundary is h n + h' n', its girth the integral of h. Blurring h in
angle or mixing it between sections keeps a section convex and its girth the mean of theirs,
which no smoothing of points does.

Source: R. Schneider, Convex Bodies: The Brunn-Minkowski Theory, section 1.7 (from memory).
"""

from contextlib import suppress
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull, QhullError

FloatArray = npt.NDArray[np.float64]

ANGLES = 720  # directions looked at, from straight down (-90 degrees) counter-clockwise
HULL_FROM = 60  # points: from here on their hull is found first, which is quicker
ROUND_MOST = 0.015  # of a ring's length: the most over which its corners are rounded


@lru_cache(maxsize=1)
def directions() -> tuple[FloatArray, FloatArray]:
    """Return the unit directions and those a quarter turn on, each of shape (ANGLES, 2)."""
    angle = 2 * np.pi * np.arange(ANGLES) / ANGLES - np.pi / 2
    c, s = np.cos(angle), np.sin(angle)
    return np.column_stack([c, s]), np.column_stack([-s, c])


def reach_of(points: FloatArray) -> FloatArray:
    """Return the reach of the hull of points in a plane, shape (ANGLES,)."""
    if len(points) > HULL_FROM:
        with suppress(QhullError):  # all on a line: their reach is found as they are
            points = points[ConvexHull(points).vertices]
    return np.asarray((directions()[0] @ points.T).max(axis=1), dtype=float)


def blurred(reach: FloatArray, spread_deg: float) -> FloatArray:
    """Return reaches averaged over neighbouring directions; girths stay as they are."""
    waves = np.fft.rfft(reach, axis=-1)
    order = np.arange(waves.shape[-1])
    return np.fft.irfft(waves * np.exp(-0.5 * (order * np.radians(spread_deg)) ** 2), ANGLES)


def boundary(reach: FloatArray) -> FloatArray:
    """Return the boundary points of sections, shape (sections, ANGLES, 2), from reaches.

    The point at a direction is where a line square to it touches the section.
    """
    normal, along = directions()
    waves = np.fft.rfft(reach, axis=-1)
    order = 1j * np.arange(waves.shape[-1])
    order[-1] = 0.0  # the highest wave of an even count has no slope
    slope = np.fft.irfft(waves * order, ANGLES)
    return np.asarray(reach[..., None] * normal + slope[..., None] * along, dtype=float)


def girths(reach: FloatArray) -> FloatArray:
    """Return the girth of each section."""
    return np.asarray(2 * np.pi * reach.mean(axis=-1), dtype=float)


def even_ring(rings: FloatArray, turns: int, middles: FloatArray, round_mm: float) -> FloatArray:
    """Return rings of `turns` points at even steps from middle to middle, their corners rounded.

    Parameters
    ----------
    rings : array of shape (sections, ANGLES, 2)
        From `boundary`.
    turns : int
        Even.
    middles : array of shape (sections, 2)
        Sideways places of turn 0, below, and of half of all turns, above.
    round_mm : float
        Length over which corners are rounded; less on small rings.
    """
    closed = np.concatenate([rings, rings[:, :1]], axis=1)
    step = np.linalg.norm(np.diff(closed, axis=1), axis=2)
    length = np.concatenate([np.zeros((len(rings), 1)), np.cumsum(step, axis=1)], axis=1)
    whole = np.maximum(length[:, -1:], 1e-12)
    even = np.broadcast_to(np.arange(ANGLES) / ANGLES, rings.shape[:2])
    rounded = _rounded(_laid_off(closed, length, even * whole), round_mm / whole)
    start, half = _places_of(rounded, middles)
    share = np.arange(turns // 2) / (turns // 2)
    outer = start[:, None] + (half - start)[:, None] * share
    inner = half[:, None] + (1.0 + start - half)[:, None] * share
    closed = np.concatenate([rounded, rounded[:, :1]], axis=1)
    length = np.broadcast_to(np.arange(ANGLES + 1) / ANGLES, closed.shape[:2])
    return _laid_off(closed, length, np.hstack([outer, inner]) % 1.0)


def _places_of(rings: FloatArray, middles: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return how far round each ring, as shares, it has its middles below and above."""
    found = np.tile([0.0, ANGLES / 2], (len(rings), 1))
    for k, ring in enumerate(rings):
        if np.ptp(ring[:, 0]) < 1e-9:  # the tip: all its turns meet in one point
            continue
        outermost, innermost = int(ring[:, 0].argmax()), int(ring[:, 0].argmin())
        place = np.arange(innermost - ANGLES, outermost + 1)  # along the underside, outward
        across = np.maximum.accumulate(ring[place, 0])
        found[k, 0] = np.interp(middles[k, 0], across, place)
        place = np.arange(innermost, outermost - 1, -1)  # over the top, outward
        across = np.maximum.accumulate(ring[place, 0])
        found[k, 1] = np.interp(middles[k, 1], across, place)
    return found[:, 0] / ANGLES, found[:, 1] / ANGLES


def _laid_off(lines: FloatArray, length: FloatArray, asked: FloatArray) -> FloatArray:
    """Return the points at asked lengths along each line."""
    found = np.empty((*asked.shape, 2))
    for k, line in enumerate(lines):
        for axis in range(2):
            found[k, :, axis] = np.interp(asked[k], length[k], line[:, axis])
    return found


def _rounded(rings: FloatArray, share: FloatArray) -> FloatArray:
    """Return rings of even steps averaged along themselves over a share of their length.

    Twice over, 2 A - A A in place of A, so that the rings do not shrink.
    """
    waves = np.fft.fft(rings[..., 0] + 1j * rings[..., 1], axis=1)
    order = np.fft.fftfreq(ANGLES, 1.0 / ANGLES)
    once = np.exp(-0.5 * (2 * np.pi * order * np.minimum(share, ROUND_MOST)) ** 2)
    points = np.fft.ifft(waves * (2.0 * once - once * once), axis=1)
    return np.stack([points.real, points.imag], axis=-1)
