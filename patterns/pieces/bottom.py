"""Insole and outsole: the foot's own outline, laid flat along its sole."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import ceil

from shapely import Polygon, box
from shapely.geometry.polygon import orient

from patterns.foot_shape import FootShape
from patterns.geometry.curves import Point, extent_across, polyline_length_mm
from patterns.pieces.piece import Edge, Line, Material, Message, Piece, Ring
from patterns.pieces.side_view import Numbers

STEPS = 200
LEAST_HEEL_MM = 0.5  # less is the sole itself
HEEL_SLACK_MM = 1.0


def flat_stations(shape: FootShape, xs_mm: Sequence[float]) -> list[float]:
    """Return stations seen from above as distances along the slope of the sole.

    Those of a flat foot stay as they are.
    """
    if shape.raise_mm == 0:
        return list(xs_mm)
    outline_xs = [x for x, _ in shape.outline_mm]
    low, high = min(outline_xs), max(outline_xs)
    stations = [low + k / STEPS * (high - low) for k in range(STEPS + 1)]
    sole = [(x, shape.sole_at(x)) for x in stations]
    along = [low]
    for step in pairwise(sole):
        along.append(along[-1] + polyline_length_mm(step))
    flat = []
    for x in xs_mm:
        place = min(max((x - low) / (high - low) * STEPS, 0.0), STEPS - 1e-9)
        k = int(place)
        flat.append(along[k] + (place - k) * (along[k + 1] - along[k]))
    return flat


def flat_insole(shape: FootShape) -> Ring:
    """Return the outline of the insole, a raised foot's laid flat along the slope of its sole."""
    xs = flat_stations(shape, [x for x, _ in shape.outline_mm])
    return tuple((x, y) for x, (_, y) in zip(xs, shape.outline_mm, strict=True))


def insole(outline_mm: Ring) -> Piece:
    """Return the card insole; one of the two is turned over."""
    return bottom_piece("insole", "card", outline_mm)


def outsole(outline_mm: Ring, values: Numbers) -> tuple[Piece, list[Message]]:
    """Return the outsole: larger all round, at least by what the upper adds to the insole."""
    lining = values["lining_thickness_mm"] if values["lining"] else 0.0
    asked, needed = values["outsole_larger_mm"], values["leather_thickness_mm"] + lining
    messages = []
    if asked < needed - 0.01:  # less cannot be cut
        text = (
            f"The outsole is drawn {needed:.2f} mm larger than the insole all round, not"
            f" {asked:.2f} mm: upper and lining together are that thick."
        )
        parameters = {"asked_mm": asked, "needed_mm": needed}
        messages.append(Message("info", "outsole-larger", text, "outsole", parameters))
    larger = orient(Polygon(outline_mm).buffer(max(asked, needed), quad_segs=24)).exterior
    ring = tuple((float(x), float(y)) for x, y in larger.simplify(0.002).coords[:-1])
    return bottom_piece("outsole", "sole", ring), messages


def heel(outsole_mm: Ring, values: Numbers) -> tuple[Piece, ...]:
    """Return the heel under an outsole: one of clay, or lifts of leather; nothing when flat.

    The heel is the back of the outsole up to the straight line of its breast. Leather lifts are
    as thick as the sole, and as many as reach the height; the last one is skived down to it.
    """
    height_mm = values["heel_height_mm"]
    if height_mm < LEAST_HEEL_MM:
        return ()
    ring = Polygon(outsole_mm)
    low, bottom, high, top = ring.bounds
    breast_mm = low + (high - low) * values["heel_breast_pct"] / 100.0
    back = orient(ring.intersection(box(low, bottom, breast_mm, top))).exterior
    points = tuple((float(x), float(y)) for x, y in back.simplify(0.002).coords[:-1])
    if not values["leather_sole"]:
        return (bottom_piece("heel", "sole", points),)
    lifts = ceil(height_mm / values["sole_thickness_mm"] - 1e-9)
    lift = bottom_piece("heel lift", "sole", points)
    return (replace(lift, quantity=2 * lifts, mirrored_quantity=lifts),)


def heel_messages(foot_raise_mm: float, values: Numbers) -> list[Message]:
    """Return a warning where the heel is not as high as the foot is cast.

    Cast feet do not bend. One millimetre is what a sole's filler takes up; common practice, no
    source.
    """
    height_mm = values["heel_height_mm"]
    if abs(height_mm - foot_raise_mm) <= HEEL_SLACK_MM:
        return []
    text = (
        f"The heel is {height_mm:.1f} mm high and the foot is cast {foot_raise_mm:.1f} mm up at"
        " the heel. A cast foot does not bend: take the foot's own height, or put a wedge inside."
    )
    parameters = {"heel_mm": height_mm, "raise_mm": foot_raise_mm}
    return [Message("warning", "heel-not-the-foots", text, "outsole", parameters)]


def bottom_piece(name: str, material: Material, ring: Ring) -> Piece:
    """Return a piece that lies under the foot, drawn from above; one of the two is turned over."""
    edge = Edge("edge", "raw", 0.0, (*ring, ring[0]))
    xs = [x for x, _ in ring]
    low, high = min(xs), max(xs)
    length = high - low
    middle = sum(extent_across(ring, low + 0.5 * length) or (0.0, 0.0)) / 2
    arrow: tuple[Point, Point] = ((low + 0.25 * length, middle), (low + 0.75 * length, middle))
    return Piece(
        name=name,
        quantity=2,
        mirrored_quantity=1,
        material=material,
        net_mm=ring,
        cut_mm=ring,
        edges=(edge,),
        lines=(Line("tight way", arrow),),
        # Drawn from above: a sole's grain side looks down.
        face_up="flesh" if material == "sole" else "grain",
    )
