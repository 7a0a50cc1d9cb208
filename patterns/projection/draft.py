"""draft_pieces: from a foot and a style's values to all pieces of a pair, by projection."""

from collections.abc import Mapping
from dataclasses import replace

from patterns.checks import check_pieces
from patterns.errors import StyleError
from patterns.foot import Foot
from patterns.foot_shape import FootShape
from patterns.geometry.curves import polyline_length_mm, thinned
from patterns.pieces.bottom import (
    flat_insole,
    flat_stations,
    heel,
    heel_messages,
    insole,
    outsole,
)
from patterns.pieces.eyelets import EyeletRow
from patterns.pieces.lining import side_lining
from patterns.pieces.messages import (
    eyelet_messages,
    first_messages,
    lasting_messages,
    measure_messages,
)
from patterns.pieces.piece import Edge, EdgeName, Piece, PieceSet, Ring
from patterns.pieces.side_view import SideView, draw_side_view
from patterns.pieces.toe_box import toe_box
from patterns.pieces.upper import (
    InsoleHalves,
    heel_notches,
    insole_halves,
    lasting_margin_mm,
    mirrored,
    side_edges,
    side_piece,
    tongue,
)
from patterns.projection.closure import (
    built_measures,
    closure_messages,
    girth_closures,
    lasting_report,
    measured_seams,
)
from patterns.projection.shape import shape_of_foot
from patterns.style import Style, Value

ENGINE = "projection 4"
DRAWN_STYLES = ("lace-up-ankle-boot",)
BOOT_TOP_CLEARANCE_MM = 0.6


def draft_pieces(foot: Foot, style: Style, values: Mapping[str, str | float | bool]) -> PieceSet:
    """Return all pieces of a lace-up ankle boot for a foot, drawn by the projection method.

    The sides are the boot as seen from the side, the toe box is the outline of the toe with the
    rise of its wall laid out round it, the insole is the outline of the foot. What such flat
    pieces lack round the leg is measured and told, never hidden.

    Parameters
    ----------
    foot : Foot
        The foot, from measures, tracings or a mesh.
    style : Style
        The one style the method can draw, a lace-up ankle boot.
    values : mapping
        Parameters by key as `Style.values` gives them; missing ones take their defaults.

    Returns
    -------
    PieceSet
        Pieces for one pair, seams, girths, lasting, messages.

    Raises
    ------
    StyleError
        A parameter that this foot leaves no room for.
    FootError
        A mesh or tracing that cannot be used.
    """
    if style.name not in DRAWN_STYLES:
        text = f'Style "{style.name}" is not drawn by projection.'
        raise StyleError(text, field="style", code="style-method")
    shape = shape_of_foot(foot)
    chosen = _chosen(foot, style, values, shape)
    view = draw_side_view(shape, chosen)
    outline = _thinned_ring(flat_insole(shape))
    toe_line_x = flat_stations(shape, [view.toe_line_mm[0][0]])[0]
    halves = insole_halves(shape, outline, view, toe_line_x)
    turned = shape.foot_length_mm >= chosen["hem_least_foot_mm"]
    messages = first_messages(foot, shape.measures, chosen)

    box = toe_box(shape, view, outline, toe_line_x, chosen)
    sides, row = _sides(shape, view, halves, chosen, turned=turned)
    flap = tongue(view, chosen, turned=turned, most_base_mm=_toe_line_breadth(box))
    bottom, bottom_messages = outsole(outline, chosen)
    linings = _linings(shape, view, halves, chosen)
    pieces = [box, *sides, flap, *linings, insole(outline), bottom]
    pieces += heel(bottom.net_mm, chosen)

    closures = girth_closures(foot, shape, view, box, toe_line_x, chosen)
    measures = built_measures(foot, shape)
    lasting = lasting_report(pieces, halves, _toe_arc_mm(outline, halves), chosen)
    messages += bottom_messages
    messages += heel_messages(shape.raise_mm, chosen)
    messages += eyelet_messages(row, chosen)
    messages += lasting_messages(lasting_margins(pieces), chosen)
    messages += measure_messages(foot, measures)
    messages += closure_messages(closures, chosen)
    drafted = PieceSet(
        style=style.name,
        foot=foot.name,
        foot_side="pair",
        engine=ENGINE,
        parameters=chosen,
        source_kind=foot.source_kind,
        measures=tuple(measures),
        girth_closure=tuple(closures),
        lasting=tuple(lasting),
        seams=tuple(measured_seams(pieces)),
        messages=tuple(messages),
        pieces=tuple(pieces),
    )
    return replace(drafted, messages=(*drafted.messages, *check_pieces(drafted)))


