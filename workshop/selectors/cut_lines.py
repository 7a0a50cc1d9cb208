"""What a cut list has on each hide: its lines, where they lie, what a new place would break."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from patterns.exchange.layout_file import placements_from_document, request_from_document
from patterns.layout.check import LayoutFault, faults_found
from patterns.layout.values import LayoutRequest, Placement
from workshop.bridge import hide_from_record
from workshop.models import CutLine, CutList, Hide


def lines_on(cut_list: CutList, hide: Hide) -> list[CutLine]:
    """Return the lines of a list that are cut from a hide, scrapped ones among them."""
    return list(
        cut_list.lines.filter(hide=hide).select_related("cut_list__commission", "hide__lot")
    )


def request_of(cut_list: CutList, hide: Hide, lines: Sequence[CutLine]) -> LayoutRequest:
    """Return what lies on a hide or is to: a copy for every line, the scrapped ones included.

    What has a place is fixed there: it is cut, or will be.
    """
    asked = request_from_document(cut_list.instance)
    pieces = []
    for piece in asked.pieces:
        here = [line for line in lines if line.piece == piece.id]
        if here:
            pieces.append(
                replace(
                    piece,
                    quantity=len(here),
                    mirrored_quantity=sum(line.mirrored for line in here),
                    per_set=0,
                    per_set_mirrored=0,
                )
            )
    return replace(
        asked,
        hides=(hide_from_record(hide),),
        pieces=tuple(pieces),
        fixed=placements_of(lines),
    )


def placements_of(lines: Sequence[CutLine]) -> tuple[Placement, ...]:
    """Return where the lines lie that have a place."""
    return placements_from_document([line.placement for line in lines if line.placement])


def faults_of_new(
    request: LayoutRequest, locked: Sequence[Placement], new: Sequence[Placement]
) -> list[LayoutFault]:
    """Return what is wrong with new placements beside the locked ones; `rows` count both.

    What is cut already is not judged any more: a flaw may have been marked on the hide since.
    """
    return [
        fault
        for fault in faults_found(request, [*locked, *new])
        if not fault.rows or max(fault.rows) >= len(locked)
    ]


def scrapped_area_mm2(lines: Sequence[CutLine]) -> Decimal:
    """Return the leather of the pieces that were thrown away."""
    return sum(
        (line.area_mm2 for line in lines if line.state == CutLine.State.SCRAPPED), Decimal(0)
    )
