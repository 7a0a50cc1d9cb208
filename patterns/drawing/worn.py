"""Draw a shoe as it is worn: its pieces where they lie on the last, seen on the outer side."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from patterns.drawing.dimensions import AWAY_MM, dimension
from patterns.drawing.drawing import (
    Box,
    Drawing,
    Fill,
    Stroke,
    Turn,
    Words,
    circle,
    joined,
)
from patterns.drawing.view import NearSurface, View, shadow
from patterns.drawing.worn_sole import WornSole, worn_sole
from patterns.last.last import FloatArray, Last
from patterns.pieces.piece import Piece, PieceMesh, PieceSet, Point

WORN_DRAWING = "worn 4"  # changes whenever the same pieces come to look different

# One size of picture for feet of any size, so that pens and figures suit every shoe.
PICTURE_WIDTH_MM = 78.0
PICTURE_HEIGHT_MM = 84.0
LABEL_MM = 3.2
LABEL_AWAY_MM = 9.0
LABEL_STEP = 1.6  # of the letters' height: from one name to the next
LABEL_LOWEST_MM = 2.0
LABEL_SHARE = 0.2  # of a line, from its end towards the toes: where its name is led to
LEG_SHARE = 0.16  # of foot length: how far the bare leg is drawn above the shoe
SLIVER_MM2 = 0.5
ON_PAPER_PLACES = 4  # decimals of a mm to which triangles meet on the paper
NEAR_TRIANGLES = 12  # looked at for the one a place lies in


IntArray = npt.NDArray[np.int64]


def outer_side(last: Last) -> View:
    """Return the view on the outer side of a last: of a left foot the toes point left."""
    return View("outer side", (-float(last.lateral_sign), 0.0, 0.0), (0.0, 0.0, 1.0))


@dataclass(frozen=True, slots=True)
class Label:
    """Words for the edges of one name, such as "topline"; of some pieces, or of any."""

    edge: str
    text: str
    pieces: tuple[str, ...] = ()


def draw_worn(pieces: PieceSet, last: Last, *, labels: Sequence[Label] = ()) -> Drawing:
    """Return the shoe on its foot from the outer side, with its height and the foot's length.

    Parameters
    ----------
    pieces : PieceSet
        As drafted from the last's surface: pieces of upper leather with their meshes.
    last : Last
        The bare foot they were drafted for.
    labels : sequence of Label
        Edges to be named beside the drawing; those not seen are passed over.
    """
    view = outer_side(last)
    shown = [piece for piece in pieces.pieces if piece.material == "upper" and piece.mesh]
    meshes = [piece.mesh for piece in shown if piece.mesh is not None]
    samples = np.vstack([surface_samples(mesh.points_mm, mesh.triangles) for mesh in meshes])
    surface = NearSurface.of_points(view, samples)
    areas = [seen_area(mesh.points_mm, mesh.triangles, view, surface) for mesh in meshes]
    leather = shapely.union_all(areas)
    sole = worn_sole(pieces.parameters, last, view)
    under = [shapely.Polygon(sole.untilted(fill.ring_mm)) for fill in sole.drawing.fills]
    foot = _bare_foot(view, last, meshes, shapely.union_all([leather, *under]))
    rooms = [(piece.name, area) for piece, area in zip(shown, areas, strict=True)]
    upper = joined(
        (
            _leather(leather),
            part_fills(rooms),
            *(_worn_piece(piece, view, surface) for piece in shown),
        )
    )
    shoe = joined((sole.tilted(joined((foot, upper))), sole.drawing))
    box = shoe.extents
    scale = min(PICTURE_WIDTH_MM / box.width_mm, PICTURE_HEIGHT_MM / box.height_mm)
    grown = shoe.turned(Turn(scale=scale))
    upper_box = Box(*(float(value) for value in leather.bounds))
    figures = _figures(upper_box, sole, view, last, scale)
    named = _named(labels, shown, surface, sole, box, scale)
    whole = joined((grown, figures, named))
    return Drawing(whole.strokes, whole.fills, whole.words, scale=scale)


def surface_samples(points_mm: FloatArray, triangles: IntArray) -> FloatArray:
    """Return points all over a surface, close enough to hide what lies behind them."""
    corners = points_mm[triangles]
    shares = np.array([(i, j, 4 - i - j) for i in range(5) for j in range(5 - i)]) / 4.0
    return np.asarray(np.einsum("sk,tkd->tsd", shares, corners).reshape(-1, 3), dtype=float)


def _bare_foot(
    view: View, last: Last, meshes: Sequence[PieceMesh], covered: shapely.Geometry
) -> Drawing:
    """Return what shows of the foot beside leather and sole, and the leg a little above them."""
    top = max(float(mesh.points_mm[:, 2].max()) for mesh in meshes)
    reach = top + LEG_SHARE * last.foot_length_mm
    low = last.grid_mm[:, :, 2].max(axis=1) <= reach
    kept = last.grid_mm[: max(int(np.flatnonzero(low)[-1]) + 1, last.ankle_station + 1)]
    bare = shapely.Polygon(shadow(view, kept)).difference(covered)
    parts = [part for part in shapely.get_parts(bare) if part.area > SLIVER_MM2]
    rings = [_ring(part.exterior.coords) for part in parts if part.geom_type == "Polygon"]
    return Drawing(
        tuple(Stroke(ring, "detail", closed=True) for ring in rings),
        tuple(Fill(ring, "foot") for ring in rings),
    )


def _leather(leather: shapely.Geometry) -> Drawing:
    """Return all that is seen of the upper as one: its colour, and its outline."""
    parts = [part for part in shapely.get_parts(leather) if part.area > SLIVER_MM2]
    fills = []
    for part in parts:
        holes = [hole for hole in part.interiors if shapely.Polygon(hole).area > SLIVER_MM2]
        fills.append(
            Fill(_ring(part.exterior.coords), "grade", tuple(_ring(hole.coords) for hole in holes))
        )
    rings = [ring for fill in fills for ring in (fill.ring_mm, *fill.holes_mm)]
    return Drawing(tuple(Stroke(ring, "cut", closed=True) for ring in rings), tuple(fills))


def part_fills(rooms: Iterable[tuple[str, shapely.Geometry]]) -> Drawing:
    """Return the room each piece takes in a view, the smallest last and so on top."""
    return Drawing(
        fills=tuple(
            Fill(_ring(part.exterior.coords), "part", part=name)
            for name, area in sorted(rooms, key=lambda room: -room[1].area)
            for part in shapely.get_parts(area)
            if part.geom_type == "Polygon" and part.area > SLIVER_MM2
        )
    )


def _worn_piece(piece: Piece, view: View, surface: NearSurface) -> Drawing:
    """Return what is seen of a piece's edges, stitch lines and holes."""
    mesh = piece.mesh
    assert mesh is not None
    strokes = [
        Stroke(run, "cut")
        for _, ids in mesh.edge_points
        for run in surface.seen_runs(mesh.points_mm[list(ids)])
    ]
    onto = Onto(mesh)
    strokes += [
        Stroke(run, "stitch")
        for line in piece.lines
        if line.kind == "stitch"
        for run in surface.seen_runs(onto.places(line.points_mm))
    ]
    for hole in piece.holes:
        place = onto.places([(hole.x_mm, hole.y_mm)])
        if surface.seen(place)[0]:
            x, y = view.flat(place)[0]
            strokes.append(circle(float(x), float(y), hole.diameter_mm / 2, "hole"))
    return Drawing(tuple(strokes))


