"""The exact check of a layout, apart from the search: no overlap, nothing outside, all as asked."""

from collections.abc import Sequence

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


def layout_faults(request: LayoutRequest, placements: Sequence[Placement]) -> tuple[str, ...]:
    """Return one line for each rule that is broken; none when the layout can be cut."""
    pieces = {piece.id: piece for piece in request.pieces}
    shapes = [laid_shape(pieces[row.id], row) for row in placements]
    faults = _rotation_faults(pieces, placements)
    faults += _count_faults(request, placements)
    faults += [
        f"the fixed placement of {row.id} is missing"
        for row in request.fixed
        if row not in placements
    ]
    for hide in request.hides:
        here = [index for index, row in enumerate(placements) if row.container == hide.id]
        rows = [placements[index] for index in here]
        laid = [shapes[index] for index in here]
        usable = usable_shape(hide)
        faults += _place_faults(usable, rows, laid, request.edge_spacing_mm)
        faults += _gap_faults(rows, laid, request.spacing_mm)
        for area in hide.areas:
            bad = Polygon(area.outline_mm)
            faults += [
                f"{row.id} lies on an area of grade {area.grade}"
                for row, shape in zip(rows, laid, strict=True)
                if (least := pieces[row.id].grade) is not None
                and area.grade > least
                and shape.intersection(bad).area > TOLERANCE_MM2
            ]
    return tuple(faults)


def _rotation_faults(pieces: dict[str, LayoutPiece], placements: Sequence[Placement]) -> list[str]:
    faults = []
    for row in placements:
        piece = pieces[row.id]
        rotations = piece.rotations_deg(row.mirrored)
        if rotations is None:
            continue
        off = min(
            abs((row.rotation_deg - allowed + 180.0) % 360.0 - 180.0) for allowed in rotations
        )
        if off > piece.rotation_tolerance_deg + TOLERANCE_DEG:
            faults.append(f"{row.id} is turned by {row.rotation_deg:g} degrees, not allowed")
    return faults


def _count_faults(request: LayoutRequest, placements: Sequence[Placement]) -> list[str]:
    laid = copies_laid(placements)
    faults = []
    for piece in request.pieces:
        plain, mirrored = laid.get((piece.id, False), 0), laid.get((piece.id, True), 0)
        if plain + mirrored > piece.quantity:
            faults.append(f"{piece.id} lies {plain + mirrored} times, {piece.quantity} asked")
        if piece.mirror_free:
            continue
        if mirrored > piece.mirrored_quantity:
            faults.append(f"{piece.id} lies mirrored {mirrored} times")
        if plain > piece.quantity - piece.mirrored_quantity:
            faults.append(f"{piece.id} lies not mirrored {plain} times")
    return faults


def _place_faults(
    usable: BaseGeometry, rows: Sequence[Placement], shapes: Sequence[Polygon], edge_mm: float
) -> list[str]:
    roomy = usable.buffer(TOLERANCE_MM, join_style="mitre")
    faults = []
    for row, shape in zip(rows, shapes, strict=True):
        if not roomy.covers(shape):
            outside = shape.difference(usable).area
            faults.append(f"{row.id} lies {outside:.3f} mm² outside the usable leather")
        elif edge_mm and shape.distance(usable.boundary) < edge_mm - TOLERANCE_MM:
            near = shape.distance(usable.boundary)
            faults.append(f"{row.id} lies {near:.3f} mm from an edge or defect, not {edge_mm:g}")
    return faults


def _gap_faults(
    rows: Sequence[Placement], shapes: Sequence[Polygon], spacing_mm: float
) -> list[str]:
    if len(shapes) < 2:
        return []
    near = STRtree(shapes).query(shapes, predicate="dwithin", distance=spacing_mm + 1.0)
    faults = []
    for one, two in near.T.tolist():
        if one >= two:
            continue
        gap = shapes[one].distance(shapes[two])
        if gap == 0.0 and shapes[one].buffer(-TOLERANCE_MM).intersects(shapes[two]):
            faults.append(f"{rows[one].id} and {rows[two].id} overlap")
        elif gap < spacing_mm - TOLERANCE_MM:
            faults.append(f"{rows[one].id} and {rows[two].id} are {gap:.4f} mm apart")
    return faults
