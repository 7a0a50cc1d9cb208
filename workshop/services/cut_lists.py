"""The list a job is cut by: ticked off, pieces cut again, and the end of a hide."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from patterns.errors import LayoutError
from patterns.exchange.layout_file import documents_from_placements
from patterns.layout.by_hand import layout_as_laid
from patterns.layout.values import Placement
from workshop.models import Commission, CutLine, CutList, Cutting, Hide
from workshop.selectors.cut_lines import (
    faults_of_new,
    lines_on,
    placements_of,
    request_of,
    scrapped_area_mm2,
)
from workshop.services.cuttings import hide_cut, hide_reserve, reserved_words
from workshop.services.records import audit_write, fields_of, record_save

State = CutLine.State


@transaction.atomic
def line_tick(line: CutLine, *, by: AbstractBaseUser | None) -> None:
    """Note that a piece is cut, once, whoever says so first.

    Raises
    ------
    ValidationError
        It has no place on a hide yet, or is scrapped.
    """
    if line.needs_a_place:
        raise ValidationError(_("%(line)s has no place on a hide yet.") % {"line": line.piece})
    _move(line, State.OPEN, State.CUT, by=by, action="cut")


@transaction.atomic
def lines_tick(cut_list: CutList, wanted: Iterable[int], *, by: AbstractBaseUser | None) -> int:
    """Note that many pieces of a list are cut, all or none; return how many were still open.

    Raises
    ------
    ValidationError
        One of them is none of this list, has no place on a hide yet, or is scrapped.
    """
    keys = set(wanted)
    lines = list(cut_list.lines.filter(pk__in=keys).select_related("hide"))
    if len(lines) != len(keys):
        raise ValidationError(_("The list has changed meanwhile. Look at it again."))
    still_open = [line for line in lines if line.state != State.CUT]
    for line in still_open:
        line_tick(line, by=by)
    return len(still_open)


@transaction.atomic
def line_take_back(line: CutLine, *, by: AbstractBaseUser | None) -> None:
    """Take back a tick, or a scrapping whose new piece is not cut yet.

    Raises
    ------
    ValidationError
        The piece was cut again already, or its hide is noted as cut.
    """
    if line.hide is not None and line.hide.state == Hide.State.CUT:
        raise ValidationError(
            _("%(hide)s is noted as cut; take that back first.") % {"hide": line.hide.code}
        )
    if line.state == State.CUT:
        _move(line, State.CUT, State.OPEN, by=by, action="not cut after all")
        return
    again = CutLine.objects.select_for_update().filter(recut_of=line).first()
    if again is not None:
        if again.state != State.OPEN:
            raise ValidationError(
                _("%(line)s was cut again already; take that back first.") % {"line": line.piece}
            )
        audit_write(again, by=by, action="not needed after all")
        again.delete()
    _move(line, State.SCRAPPED, State.OPEN, by=by, action="not scrapped after all")


def _move(
    line: CutLine,
    old: str,
    new: str,
    *,
    by: AbstractBaseUser | None,
    action: str,
    **values: object,
) -> None:
    """Change a line's state by a guarded update; nothing happens where it has it already."""
    before = fields_of(line)
    is_open = new == State.OPEN
    changed = {
        "reason": "",
        "reason_note": "",
        "done_by": None if is_open else by,
        "done_at": None if is_open else timezone.now(),
        **values,
    }
    moved = CutLine.objects.filter(pk=line.pk, state=old).update(state=new, **changed)
    line.refresh_from_db()
    if moved:
        audit_write(line, by=by, action=action, before=before)
    elif line.state != new:
        raise ValidationError(
            _("%(line)s is %(state)s meanwhile. Look at the list again.")
            % {"line": line.piece, "state": line.get_state_display()},
            code="moved",
        )


