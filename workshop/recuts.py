"""Pieces that are cut again: the ground they find a place on, and the search for one."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from django.contrib.auth.models import AbstractBaseUser
from shapely.geometry import Polygon

from patterns.exchange.layout_file import document_from_request, layout_from_document
from patterns.hide import Hide as HideValue
from patterns.layout import LAYOUT_ENGINE, Layout
from patterns.layout.by_hand import layout_as_laid
from patterns.layout.ground import laid_shape, polygons_of
from patterns.layout.values import LayoutPiece, LayoutRequest, Placement
from workshop.models import BackgroundJob, CutLine, CutList, Hide
from workshop.models.jobs import LAYOUT
from workshop.plan_sheet import Copy, PlanGround
from workshop.selectors.cut_lines import lines_on, placements_of, request_of
from workshop.selectors.plans import line_name
from workshop.services.quoting import SECONDS_TO_LAY_OUT
from workshop.work import LAYOUT_SEED, work_found, work_key, work_latest, work_start

CLEAR_MM = 0.01  # between a piece that is cut and what is left of a defect, for the exact check
SPECK_MM2 = 0.1  # what is left of a defect below this is rounding


@dataclass(frozen=True, slots=True)
class RecutPlan:
    """A hide with what a cut list has on it, and the copies that are still to find a place."""

    cut_list: CutList
    hide: Hide
    ground: PlanGround
    layout: Layout
    key: str
    work: BackgroundJob | None


def recut_plan(cut_list: CutList, hide: Hide) -> RecutPlan | None:
    """Return the plan of a list on a hide; None where every piece has its place.

    Copies lie where the newest search has put them; that is kept only once a maker says so.
    """
    lines = lines_on(cut_list, hide)
    if not any(line.needs_a_place for line in lines):
        return None
    request = request_of(cut_list, hide, lines)
    key = work_key(
        LAYOUT,
        {
            "engine": LAYOUT_ENGINE,
            "cut list": cut_list.pk,
            "instance": document_from_request(request),
        },
    )
    done = work_found(LAYOUT, key)
    found = layout_from_document(done.result["layout"]).placements if done is not None else ()
    ground = _ground(request, lines, [row for row in found if row not in request.fixed])
    return RecutPlan(
        cut_list=cut_list,
        hide=hide,
        ground=ground,
        layout=layout_as_laid(request, request.fixed),
        key=key,
        work=work_latest(LAYOUT, key),
    )


def _ground(
    request: LayoutRequest, lines: Sequence[CutLine], found: Sequence[Placement]
) -> PlanGround:
    pieces = {piece.id: piece for piece in request.pieces}
    left = list(found)
    copies = []
    for line in lines:
        piece = pieces[line.piece]
        if line.placement:
            (row,) = placements_of([line])
            copies.append(Copy(line.pk, piece, row.mirrored, line_name(line), row, True, True))
        elif line.needs_a_place:
            place = next((row for row in left if _suits(row, piece, line)), None)
            if place is not None:
                left.remove(place)
            mirrored = place.mirrored if place is not None else line.mirrored
            copies.append(Copy(line.pk, piece, mirrored, line_name(line), place))
    return PlanGround(request, tuple(copies))


def _suits(row: Placement, piece: LayoutPiece, line: CutLine) -> bool:
    return row.id == piece.id and (piece.mirror_free or row.mirrored == line.mirrored)


def recut_start(
    planned: RecutPlan, fixed: Sequence[Placement], *, by: AbstractBaseUser | None
) -> BackgroundJob:
    """Hand the search for places to the background worker; what is cut, or fixed, stays."""
    asked = planned.ground.request
    request = replace(asked, hides=(_without_what_is_cut(asked),), fixed=(*asked.fixed, *fixed))
    inputs = {
        "instance": document_from_request(request),
        "seconds": SECONDS_TO_LAY_OUT,
        "seed": LAYOUT_SEED,
    }
    return work_start(LAYOUT, inputs, key=planned.key, by=by)


def _without_what_is_cut(request: LayoutRequest) -> HideValue:
    """Return the hide with its defects cut back where a piece lies already.

    A flaw is often marked because a piece was spoilt by it; the search would refuse that piece,
    though nobody lays it any more.
    """
    (hide,) = request.hides
    pieces = {piece.id: piece for piece in request.pieces}
    laid = shapely.union_all([laid_shape(pieces[row.id], row) for row in request.fixed])
    taken = laid.buffer(CLEAR_MM, join_style="mitre")
    kept = [
        (kind, tuple((x, y) for x, y in part.exterior.coords[:-1]))
        for kind, ring in hide.named_defects
        for part in polygons_of(Polygon(ring).difference(taken))
        if part.area > SPECK_MM2
    ]
    return replace(
        hide,
        defects_mm=tuple(ring for _kind, ring in kept),
        defect_kinds=tuple(kind for kind, _ring in kept),
    )
