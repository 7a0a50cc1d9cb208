"""Lasting margins that never meet under the insole, and the pleats the leather gathers into."""

from collections.abc import Sequence
from math import ceil

import numpy as np
from scipy.spatial import cKDTree

from patterns.drafting.bottom import least_breadth_mm
from patterns.geometry.curves import Point, polyline_length_mm, resample, rounded
from patterns.last.last import FloatArray
from patterns.pieces.allowances import notch_at
from patterns.pieces.piece import Edge, Notch, Ring

# Common practice, no source: margins from both sides of a narrow insole must not meet.
MARGIN_SHARE = 0.45  # of the insole's breadth beside the edge
PLEAT_SHARE = 0.02  # of the foot's length: what one notched pleat takes up; no source
SAMPLES = 81


def lasting_margin_mm(asked_mm: float, insole: Ring, run_mm: FloatArray) -> float:
    """Return the margin for a run of the feather line: as asked, or as much as there is room for.

    Parameters
    ----------
    asked_mm : float
        Margin the style asks for.
    insole : ring of (x, y)
        Outline of the insole.
    run_mm : array of shape (n, 2)
        The run as it lies along the insole's edge, seen from above.
    """
    places = [(float(x), float(y)) for x, y in run_mm]
    return min(asked_mm, MARGIN_SHARE * least_breadth_mm(insole, places))


def gathered(
    edge: Edge, insole: Ring, run_mm: FloatArray, foot_length_mm: float
) -> tuple[float, list[Notch]]:
    """Return what the cut edge of a lasting margin has too much, and notches that take it up.

    The margin's cut edge goes to a line as far inside the insole as the margin is wide; where the
    insole bends round heel or toe that line is shorter. Notches stand evenly by the excess.

    Returns
    -------
    (float, list of Notch)
        The excess in mm, less than nothing where the leather must be stretched; the notches.
    """
    flat = rounded(resample(edge.points_mm, SAMPLES), 3, 2)
    under = _along_insole(insole, run_mm)
    turned = _turns(flat) + _turns(under)
    excess = edge.allowance_mm * turned
    total = float(excess.sum())
    crowded = np.maximum(excess, 0.0)
    count = ceil(float(crowded.sum()) / (PLEAT_SHARE * foot_length_mm))
    room = int(polyline_length_mm(edge.points_mm) / max(1.2, 0.25 * edge.allowance_mm))
    count = min(count, room)
    if count == 0 or crowded.sum() <= 0.0:
        return total, []
    growing = np.cumsum(crowded) / crowded.sum()
    shares = np.linspace(0.0, 1.0, SAMPLES)[1:-1]
    places = np.interp((np.arange(count) + 0.5) / count, growing, shares)
    return total, [notch_at(edge, float(np.clip(t, 0.01, 0.99))) for t in places]


def _along_insole(insole: Ring, run_mm: FloatArray) -> list[Point]:
    """Return the insole's edge beside a run, in the sense in which the insole goes round."""
    ring = np.asarray(resample([*insole, insole[0]], 721)[:-1])
    places = resample([(float(x), float(y)) for x, y in run_mm], SAMPLES)
    nearest = np.unwrap(cKDTree(ring).query(np.asarray(places))[1] * (2 * np.pi / 720))
    indices = np.rint(nearest * 720 / (2 * np.pi)).astype(int) % 720
    found = [(float(x), float(y)) for x, y in ring[indices]]
    return rounded(found, 3, 2)


def _turns(points: Sequence[Point]) -> FloatArray:
    """Return how far a run turns at each inner point, in radians, left positive."""
    steps = np.diff(np.asarray(points), axis=0)
    angles = np.arctan2(steps[:, 1], steps[:, 0])
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    turns = (np.diff(angles) + np.pi) % (2 * np.pi) - np.pi
    turns[(lengths[1:] < 1e-9) | (lengths[:-1] < 1e-9)] = 0.0
    return np.asarray(turns)
