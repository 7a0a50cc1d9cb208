"""Linings of the sides: the upper's own shape, set back where it is turned in."""

from dataclasses import replace

from patterns.pieces.allowances import cut_ring, net_ring
from patterns.pieces.piece import Edge, EdgeName, Piece
from patterns.pieces.side_view import Numbers, SideView
from patterns.pieces.upper import heel_notches, side_edges, tight_way


def side_lining(
    name: str,
    view: SideView,
    values: Numbers,
    margin_mm: float,
    insole_edge: tuple[tuple[float, float], ...],
) -> Piece:
    """Return the lining of one side, grain to the foot, still in the side view."""
    edges = side_edges(view, values, margin_mm, raw=True, turned_topline=False)
    edges = [_seamed(edge, name, values) for edge in edges]
    return Piece(
        name=f"{name} lining",
        quantity=2,
        mirrored_quantity=1,
        material="lining",
        net_mm=net_ring(edges),
        cut_mm=cut_ring(edges),
        edges=tuple(edges),
        notches=tuple(heel_notches(edges, insole_edge)),
        lines=(tight_way(edges),),
        face_up="flesh",
    )


def _seamed(edge: Edge, name: str, values: Numbers) -> Edge:
    if edge.name != "heel seam":
        return edge
    other = "inner side lining" if name == "outer side" else "outer side lining"
    return replace(edge, allowance_mm=values["seam_mm"], partner=EdgeName(other, "heel seam"))