def _chosen(
    foot: Foot, style: Style, values: Mapping[str, str | float | bool], shape: FootShape
) -> dict[str, Value]:
    """Return every parameter's value; a default boot height keeps below knee and tracing."""
    chosen = style.resolved(values, shape.measures.values_mm)
    if "boot_height_mm" not in values:
        most = shape.top_mm - BOOT_TOP_CLEARANCE_MM
        if foot.knee_clearance_mm is not None:
            most = min(most, foot.knee_clearance_mm)
        chosen["boot_height_mm"] = round(min(chosen["boot_height_mm"], most), 4)
    return chosen


def _sides(
    shape: FootShape,
    view: SideView,
    halves: InsoleHalves,
    values: Mapping[str, Value],
    *,
    turned: bool,
) -> tuple[list[Piece], EyeletRow]:
    """Return outer and inner side, each seen on its grain side, and their row of eyelets."""
    pieces = []
    row = EyeletRow((), 0.0, 0)
    for index, (name, other) in enumerate(
        (("outer side", "inner side"), ("inner side", "outer side"))
    ):
        margin = lasting_margin_mm(values, 2 * halves.breadth_mm[index])
        edges = side_edges(view, values, margin, raw=False, turned_topline=turned)
        edges = [_with_partner(edge, name, other) for edge in edges]
        notches = heel_notches(edges, halves.edge_mm[index])
        piece, row = side_piece(name, edges, values, notches)
        pieces.append(_grain_up(piece, shape, outer=index == 0))
    return pieces, row


def _with_partner(edge: Edge, name: str, other: str) -> Edge:
    if edge.name == "heel seam":
        return replace(edge, partner=EdgeName(other, "heel seam"))
    if edge.name == "toe line":
        return replace(edge, partner=EdgeName("toe box", f"toe line {name.split()[0]}"))
    return edge


def _grain_up(piece: Piece, shape: FootShape, *, outer: bool) -> Piece:
    """Return a side as its grain side shows it: the outer one of a left foot points left."""
    return mirrored(piece) if outer == (shape.lateral_sign > 0) else piece


def _linings(
    shape: FootShape, view: SideView, halves: InsoleHalves, values: Mapping[str, Value]
) -> list[Piece]:
    if not values["lining"]:
        return []
    trimmed = draw_side_view(shape, values, set_back_mm=values["lining_trim_mm"])
    linings = []
    for index, name in enumerate(("outer side", "inner side")):
        margin = lasting_margin_mm(values, 2 * halves.breadth_mm[index])
        lining = side_lining(name, trimmed, values, margin, halves.edge_mm[index])
        linings.append(_grain_up(lining, shape, outer=index == 0))
    return linings


def _thinned_ring(ring_mm: Ring) -> Ring:
    return tuple(thinned([*ring_mm, ring_mm[0]])[:-1])


def _toe_line_breadth(box: Piece) -> float:
    ys = [y for edge in box.edges if edge.name.startswith("toe line") for _, y in edge.points_mm]
    return max(ys) - min(ys)


def _toe_arc_mm(outline_mm: Ring, halves: InsoleHalves) -> float:
    """Return the length of the insole's edge round the toe, ahead of the toe line."""
    whole = polyline_length_mm([*outline_mm, outline_mm[0]])
    return whole - sum(polyline_length_mm(edge) for edge in halves.edge_mm)


def lasting_margins(pieces: list[Piece]) -> list[tuple[str, float]]:
    """Return the upper pieces that are lasted, with their margins."""
    return [
        (piece.name, edge.allowance_mm)
        for piece in pieces
        for edge in piece.edges
        if edge.kind == "lasting" and piece.material == "upper"
    ]
