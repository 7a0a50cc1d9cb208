"""Draw a shoe on its foot from four sides, each piece of the upper named where it is seen."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from patterns.drawing.drawing import (
    Box,
    Drawing,
    Fill,
    FillKind,
    LineKind,
    Stroke,
    Turn,
    Words,
    circle,
    joined,
)
from patterns.drawing.solid import Body, solid_shoe
from patterns.drawing.view import NearSurface, View
from patterns.drawing.worn import (
    PICTURE_HEIGHT_MM,
    PICTURE_WIDTH_MM,
    SLIVER_MM2,
    outer_side,
    part_fills,
    seen_area,
    surface_samples,
)
from patterns.last.last import Last
from patterns.pieces.piece import PieceSet, Point

WORN_VIEWS = "views 1"  # changes whenever the same pieces come to look different
SIDES = ("side", "top", "back", "front")

LONGEST_MM = 4.0  # of a triangle in a view
THINNEST_MM = 0.7  # narrower shreds at the rim of what is seen are left out
NAME_MM = 3.4
NAME_STEP = 1.7  # of the letters' height: from one name to the next
NAME_AWAY_MM = 5.0
SHOWN_SHARE = 0.01  # of all that is seen: less of a piece is not named


def draw_worn_views(pieces: PieceSet, last: Last) -> dict[str, Drawing]:
    """Return the shoe from its outer side, from above, from behind and from the toes.

    Parameters
    ----------
    pieces : PieceSet
        As drafted from the last's surface: pieces of upper leather with their meshes.
    last : Last
        The bare foot they were drafted for.
    """
    bodies = [_with_small_triangles(body) for body in solid_shoe(pieces, last)]
    known = {piece.name for piece in pieces.pieces}
    return {name: _view(bodies, view, known) for name, view in views_of(last).items()}


def views_of(last: Last) -> dict[str, View]:
    """Return the four views of a last; from above its toes point as they do from the side."""
    sign = float(last.lateral_sign)
    return {
        "side": outer_side(last),
        "top": View("from above", (-sign, 0.0, 0.0), (0.0, -sign, 0.0)),
        "back": View("from behind", (0.0, -1.0, 0.0), (0.0, 0.0, 1.0)),
        "front": View("from the toes", (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    }


def _with_small_triangles(body: Body) -> Body:
    """Return a body none of whose triangles is longer than a view can tell apart.

    A triangle is seen or not as a whole, and hides what its own points hide.
    """
    corners = body.points_mm[body.triangles]
    small = []
    while len(corners):
        sides = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2)
        is_long = sides.max(axis=1) > LONGEST_MM
        small.append(corners[~is_long])
        corners, first = corners[is_long], sides[is_long].argmax(axis=1)
        # Turned so that the longest side comes first, then halved there.
        turned = np.take_along_axis(corners, ((first[:, None] + np.arange(3)) % 3)[..., None], 1)
        a, b, c = np.moveaxis(turned, 1, 0)
        middle = (a + b) / 2.0
        corners = np.concatenate([np.stack([a, middle, c], 1), np.stack([middle, b, c], 1)])
    points = np.concatenate(small).reshape(-1, 3)
    return replace(body, points_mm=points, triangles=np.arange(len(points)).reshape(-1, 3))


@dataclass(frozen=True, slots=True)
class _Seen:
    """A body and what of the paper it takes in a view."""

    body: Body
    area: shapely.Geometry


def _view(bodies: Sequence[Body], view: View, known: Collection[str]) -> Drawing:
    samples = np.vstack([surface_samples(body.points_mm, body.triangles) for body in bodies])
    surface = NearSurface.of_points(view, samples)
    seen = [
        _Seen(body, _calm(seen_area(body.points_mm, body.triangles, view, surface)))
        for body in bodies
    ]
    leather = [one for one in seen if one.body.kind == "leather"]
    upper = shapely.union_all([one.area for one in leather])
    soles = [_Seen(one.body, one.area.difference(upper)) for one in seen if one.body.kind == "sole"]
    sole = shapely.union_all([one.area for one in soles])
    foot = shapely.union_all([one.area for one in seen if one.body.kind == "foot"]).difference(
        upper
    )
    # What lies close under a surface counts as seen. Leather is outermost; of foot and sole the
    # foot is nearer from above, and from any side the sole below it.
    if view.up[2] == 0.0:
        soles = [_Seen(one.body, one.area.difference(foot)) for one in soles]
        sole = sole.difference(foot)
    foot = foot.difference(sole)
    named = [one for one in (*leather, *soles) if one.body.name in known]
    drawn = joined(
        (
            _region(foot, "foot", "detail"),
            _region(sole, "sole", "cut"),
            _region(upper, "grade", "cut"),
            part_fills([(one.body.name, one.area) for one in named]),
            *(_lines(one.body, view, surface) for one in leather),
        )
    )
    box = drawn.extents
    scale = min(PICTURE_WIDTH_MM / box.width_mm, PICTURE_HEIGHT_MM / box.height_mm)
    grown = drawn.turned(Turn(scale=scale))
    whole = joined((grown, _names(named, float(upper.area), grown.extents, scale)))
    return Drawing(whole.strokes, whole.fills, whole.words, scale=scale)


def _calm(area: shapely.Geometry) -> shapely.Geometry:
    half = THINNEST_MM / 2.0
    return area.buffer(-half).buffer(half).simplify(0.03)


def _region(area: shapely.Geometry, fill: FillKind, line: LineKind) -> Drawing:
    fills = []
    for part in shapely.get_parts(area):
        if part.geom_type == "Polygon" and part.area > SLIVER_MM2:
            holes = [_ring(h) for h in part.interiors if shapely.Polygon(h).area > SLIVER_MM2]
            fills.append(Fill(_ring(part.exterior), fill, tuple(holes)))
    rings = [ring for one in fills for ring in (one.ring_mm, *one.holes_mm)]
    return Drawing(tuple(Stroke(ring, line, closed=True) for ring in rings), tuple(fills))


def _ring(ring: shapely.LinearRing) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in ring.coords)[:-1]


def _lines(body: Body, view: View, surface: NearSurface) -> Drawing:
    """Return what is seen of a piece's edges and stitches, and of its eyelets."""
    edges = len(body.lines_mm) - body.stitch_count
    strokes = [
        Stroke(run, "cut" if k < edges else "stitch")
        for k, line in enumerate(body.lines_mm)
        for run in surface.seen_runs(line)
    ]
    for ring in body.rings:
        place = np.array([ring.at_mm])
        if surface.seen(place)[0]:
            x, y = view.flat(place)[0]
            strokes.append(circle(float(x), float(y), ring.diameter_mm / 2, "hole"))
    return Drawing(tuple(strokes))