def _ring(coords: Iterable[Sequence[float]]) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in coords)[:-1]


def seen_area(
    points_mm: FloatArray, triangles: IntArray, view: View, surface: NearSurface
) -> shapely.Geometry:
    """Return the part of the paper that a piece's leather covers.

    A triangle counts if any corner is seen: so the outline is the fold of the surface itself.
    """
    seen = surface.seen(points_mm)[triangles].any(axis=1)
    # Rounded beforehand, neighbours share their corners exactly: a union on a grid takes five times
    # as long and gives the same.
    flat = np.round(view.flat(points_mm), ON_PAPER_PLACES)
    covered = shapely.polygons(flat[triangles[seen]])
    whole = shapely.union_all(covered[shapely.area(covered) > 1e-9])
    return whole.buffer(0.02).buffer(-0.02).simplify(0.03)


class Onto:
    """Brings places of a flat piece onto the surface it was cut from."""

    def __init__(self, mesh: PieceMesh) -> None:
        self._corners = mesh.points_mm[mesh.triangles]
        flat = mesh.flat_mm[mesh.triangles]
        self._middles = flat.mean(axis=1)
        self._last = flat[:, 2]
        self._to_shares = np.linalg.pinv(
            np.stack([flat[:, 0] - flat[:, 2], flat[:, 1] - flat[:, 2]], axis=2)
        )

    def places(self, flat: Sequence[Point]) -> FloatArray:
        """Return where places of the flat piece lie in space, shape (n, 3)."""
        return np.array([self._place(np.array(point)) for point in flat])

    def _place(self, at: FloatArray) -> FloatArray:
        """Return a place by its shares in the triangle it lies in, or in the nearest one."""
        near = np.argpartition(((self._middles - at) ** 2).sum(axis=1), NEAR_TRIANGLES)
        near = near[:NEAR_TRIANGLES]
        two = np.einsum("kij,kj->ki", self._to_shares[near], at - self._last[near])
        shares = np.column_stack([two, 1.0 - two.sum(axis=1)])
        best = int(shares.min(axis=1).argmax())
        kept = np.clip(shares[best], 0.0, 1.0)
        return np.asarray(kept / kept.sum() @ self._corners[near[best]], dtype=float)