@transaction.atomic
def line_scrap(
    line: CutLine,
    *,
    reason: str,
    reason_note: str = "",
    hide: Hide | None = None,
    by: AbstractBaseUser | None,
) -> CutLine:
    """Throw a piece away and put it back to be cut: its leather is waste from now on.

    Parameters
    ----------
    line : CutLine
        One that is cut, or was found faulty before; it keeps its place, which nobody gets again.
    reason, reason_note : str
        One of the reasons, and more of it in words.
    hide : Hide, optional
        From which hide it is cut again; the piece finds its place there afterwards.

    Raises
    ------
    ValidationError
        It is scrapped already, or the hide is taken or cut.
    """
    if line.state == State.SCRAPPED:
        raise ValidationError(_("%(line)s is scrapped already.") % {"line": line.piece})
    if line.needs_a_place:
        raise ValidationError(_("%(line)s is not cut yet.") % {"line": line.piece})
    if hide is not None:
        _reserve(hide, line.cut_list.commission, by=by)
    _move(
        line,
        line.state,
        State.SCRAPPED,
        by=by,
        action="scrapped",
        reason=reason,
        reason_note=reason_note,
    )
    last = line.cut_list.lines.order_by("-position").values_list("position", flat=True)[0]
    again = CutLine(
        cut_list=line.cut_list,
        position=last + 1,
        piece=line.piece,
        mirrored=line.mirrored,
        foot_side=line.foot_side,
        number=line.number,
        of=line.of,
        material=line.material,
        hide=hide,
        area_mm2=line.area_mm2,
        recut_of=line,
    )
    record_save(again, by=by, action="to cut again")
    return again


@transaction.atomic
def line_to_hide(line: CutLine, hide: Hide, *, by: AbstractBaseUser | None) -> None:
    """Choose another hide for a piece to cut again that has no place yet.

    Raises
    ------
    ValidationError
        It has its place, or the hide is taken or cut; field ``again_from``.
    """
    if not line.needs_a_place:
        raise ValidationError(_("%(line)s has its place already.") % {"line": line.piece})
    _reserve(hide, line.cut_list.commission, by=by)
    before = fields_of(line)
    CutLine.objects.filter(pk=line.pk, state=State.OPEN, placement={}).update(hide=hide)
    line.refresh_from_db()
    audit_write(line, by=by, action="to another hide", before=before)


def _reserve(hide: Hide, commission: Commission, *, by: AbstractBaseUser | None) -> None:
    if hide.state == Hide.State.CUT:
        raise ValidationError({"again_from": reserved_words(hide)}, code="cut")
    try:
        hide_reserve(hide, commission=commission, by=by)
    except ValidationError as error:
        raise ValidationError({"again_from": error.messages}) from error


@transaction.atomic
def recut_place(
    cut_list: CutList,
    hide: Hide,
    places: Mapping[int, Placement],
    *,
    by: AbstractBaseUser | None,
) -> None:
    """Give pieces to cut again their places on a hide.

    Parameters
    ----------
    cut_list : CutList
    hide : Hide
    places : mapping
        Placements by the line's id.

    Raises
    ------
    LayoutError
        The exact check finds a fault.
    ValidationError
        A line has its place already, or is cut.
    """
    lines = lines_on(cut_list, hide)
    request = request_of(cut_list, hide, lines)
    locked = placements_of(lines)
    faults = faults_of_new(request, locked, list(places.values()))
    if faults:
        raise LayoutError(f"{faults[0].text}.", code="layout_faulty")
    for line in lines:
        row = places.get(line.pk)
        if row is None:
            continue
        before = fields_of(line)
        (document,) = documents_from_placements([row])
        placed = CutLine.objects.filter(pk=line.pk, state=State.OPEN, placement={}).update(
            placement=document, mirrored=row.mirrored
        )
        if not placed:
            raise ValidationError(
                _("%(line)s has its place already. Look at the list again.") % {"line": line.piece}
            )
        line.refresh_from_db()
        audit_write(line, by=by, action="placed", before=before)


@transaction.atomic
def cut_list_end(
    cut_list: CutList,
    hide: Hide,
    *,
    least_width_mm: Decimal,
    least_area_mm2: Decimal,
    by: AbstractBaseUser | None,
) -> Cutting:
    """Note a hide as cut by all that was cut of it; scrapped pieces count as waste.

    Raises
    ------
    ValidationError
        Something is still to be cut from it, or it is taken.
    """
    lines = lines_on(cut_list, hide)
    if not lines or any(line.state == State.OPEN for line in lines):
        raise ValidationError(
            _("Something is still to be cut from %(hide)s.") % {"hide": hide.code}, code="open"
        )
    request = request_of(cut_list, hide, lines)
    cutting = hide_cut(
        hide,
        commission=cut_list.commission,
        request=replace(request, fixed=()),
        layout=layout_as_laid(request, placements_of(lines)),
        least_width_mm=least_width_mm,
        least_area_mm2=least_area_mm2,
        by=by,
    )
    scrapped = scrapped_area_mm2(lines)
    if scrapped:
        cutting.pieces_area_mm2 -= scrapped
        record_save(cutting, by=by, action="scrapped pieces are waste", columns=["pieces_area_mm2"])
    return cutting
