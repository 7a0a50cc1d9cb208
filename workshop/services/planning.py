"""A layout made by hand: checked exactly, kept, and from then on the layout of the job."""

from collections.abc import Sequence

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from patterns.exchange.layout_file import document_from_request, documents_from_placements
from patterns.layout.by_hand import layout_by_hand
from patterns.layout.check import check_layout
from patterns.layout.values import Placement
from workshop.layout_work import layout_result
from workshop.models import HandLayout, Hide
from workshop.models.jobs import LAYOUT
from workshop.services.quoting import Worked
from workshop.services.records import record_save
from workshop.work import work_done


@transaction.atomic
def hand_layout_save(
    worked: Worked,
    placements: Sequence[Placement],
    *,
    fixed: Sequence[Placement] = (),
    by: AbstractBaseUser | None,
) -> HandLayout:
    """Keep where a maker laid the pieces; price, sheet and cutting go by it from now on.

    Parameters
    ----------
    worked : Worked
        The choice it is for, with its request.
    placements : sequence of Placement
        Every copy that lies on the hide.
    fixed : sequence of Placement
        Those of them that stay when the others are laid out anew.

    Raises
    ------
    LayoutError
        The exact check finds a fault; nothing is kept.
    ValidationError
        There is nothing to lay out, or the hide is cut.
    """
    record = _record(worked, placements, fixed, by)
    assert worked.request is not None
    known = worked.waste["pairs_that_fit"] if worked.waste else None
    inputs = {
        "instance": document_from_request(worked.request),
        "by_hand": record.pk,
        "style": worked.choice.style.style.file_name,
        "foot_length_mm": float(worked.choice.foot.foot_length),
    }
    layout = layout_by_hand(worked.request, placements)
    result = layout_result(worked.request, layout, pairs_that_fit=known or 0)
    work_done(LAYOUT, inputs, result, key=worked.layout_key, by=by)
    return record


@transaction.atomic
def hand_fixed_save(
    worked: Worked, fixed: Sequence[Placement], *, by: AbstractBaseUser | None
) -> HandLayout:
    """Keep which pieces stay where they lie, for the search that lays out the rest.

    The job's layout is the same as before until that search has found one.

    Raises
    ------
    LayoutError, ValidationError
        As for `hand_layout_save`.
    """
    return _record(worked, fixed, fixed, by)


def _record(
    worked: Worked,
    placements: Sequence[Placement],
    fixed: Sequence[Placement],
    by: AbstractBaseUser | None,
) -> HandLayout:
    if worked.request is None or worked.choice.hide is None:
        raise ValidationError(_("Choose a hide first; then its pieces can be laid by hand."))
    if worked.choice.hide.state == Hide.State.CUT:
        raise ValidationError(
            _("%(hide)s is cut already. Choose another hide.") % {"hide": worked.choice.hide.code},
            code="cut",
        )
    check_layout(worked.request, placements)
    record = HandLayout(
        commission=worked.choice.commission,
        key=worked.layout_key,
        placements=documents_from_placements(placements),
        fixed=documents_from_placements([row for row in placements if row in fixed]),
        made_by=by,
    )
    record_save(record, by=by, action="laid by hand")
    return record
