"""The tongue: upright, from the toe line to above the topline, its top rounded."""

from math import cos, pi, sin

from patterns.geometry.curves import thinned
from patterns.pieces.allowances import (
    cut_ring,
    fold_lines,
    net_ring,
    notches_by_bend,
    stitch_line,
    turned_kind,
)
from patterns.pieces.piece import Edge, Line, Piece

BASE_SHARE = 0.85  # of its width: a tongue narrows to the toe line, where it goes under


def tongue_piece(
    length_mm: float,
    *,
    width_mm: float,
    most_base_mm: float,
    lap_mm: float,
    hem_mm: float,
    stitch_inset_mm: float,
) -> Piece:
    """Return the tongue of a pair.

    Parameters
    ----------
    length_mm : float
        From the toe line to its top.
    width_mm, most_base_mm : float
        Its width at the top, and the most it may have at the toe line.
    lap_mm : float
        How far it goes under the toe box.
    hem_mm : float
        What is folded in round it; 0 leaves it raw.
    stitch_inset_mm : float
        From the fold to its stitch line.
    """
    half = width_mm / 2
    base = min(BASE_SHARE * half, most_base_mm / 2)
    round_from = length_mm - min(0.9 * half, 0.4 * length_mm)
    crown = length_mm - round_from
    right = [
        (half * cos(t) ** 0.9, round_from + crown * sin(t) ** 0.9)
        for t in (k / 40 * pi / 2 for k in range(41))
    ]
    right[-1] = (0.0, length_mm)
    side = [
        (base + (half - base) * (3 * s * s - 2 * s**3), s * round_from)
        for s in (k / 30 for k in range(30))
    ]
    half_run = [*side, *right]
    run = [*half_run, *((-x, y) for x, y in reversed(half_run[:-1]))]
    edges = [
        Edge("toe line", "lap", lap_mm, ((-base, 0.0), (base, 0.0))),
        Edge("rim", turned_kind(hem_mm), hem_mm, tuple(thinned(run))),
    ]
    arrow = Line("tight way", ((0.0, 0.2 * length_mm), (0.0, 0.75 * length_mm)))
    return Piece(
        name="tongue",
        quantity=2,
        mirrored_quantity=0,
        material="upper",
        net_mm=net_ring(edges),
        cut_mm=cut_ring(edges),
        edges=tuple(edges),
        notches=tuple(notches_by_bend(edges[1]) if hem_mm > 0 else ()),
        lines=(
            *fold_lines(edges),
            *(stitch_line(edges, "rim", stitch_inset_mm) if hem_mm > 0 else ()),
            arrow,
        ),
        mirror_free=True,
        tight_way_deg=90.0,
    )
