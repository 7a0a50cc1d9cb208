"""Timings taken into the rate card: only those steps the owner accepts, as a new version."""

from collections.abc import Collection

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from workshop.models import RateCard, TimingTaken, WorkshopProfile, WorkStepRow
from workshop.selectors.learning import proposals
from workshop.services.rates import rate_card_make
from workshop.services.records import record_save

NOT_COPIED = frozenset({"id", "version", "reason", "made_by", "made_at"})
LONGEST_REASON = 200


@transaction.atomic
def timings_accept(
    card: RateCard, rows: Collection[int], *, by: AbstractBaseUser | None
) -> RateCard:
    """Put a new rate card in use with the proposed minutes of the steps accepted.

    Parameters
    ----------
    card : RateCard
        The card the proposals were shown for.
    rows : collection of int
        The ids of its steps whose proposals are accepted; the others stay as they are, and their
        timings wait.

    Raises
    ------
    ValidationError
        No step is accepted, or the card is not in use any more.
    """
    WorkshopProfile.current()
    # Locked, so that the same timings are not taken in twice.
    WorkshopProfile.objects.select_for_update().get(pk=1)
    if RateCard.objects.order_by("-version").first() != card:
        raise ValidationError(
            _("Another rate card came into use meanwhile; look at its proposals."), code="card_old"
        )
    accepted = {found.row.pk: found for found in proposals(card) if found.row.pk in rows}
    if not accepted:
        raise ValidationError(_("Tick the steps whose new minutes you accept."), code="none")
    steps = [_copy(row) for row in card.steps.all()]
    taken = []
    for row, step in zip(card.steps.all(), steps, strict=True):
        if row.pk in accepted:
            found = accepted[row.pk]
            step.minutes = found.proposed_min
            step.timings_in = row.timings_in + len(found.timings)
            taken.append((step, found))
    values = {
        field.name: getattr(card, field.name)
        for field in RateCard._meta.concrete_fields
        if field.name not in NOT_COPIED
    }
    names = ", ".join(step.name for step, _found in taken)
    reason = _("what it really took: %(steps)s") % {"steps": names}
    new = rate_card_make(RateCard(**values, reason=_shortened(reason)), steps, by=by)
    for step, found in taken:
        for timing in found.timings:
            record = TimingTaken(
                commission=timing.commission, step_row=step, step=step.name, per=step.per
            )
            record_save(record, by=by, action="taken in")
    return new


def _copy(row: WorkStepRow) -> WorkStepRow:
    return WorkStepRow(
        name=row.name,
        minutes=row.minutes,
        per=row.per,
        passive=row.passive,
        way=row.way,
        less_again_pct=row.less_again_pct,
        timings_in=row.timings_in,
    )


def _shortened(text: str) -> str:
    return text if len(text) <= LONGEST_REASON else text[: LONGEST_REASON - 1] + "…"