def _figures(upper: Box, sole: WornSole, view: View, last: Last, scale: float) -> Drawing:
    """Return the height of the upper above the foot's ground, and the foot's length below."""
    toe_right = view.right[0] > 0
    back = upper.left_mm if toe_right else upper.right_mm
    away = -1.0 if toe_right else 1.0
    beside = back * scale + 1.6 * away * AWAY_MM
    height = dimension(
        (beside, 0.0),
        (beside, upper.top_mm * scale),
        (back * scale + away, back * scale + away),
        1.0,
        sole.tilt_deg,
        length_mm=upper.top_mm,
    )
    heel, toe = sorted((0.0, view.right[0] * last.foot_length_mm * scale))
    below = sole.ground_mm * scale - AWAY_MM
    length = dimension(
        (heel, below), (toe, below), (below + 5.0, below + 5.0), 1.0, length_mm=last.foot_length_mm
    )
    return joined((sole.tilted(height, scale), length))


# --- names of the lines -----------------------------------------------------------------------


def _named(
    labels: Sequence[Label],
    pieces: Sequence[Piece],
    surface: NearSurface,
    sole: WornSole,
    shoe: Box,
    scale: float,
) -> Drawing:
    """Return the labels one over another beside the drawing, each led to its line."""
    spots: dict[str, Point] = {}
    toe_way = 1.0 if surface.view.right[0] > 0 else -1.0
    for label in labels:
        if label.text in spots:
            continue
        runs = [
            run
            for piece in pieces
            if piece.mesh is not None and (not label.pieces or piece.name in label.pieces)
            for name, ids in piece.mesh.edge_points
            if name == label.edge or name.startswith(f"{label.edge} ")
            for run in surface.seen_runs(piece.mesh.points_mm[list(ids)])
        ]
        if runs:
            longest = max(runs, key=lambda run: shapely.LineString(run).length)
            line = shapely.LineString(longest)
            end = line.interpolate(LABEL_SHARE, normalized=True)
            other = line.interpolate(1.0 - LABEL_SHARE, normalized=True)
            near = max((end, other), key=lambda point: toe_way * point.x)
            spots[label.text] = sole.place((float(near.x), float(near.y)))
    edge = (shoe.right_mm if toe_way > 0 else shoe.left_mm) * scale + toe_way * LABEL_AWAY_MM
    return _label_column(spots, edge, toe_way, scale)


def _label_column(spots: Mapping[str, Point], edge: float, toe_way: float, scale: float) -> Drawing:
    words: list[Words] = []
    strokes: list[Stroke] = []
    step = LABEL_STEP * LABEL_MM
    level = np.inf
    order = sorted(spots.items(), key=lambda item: -item[1][1])
    for left, (text, (x, y)) in zip(range(len(order) - 1, -1, -1), order, strict=True):
        # However many there are, none stands below the ground, where the length is written.
        level = max(LABEL_LOWEST_MM + left * step, min(y * scale + 1.5, level - step))
        words.append(Words(text, edge, level - 1.1, LABEL_MM, "start" if toe_way > 0 else "end"))
        strokes.append(Stroke(((x * scale, y * scale), (edge - toe_way * 0.8, level)), "leader"))
    return Drawing(tuple(strokes), words=tuple(words))
