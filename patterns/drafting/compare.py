"""Two sets of pieces of one style compared, outline over outline, in mm."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from patterns.geometry.curves import resample
from patterns.last.last import FloatArray
from patterns.pieces.piece import Piece, PieceSet, Ring

SAMPLES = 600
ROUNDS = 40  # of laying one outline over the other; it settles in fewer


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
    laid, turn, start, target = _laid_over(base, other)
    gaps = np.concatenate([cKDTree(base).query(laid)[0], cKDTree(laid).query(base)[0]])
    moved = (np.asarray(second.net_mm) - start) @ turn.T + target
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


def _even(ring: Ring) -> FloatArray:
    return np.asarray(resample([*ring, ring[0]], SAMPLES + 1)[:-1])


def _length(points: FloatArray) -> float:
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())


def _laid_over(
    base: FloatArray, other: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return the second outline laid over the first, and the turn and shift that do it.

    Iterated closest points: each round finds the nearest places and the best turn for them.
    Source: Besl and McKay, "A Method for Registration of 3-D Shapes", IEEE Transactions on
    Pattern Analysis and Machine Intelligence 14(2), 1992.
    """
    turn = np.eye(2)
    start, target = other.mean(axis=0), base.mean(axis=0)
    laid = other - start + target
    tree = cKDTree(base)
    for _ in range(ROUNDS):
        nearest = base[tree.query(laid)[1]]
        start, target = other.mean(axis=0), nearest.mean(axis=0)
        u, _, vt = np.linalg.svd((other - start).T @ (nearest - target))
        flip = np.diag([1.0, np.sign(np.linalg.det(vt.T @ u.T))])
        turn = vt.T @ flip @ u.T
        laid = (other - start) @ turn.T + target
    return laid, turn, start, target
