"""What must hold before leather is cut; each fault is told as a message to stop."""

from itertools import combinations
from math import hypot

from shapely import LineString, Point, prepare

from patterns.geometry.outline import polygon_of
from patterns.pieces.piece import Message, Piece, PieceSet

MATING_TOLERANCE_MM = 0.2  # an eye cannot see less in a seam
INSIDE_TOLERANCE_MM = 0.02


def check_pieces(pieces: PieceSet) -> list[Message]:
    """Return a message of level stop for everything that would spoil the leather.

    Mating edges have equal length; net and cut outlines are simple, the net lies inside the cut;
    eyelets lie whole inside the net outline, not closer than the pitch and as many on both sides;
    lines and notches lie on the piece.
    """
    messages: list[Message] = []
    for piece in pieces.pieces:
        messages += _outline_faults(piece) or _mark_faults(piece)
        if piece.holes:
            messages += _eyelet_faults(piece, float(pieces.parameters.get("eyelet_pitch_mm", 0.0)))
    for seam in pieces.seams:
        if seam.mismatch_mm > MATING_TOLERANCE_MM:
            text = (
                f"{seam.a.piece}/{seam.a.edge} and {seam.b.piece}/{seam.b.edge} are sewn together"
                f" but differ by {seam.mismatch_mm:.2f} mm."
            )
            messages.append(Message("stop", "edges-differ", text, seam.a.piece))
    for counts in _holes_of_twins(pieces):
        if len(set(counts)) > 1:
            text = f"The sides carry different numbers of eyelets: {sorted(counts)}."
            messages.append(Message("stop", "eyelets-unequal", text))
    return messages


def _holes_of_twins(pieces: PieceSet) -> list[list[int]]:
    """Return how many holes pieces have whose names differ by outer and inner alone."""
    twins: dict[tuple[str, ...], list[int]] = {}
    for piece in pieces.pieces:
        if piece.holes:
            key = tuple(word for word in piece.name.split() if word not in ("outer", "inner"))
            twins.setdefault(key, []).append(len(piece.holes))
    return list(twins.values())


def _outline_faults(piece: Piece) -> list[Message]:
    if min(len(piece.net_mm), len(piece.cut_mm)) < 3:
        text = f"The outline of the {piece.name} has fewer than three points."
        return [Message("stop", "outline-crosses", text, piece.name)]
    net, cut = polygon_of(piece.net_mm), polygon_of(piece.cut_mm)
    for name, shape in (("net", net), ("cut", cut)):
        if not shape.is_valid:
            text = f"The {name} outline of the {piece.name} crosses itself."
            return [Message("stop", "outline-crosses", text, piece.name)]
    if not cut.buffer(INSIDE_TOLERANCE_MM, quad_segs=2).contains(net):
        text = f"The cut line of the {piece.name} runs inside its net line."
        return [Message("stop", "cut-inside-net", text, piece.name)]
    return []


def _mark_faults(piece: Piece) -> list[Message]:
    cut = polygon_of(piece.cut_mm).buffer(INSIDE_TOLERANCE_MM, quad_segs=2)
    prepare(cut)
    for line in piece.lines:
        if not cut.contains(LineString(line.points_mm)):
            text = f"A {line.kind} line of the {piece.name} runs off the piece."
            return [Message("stop", "line-off-piece", text, piece.name)]
    names = {edge.name: edge for edge in piece.edges}
    for notch in piece.notches:
        edge = names.get(notch.edge)
        if edge is None or not 0.0 <= notch.t <= 1.0 or notch.depth_mm >= edge.allowance_mm:
            text = f"A notch of the {piece.name} does not lie in an allowance."
            return [Message("stop", "notch-off-edge", text, piece.name)]
    return []


def _eyelet_faults(piece: Piece, pitch_mm: float) -> list[Message]:
    net = polygon_of(piece.net_mm)
    for hole in piece.holes:
        away = net.exterior.distance(Point(hole.x_mm, hole.y_mm))
        if not net.contains(Point(hole.x_mm, hole.y_mm)) or away < hole.diameter_mm / 2:
            text = f"An eyelet of the {piece.name} does not lie whole inside it."
            return [Message("stop", "eyelet-off-piece", text, piece.name)]
    for a, b in combinations(piece.holes, 2):
        if hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) < pitch_mm - 0.01:
            text = f"Eyelets of the {piece.name} stand closer than {pitch_mm:g} mm."
            return [Message("stop", "eyelets-close", text, piece.name)]
    return []
