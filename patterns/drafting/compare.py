"""Two sets of pieces of one style compared, outline over outline, in mm."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from patterns.geometry.curves import resample
from patterns.last.last import FloatArray
from patterns.pieces.piece import Piece, PieceSet, Ring

SAMPLES = 600
ROUNDS = 15  # of laying one outline over the other; it settles in fewer


@dataclass(frozen=True, slots=True)
class PieceDifference:
    """How far the outline of a piece lies from another's, laid over it as well as can be.

    ``most_mm`` is the widest gap between them, ``mean_mm`` the mean one; ``longer_mm`` how much
    longer the second outline is all round. ``moved_mm`` is the second net outline as laid over
    the first.
    """

    piece: str
    most_mm: float
    mean_mm: float
    longer_mm: float
    moved_mm: Ring


def compare_pieces(first: PieceSet, second: PieceSet) -> list[PieceDifference]:
    """Return the difference of every piece that both sets have, in the order of the first.

    Outlines are turned and shifted over one another, never stretched.
    """
    others = {piece.name: piece for piece in second.pieces}
    return [
        piece_difference(piece, others[piece.name])
        for piece in first.pieces
        if piece.name in others
    ]


def piece_difference(first: Piece, second: Piece) -> PieceDifference:
    """Return how the net outline of one piece differs from that of another."""
    base, other = _even(first.net_mm), _even(second.net_mm)
    laid, turn, shift = _laid_over(base, other)
    gaps = np.concatenate([_off_line(laid, base), _off_line(base, laid)])
    moved = np.asarray(second.net_mm) @ turn.T + shift
    return PieceDifference(
        piece=first.name,
        most_mm=float(gaps.max()),
        mean_mm=float(gaps.mean()),
        longer_mm=_length(other) - _length(base),
        moved_mm=tuple((float(x), float(y)) for x, y in moved),
    )


def most_moved(differences: list[PieceDifference]) -> Mapping[str, float]:
    """Return the widest gap of each piece by its name."""
    return {difference.piece: difference.most_mm for difference in differences}


def _off_line(points: FloatArray, ring: FloatArray) -> FloatArray:
    return np.asarray(shapely.distance(shapely.points(points), shapely.LinearRing(ring)))


def _even(ring: Ring) -> FloatArray:
    return np.asarray(resample([*ring, ring[0]], SAMPLES + 1)[:-1])


def _length(points: FloatArray) -> float:
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())


def _laid_over(base: FloatArray, other: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the second outline laid over the first, with the turn and the shift that do it.

    Each round finds the nearest places and the best small turn and shift that bring points onto
    the lines there. Source: Chen and Medioni, "Object modelling by registration of multiple
    range images", Image and Vision Computing 10(3), 1992.
    """
    ahead = np.roll(base, -1, axis=0) - np.roll(base, 1, axis=0)
    normal = np.column_stack([ahead[:, 1], -ahead[:, 0]])
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]
    tree = cKDTree(base)
    turn, shift = np.eye(2), base.mean(axis=0) - other.mean(axis=0)
    for _ in range(ROUNDS):
        laid = other @ turn.T + shift
        nearest = tree.query(laid)[1]
        across = normal[nearest]
        off = ((base[nearest] - laid) * across).sum(axis=1)
        lever = laid[:, 0] * across[:, 1] - laid[:, 1] * across[:, 0]
        angle, dx, dy = np.linalg.lstsq(np.column_stack([lever, across]), off, rcond=1e-6)[0]
        small = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        turn, shift = small @ turn, small @ shift + (dx, dy)
    return other @ turn.T + shift, turn, shift
