"""Pieces drawn flat beside those cut from the last: toe form, loops, straps."""

from collections.abc import Mapping, Sequence

from shapely import LineString, Polygon, union_all

from patterns.drafting.assemble import arrow_on
from patterns.drafting.features import drawn_flat
from patterns.pieces.allowances import cut_ring, fold_lines, net_ring, turned_kind
from patterns.pieces.piece import Edge, Hole, Line, Piece, Point
from patterns.style_lines import Feature


def toe_form_pieces(
    pieces: Sequence[Piece], feature: Feature, landmarks: Mapping[str, float]
) -> list[Piece]:
    """Return the hard part under each toe box: its own shape, short of the laps at its edges."""
    if landmarks["toe_form_mm"] <= 0:
        return []
    back = feature.numbers["back_mm"].value(landmarks)
    found = []
    for piece in pieces:
        if piece.name not in feature.pieces:
            continue
        free = [LineString(e.points_mm) for e in piece.edges if e.kind != "lasting"]
        shape = Polygon(piece.net_mm).difference(union_all(free).buffer(back, quad_segs=24))
        if shape.is_empty:
            continue
        whole = max(getattr(shape, "geoms", [shape]), key=lambda part: float(part.area))
        name = feature.name + piece.name.removeprefix("toe box")
        found.append(drawn_flat(name, list(whole.exterior.coords[:-1]), feature))
    return found


def loop_piece(feature: Feature, landmarks: Mapping[str, float]) -> Piece:
    """Return a strip that is folded lengthwise and doubled to a loop."""
    length = feature.numbers["length_mm"].value(landmarks)
    half = feature.numbers["width_mm"].value(landmarks) / 2
    corners = ((0.0, -half), (length, -half), (length, half), (0.0, half))
    edges = [
        Edge("lower", turned_kind(half), half, (corners[0], corners[1])),
        Edge("end", "raw", 0.0, (corners[1], corners[2])),
        Edge("upper", turned_kind(half), half, (corners[2], corners[3])),
        Edge("start", "raw", 0.0, (corners[3], corners[0])),
    ]
    net = net_ring(edges)
    return Piece(
        name=feature.name,
        quantity=2,
        mirrored_quantity=0,
        material=feature.material,
        net_mm=net,
        cut_mm=cut_ring(edges),
        edges=tuple(edges),
        lines=(*fold_lines(edges), arrow_on(net, 0.0)),
        mirror_free=True,
    )


def strap_piece(feature: Feature, landmarks: Mapping[str, float]) -> Piece:
    """Return a strap with a pointed end, a row of holes and a fold for its buckle.

    It begins where it is sewn on (`sewn_mm` under the other leather), goes `length_mm` over the
    foot and `tail_mm` beyond its buckle.
    """
    numbers = {key: formula.value(landmarks) for key, formula in feature.numbers.items()}
    half, length = numbers["width_mm"] / 2, numbers["length_mm"]
    tail, sewn = numbers["tail_mm"], numbers["sewn_mm"]
    end = length + tail
    tip: list[Point] = [(end - half, -half), (end - 0.3 * half, -0.55 * half), (end, 0.0),
                        (end - 0.3 * half, 0.55 * half), (end - half, half)]  # fmt: skip
    edges = [
        Edge("rim", "raw", 0.0, ((0.0, -half), *tip, (0.0, half))),
        Edge("sewn on", "lap", sewn, ((0.0, half), (0.0, -half))),
    ]
    net = net_ring(edges)
    step = numbers["hole_step_mm"]
    holes = tuple(
        Hole("eyelet", length + k * step, 0.0, numbers["hole_mm"])
        for k in range(-1, 2)
        if length + k * step < end - half
    )
    inset = min(landmarks["stitch_inset_mm"], 0.4 * half)
    stitch = Line("stitch", tuple(_inner_run(tip, half, inset)))
    return Piece(
        name=feature.name,
        quantity=2,
        mirrored_quantity=1,
        material=feature.material,
        net_mm=net,
        cut_mm=cut_ring(edges),
        edges=tuple(edges),
        holes=holes,
        lines=(stitch, Line("mark", ((0.0, -half), (0.0, half))), arrow_on(net, 0.0)),
    )


def _inner_run(tip: Sequence[Point], half: float, inset: float) -> list[Point]:
    share = 1.0 - inset / half
    end = tip[2][0]
    return [
        (0.0, -half * share),
        *((end - (end - x) - inset * 0.8, y * share) for x, y in tip),
        (0.0, half * share),
    ]