def _names(named: Sequence[_Seen], all_mm2: float, box: Box, scale: float) -> Drawing:
    """Return the names in two columns, each led to a place within what is seen of its piece."""
    middle = (box.left_mm + box.right_mm) / 2
    sides: dict[bool, list[tuple[str, Point]]] = {True: [], False: []}
    for one in named:
        if one.area.area < SHOWN_SHARE * all_mm2:
            continue
        largest = max(shapely.get_parts(one.area), key=lambda part: float(part.area))
        spot = largest.point_on_surface()
        place = (float(spot.x) * scale, float(spot.y) * scale)
        sides[place[0] >= middle].append((one.body.name, place))
    return joined(_column(sides[right], box, right=right) for right in (False, True))


def _column(named: Sequence[tuple[str, Point]], box: Box, *, right: bool) -> Drawing:
    """Return names one under another beside the drawing, the highest place first."""
    edge = box.right_mm + NAME_AWAY_MM if right else box.left_mm - NAME_AWAY_MM
    way = 1.0 if right else -1.0
    step = NAME_STEP * NAME_MM
    words: list[Words] = []
    strokes: list[Stroke] = []
    level = np.inf
    order = sorted(named, key=lambda item: -item[1][1])
    for left, (text, place) in zip(range(len(order) - 1, -1, -1), order, strict=True):
        level = max(box.bottom_mm + left * step, min(place[1], level - step))
        words.append(Words(text, edge, level - 1.2, NAME_MM, "start" if right else "end"))
        strokes.append(Stroke((place, (edge - 0.8 * way, level)), "leader"))
    return Drawing(tuple(strokes), words=tuple(words))
