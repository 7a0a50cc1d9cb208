"""The exact check of a layout, apart from the search: no overlap, nothing outside, all as asked."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from shapely import STRtree
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from patterns.errors import LayoutError
from patterns.layout.ground import laid_shape, usable_shape
from patterns.layout.sets import copies_laid
from patterns.layout.values import LayoutPiece, LayoutRequest, Placement

TOLERANCE_MM = 1e-3  # a hundredth of what a knife can follow
TOLERANCE_DEG = 1e-3
TOLERANCE_MM2 = 1e-3


def check_layout(request: LayoutRequest, placements: Sequence[Placement]) -> None:
    """Pass when every rule holds for the placements; raise otherwise.

    Raises
    ------
    LayoutError
        Code ``layout_faulty`` with the faults found. For a layout that was searched for, this
        means a mistake in the program, not in the request.
    """
    faults = layout_faults(request, placements)
    if faults:
        raise LayoutError(
            f"The layout breaks {len(faults)} rules; the first: {faults[0]}. It is not shown.",
            code="layout_faulty",
            faults=faults,
        )


@dataclass(frozen=True, slots=True)
class LayoutFault:
    """One rule that a layout breaks.

    ``code`` is ``turned``, ``too_many``, ``fixed_moved``, ``outside``, ``near_edge``, ``overlap``,
    ``near_piece`` or ``wrong_grade``; ``rows`` are the places in the list of placements it is
    about, none for a piece laid too often. ``parameters`` hold its figures; ``text`` says it.
    """

    code: str
    text: str
    rows: tuple[int, ...] = ()
    parameters: Mapping[str, float | int | str] = field(default_factory=dict)


def layout_faults(request: LayoutRequest, placements: Sequence[Placement]) -> tuple[str, ...]:
    """Return one line for each rule that is broken; none when the layout can be cut."""
    return tuple(fault.text for fault in faults_found(request, placements))


def faults_found(
    request: LayoutRequest, placements: Sequence[Placement]
) -> tuple[LayoutFault, ...]:
    """Return every rule that is broken, with the placements it is about."""
    pieces = {piece.id: piece for piece in request.pieces}
    shapes = [laid_shape(pieces[row.id], row) for row in placements]
    faults = _rotation_faults(pieces, placements)
    faults += _count_faults(request, placements)
    faults += [
        LayoutFault("fixed_moved", f"the fixed placement of {row.id} is missing")
        for row in request.fixed
        if row not in placements
    ]
    for hide in request.hides:
        here = [index for index, row in enumerate(placements) if row.container == hide.id]
        laid = [(index, placements[index].id, shapes[index]) for index in here]
        faults += _place_faults(usable_shape(hide), laid, request.edge_spacing_mm)
        faults += _gap_faults(laid, request.spacing_mm)
        for area in hide.areas:
            bad = Polygon(area.outline_mm)
            faults += [
                LayoutFault(
                    "wrong_grade",
                    f"{name} lies on an area of grade {area.grade}",
                    (index,),
                    {"grade": area.grade},
                )
                for index, name, shape in laid
                if (least := pieces[name].grade) is not None
                and area.grade > least
                and shape.intersection(bad).area > TOLERANCE_MM2
            ]
    return tuple(faults)


_Laid = Sequence[tuple[int, str, Polygon]]  # place in the list of placements, name, shape


def _rotation_faults(
    pieces: dict[str, LayoutPiece], placements: Sequence[Placement]
) -> list[LayoutFault]:
    faults = []
    for index, row in enumerate(placements):
        piece = pieces[row.id]
        rotations = piece.rotations_deg(row.mirrored)
        if rotations is None:
            continue
        off = min(
            abs((row.rotation_deg - allowed + 180.0) % 360.0 - 180.0) for allowed in rotations
        )
        if off > piece.rotation_tolerance_deg + TOLERANCE_DEG:
            text = f"{row.id} is turned by {row.rotation_deg:g} degrees, not allowed"
            numbers = {"off_deg": off, "tolerance_deg": piece.rotation_tolerance_deg}
            faults.append(LayoutFault("turned", text, (index,), numbers))
    return faults


def _count_faults(request: LayoutRequest, placements: Sequence[Placement]) -> list[LayoutFault]:
    laid = copies_laid(placements)
    texts = []
    for piece in request.pieces:
        plain, mirrored = laid.get((piece.id, False), 0), laid.get((piece.id, True), 0)
        if plain + mirrored > piece.quantity:
            texts.append(f"{piece.id} lies {plain + mirrored} times, {piece.quantity} asked")
        if piece.mirror_free:
            continue
        if mirrored > piece.mirrored_quantity:
            texts.append(f"{piece.id} lies mirrored {mirrored} times")
        if plain > piece.quantity - piece.mirrored_quantity:
            texts.append(f"{piece.id} lies not mirrored {plain} times")
    return [LayoutFault("too_many", text) for text in texts]


def _place_faults(usable: BaseGeometry, laid: _Laid, edge_mm: float) -> list[LayoutFault]:
    roomy = usable.buffer(TOLERANCE_MM, join_style="mitre")
    faults = []
    for index, name, shape in laid:
        if not roomy.covers(shape):
            outside = shape.difference(usable).area
            text = f"{name} lies {outside:.3f} mm² outside the usable leather"
            faults.append(LayoutFault("outside", text, (index,), {"area_mm2": outside}))
        elif edge_mm and shape.distance(usable.boundary) < edge_mm - TOLERANCE_MM:
            near = shape.distance(usable.boundary)
            text = f"{name} lies {near:.3f} mm from an edge or defect, not {edge_mm:g}"
            faults.append(
                LayoutFault("near_edge", text, (index,), {"near_mm": near, "gap_mm": edge_mm})
            )
    return faults


def _gap_faults(laid: _Laid, spacing_mm: float) -> list[LayoutFault]:
    if len(laid) < 2:
        return []
    shapes = [shape for _index, _name, shape in laid]
    near = STRtree(shapes).query(shapes, predicate="dwithin", distance=spacing_mm + 1.0)
    faults = []
    for one, two in near.T.tolist():
        if one >= two:
            continue
        gap = shapes[one].distance(shapes[two])
        rows = (laid[one][0], laid[two][0])
        names = f"{laid[one][1]} and {laid[two][1]}"
        if gap == 0.0 and shapes[one].buffer(-TOLERANCE_MM).intersects(shapes[two]):
            shared = shapes[one].intersection(shapes[two]).area
            faults.append(LayoutFault("overlap", f"{names} overlap", rows, {"area_mm2": shared}))
        elif gap < spacing_mm - TOLERANCE_MM:
            text = f"{names} are {gap:.4f} mm apart"
            faults.append(
                LayoutFault("near_piece", text, rows, {"near_mm": gap, "gap_mm": spacing_mm})
            )
    return faults
