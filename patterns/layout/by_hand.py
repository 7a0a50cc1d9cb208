"""A layout made by a hand rather than searched for: checked exactly, and counted the same way."""

from collections.abc import Sequence

from patterns.layout.check import check_layout
from patterns.layout.ground import piece_areas_mm2, usable_area_mm2
from patterns.layout.sets import copies_laid, sets_of_copies
from patterns.layout.values import Layout, LayoutRequest, Placement


def layout_by_hand(request: LayoutRequest, placements: Sequence[Placement]) -> Layout:
    """Return the layout of placements a maker chose; seed and steps are 0, nothing was tried.

    Raises
    ------
    LayoutError
        Code ``layout_faulty``: a piece overlaps another, lies outside, or breaks another rule;
        `patterns.layout.check.faults_found` names each.
    """
    check_layout(request, placements)
    return layout_as_laid(request, placements)


def layout_as_laid(request: LayoutRequest, placements: Sequence[Placement]) -> Layout:
    """Return placements as a layout without a check: what is cut already lies where it lay."""
    areas = piece_areas_mm2(request)
    return Layout(
        placements=tuple(placements),
        placed=len(placements),
        requested=sum(piece.quantity for piece in request.pieces),
        complete_sets=sum(sets_of_copies(request.pieces, copies_laid(placements)).values()),
        used_area_mm2=sum(areas[row.id] for row in placements),
        usable_area_mm2=usable_area_mm2(request),
        seed=0,
        steps=0,
    )
