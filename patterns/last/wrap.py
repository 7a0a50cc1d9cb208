"""A last grown outward: film or sock, a lining, half the leather, and the built toe form."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d

from patterns.errors import PatternError
from patterns.last.last import Last

FloatArray = npt.NDArray[np.float64]

TOE_FORM_START, TOE_FORM_FULL = 0.80, 0.95  # of foot length: faded in from the first to the second
TOE_FORM_AT_SOLE = 0.35  # share of the toe form's thickness left at the sole
TOE_FORM_RISE = 0.05  # of foot length above the sole: the toe form has its whole thickness there
LEVEL_BLEND = 0.7  # share of the fan from which growing turns level, as it is in the leg
CORNER_LEAST = 0.6  # keeps the point of a very sharp corner from running away
# Stations over which moves are evened out, more and more, where growing would fold a hollow.
HOLLOW_SPREADS = (0.0, 1.0, 2.0, 4.0)
SHRUNK_LEAST = 0.0  # a triangle must keep facing the way it faced


def wrapped(last: Last, thickness_mm: float, *, toe_form_mm: float = 0.0) -> Last:
    """Return a last grown outward by a thickness all round.

    The sole stays on its own level while the walls above it grow. In the leg, sections grow
    within their own level planes, so the girth of each grows by 2 pi times the thickness, and
    the top stays flat.

    Parameters
    ----------
    last : Last
        The bare foot, or a last already wrapped; thicknesses add up in `Last.thickness_mm`.
    thickness_mm : float
        Zero or more.
    toe_form_mm : float
        Height of the toe form built on top of that, full at the tip, faded out before the ball.

    Raises
    ------
    PatternError
        A negative thickness, or one that folds this last over itself.

    Notes
    -----
    Perimeter of a parallel curve of a convex curve: P + 2 pi t. After growing, each point lies
    at the meeting of the two neighbouring sides moved outward, which keeps corners sharp.
    """
    _check_thickness("thickness_mm", thickness_mm)
    _check_thickness("toe_form_mm", toe_form_mm)
    if thickness_mm == 0.0 and toe_form_mm == 0.0:
        return last
    side = np.array([1.0, float(last.lateral_sign), 1.0])
    grid = last.grid_mm * side
    amount = thickness_mm + toe_form_mm * _toe_form_share(last, grid)
    moves = outward(grid, last.instep_station, last.ankle_station)
    thickness = last.thickness_mm + thickness_mm
    for spread in HOLLOW_SPREADS:
        evened = _evened(moves, spread, last.ankle_station)
        grown = _grown(last, grid, amount, evened)
        result = replace(last, grid_mm=grown * side, thickness_mm=thickness)
        folded = folded_triangles(last, result)
        if not folded:
            break
    if folded:
        raise PatternError(
            f"A wrap of {thickness_mm + toe_form_mm:g} mm folds over itself in {folded} places on"
            f" a foot {last.foot_length_mm:g} mm long; take thinner leather or lining.",
            field="thickness_mm",
            code="wrap-folds",
            given_mm=thickness_mm + toe_form_mm,
        )
    return result


def _grown(last: Last, grid: FloatArray, amount: FloatArray, moves: FloatArray) -> FloatArray:
    grown = grid + amount[..., None] * moves
    grown[0] = grown[0].mean(axis=0)
    floor = last.sole_height_mm(grown[..., 0])
    grown[..., 2] = np.maximum(grown[..., 2], np.minimum(floor, grid[..., 2]))
    return grown


def _evened(moves: FloatArray, spread: float, ankle_station: int) -> FloatArray:
    """Return moves evened out along the foot, so that both sides of a sharp hollow keep apart."""
    if spread == 0.0:
        return moves
    even = moves.copy()
    even[1:ankle_station] = gaussian_filter1d(moves, spread, axis=0, mode="nearest")[
        1:ankle_station
    ]
    return even


def outward(grid: FloatArray, instep_station: int, ankle_station: int) -> FloatArray:
    """Return the move of each point that grows a grid by one unit, shape as the grid's.

    Square to the surface in the foot, within the sections' own planes in the leg, and from one
    to the other in the upper fan.
    """
    square = _moves(grid, _station_tangents(grid))
    square[0] = _unit(square[1].mean(axis=0))
    half = grid.shape[1] // 2
    span = grid[:, half] - grid[:, 0]
    span[0] = span[1]
    within = _moves(grid, _unit(np.cross(span, [0.0, 1.0, 0.0]))[:, None, :])
    place = (np.arange(len(grid)) - instep_station) / max(ankle_station - instep_station, 1)
    share = np.clip((place - LEVEL_BLEND) / (1.0 - LEVEL_BLEND), 0.0, 1.0)
    level = (share * share * (3.0 - 2.0 * share))[:, None, None]
    return np.asarray((1.0 - level) * square + level * within, dtype=float)


def folded_triangles(before: Last, after: Last) -> int:
    """Return how many triangles face away from how they faced before."""
    triangles = before.triangles
    facing = [
        np.cross(
            points[triangles[:, 1]] - points[triangles[:, 0]],
            points[triangles[:, 2]] - points[triangles[:, 0]],
        )
        for points in (before.points_mm, after.points_mm)
    ]
    agree = np.einsum("ij,ij->i", _unit(facing[0]), _unit(facing[1]))
    return int((agree <= SHRUNK_LEAST).sum())


def _check_thickness(field: str, value_mm: float) -> None:
    if not 0.0 <= value_mm < float("inf"):
        text = f"A last cannot be grown by {value_mm:g} mm; give a thickness of zero or more."
        raise PatternError(text, field=field, code="wrap-thickness", given_mm=value_mm)


def _toe_form_share(last: Last, grid: FloatArray) -> FloatArray:
    """Return which share of the toe form's height each point gets."""
    length = last.foot_length_mm
    ahead = _eased((grid[..., 0] / length - TOE_FORM_START) / (TOE_FORM_FULL - TOE_FORM_START))
    above = grid[..., 2] - last.sole_height_mm(grid[..., 0])
    rise = TOE_FORM_AT_SOLE + (1.0 - TOE_FORM_AT_SOLE) * _eased(above / (TOE_FORM_RISE * length))
    return ahead * rise


def _eased(share: FloatArray) -> FloatArray:
    inside = np.clip(share, 0.0, 1.0)
    return np.asarray(inside * inside * (3.0 - 2.0 * inside), dtype=float)


def _station_tangents(grid: FloatArray) -> FloatArray:
    """Return the direction from station to station at each point, from toe to leg."""
    before = np.concatenate([grid[:1], grid[:-1]])
    after = np.concatenate([grid[1:], grid[-1:]])
    return _unit(after - before)


def _moves(grid: FloatArray, along: FloatArray) -> FloatArray:
    """Return moves outward by one, square to both neighbouring sides of each section."""
    side = np.roll(grid, -1, axis=1) - grid
    after = _unit(np.cross(along, side))
    before = _unit(np.cross(along, np.roll(side, 1, axis=1)))
    meeting = 1.0 + np.einsum("ijk,ijk->ij", before, after)
    return np.asarray((before + after) / np.maximum(meeting, CORNER_LEAST)[..., None], dtype=float)


def _unit(vectors: FloatArray) -> FloatArray:
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return np.asarray(vectors / np.where(length > 1e-12, length, 1.0), dtype=float)
