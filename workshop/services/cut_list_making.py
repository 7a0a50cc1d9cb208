"""The list a job is cut by, made from its layout: what is cut from which hide in which order."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from patterns.exchange.layout_file import (
    document_from_request,
    documents_from_placements,
)
from patterns.layout.cutting_order import CutStep, cutting_order
from patterns.layout.values import LayoutPiece, LayoutRequest
from patterns.pieces.piece import PieceSet
from workshop.models import Commission, CutLine, CutList, Hide
from workshop.plan_sheet import foot_of
from workshop.services.cuttings import hide_reserve, reserved_words
from workshop.services.quoting import Worked
from workshop.services.records import record_save
from workshop.services.stock import area_decimal

State = CutLine.State


@transaction.atomic
def cut_list_make(worked: Worked, *, by: AbstractBaseUser | None) -> CutList:
    """Write down what is cut from which hide in which order.

    Raises
    ------
    ValidationError
        There is no layout yet, the hide is cut or taken, or the job's list is being cut by.
    """
    hide = worked.choice.hide
    if worked.pieces is None or worked.request is None or worked.layout is None or hide is None:
        raise ValidationError(_("Lay the pieces out first; then there is something to cut by."))
    if hide.state == Hide.State.CUT:
        raise ValidationError(reserved_words(hide), code="cut")
    # The job's row is locked, so that two people beginning at once get one list.
    commission = Commission.objects.select_for_update().get(pk=worked.choice.commission.pk)
    begun = commission.cut_lists.first()
    if begun is not None and _is_in_work(begun):
        raise ValidationError(
            _("The cut list of %(day)s is being cut by. Finish it, or take its ticks back first.")
            % {"day": timezone.localtime(begun.made_at).date().isoformat()},
            code="in_work",
        )
    hide_reserve(hide, commission=commission, by=by)
    steps = cutting_order(
        worked.pieces,
        pair_count=worked.choice.pair_count,
        request=worked.request,
        placements=worked.layout.placements,
    )
    drawn_foot = worked.choice.foot.foot_side
    return cut_list_of(
        commission,
        request=worked.request,
        steps=steps,
        pieces=worked.pieces,
        hides={hide.code: hide},
        style=worked.choice.style.style.name,
        pair_count=worked.choice.pair_count,
        drawn_foot=lambda _piece: drawn_foot,
        by=by,
    )


@transaction.atomic
def cut_list_of(
    commission: Commission,
    *,
    request: LayoutRequest,
    steps: Sequence[CutStep],
    pieces: PieceSet,
    hides: Mapping[str, Hide],
    style: str,
    pair_count: int,
    drawn_foot: Callable[[str], str],
    by: AbstractBaseUser | None,
) -> CutList:
    """Write a list of steps down as the newest cut list of a job.

    Parameters
    ----------
    request : LayoutRequest
        What the layout was asked with: the outlines a piece is cut again by.
    steps : sequence of CutStep
        Every copy in its order.
    pieces : PieceSet
        The pieces the steps name.
    hides : mapping
        The hides by their codes, as placements name them; a copy without a place is for the first.
    style, pair_count
        What stands above the list.
    drawn_foot : function
        For which foot a piece is drawn, by its name.
    """
    record = CutList(
        commission=commission,
        instance=document_from_request(replace(request, fixed=())),
        style=style,
        pair_count=pair_count,
        drawn_foot=drawn_foot(steps[0].piece),
        made_by=by,
    )
    record_save(record, by=by, action="made")
    known = {piece.id: piece for piece in request.pieces}
    mirrored = {p.name: p.mirrored_quantity for p in pieces.pieces if not p.mirror_free}
    lines = [
        _line(
            record, position, step, _hide_of(step, hides), known, mirrored, drawn_foot(step.piece)
        )
        for position, step in enumerate(steps, 1)
    ]
    for line in lines:
        line.full_clean(exclude=["cut_list"])
    CutLine.objects.bulk_create(lines)
    return record


def _hide_of(step: CutStep, hides: Mapping[str, Hide]) -> Hide:
    if step.placement is not None:
        return hides[step.placement.container]
    return next(iter(hides.values()))


def _is_in_work(cut_list: CutList) -> bool:
    """Return whether something of a list is done and something is left to do."""
    states = set(cut_list.lines.values_list("state", flat=True))
    return State.OPEN in states and len(states) > 1


def _line(
    cut_list: CutList,
    position: int,
    step: CutStep,
    hide: Hide,
    known: Mapping[str, LayoutPiece],
    mirrored: Mapping[str, int],
    drawn_foot: str,
) -> CutLine:
    is_paired = bool(mirrored.get(step.piece))
    other = {"left": "right", "right": "left"}[drawn_foot]
    foot = (other if step.mirrored else drawn_foot) if is_paired else ""
    if step.piece in known:
        foot = foot_of(known[step.piece], step.mirrored, drawn_foot)
    rows = documents_from_placements([step.placement] if step.placement is not None else [])
    return CutLine(
        cut_list=cut_list,
        position=position,
        piece=step.piece,
        mirrored=step.mirrored,
        foot_side=foot,
        number=step.number,
        of=step.of,
        material=step.material,
        hide=hide if step.piece in known else None,
        placement=rows[0] if rows else {},
        area_mm2=area_decimal(step.area_mm2),
    )
