"""Noting what a mock-up or wear taught, and taking it back."""

from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.models import Commission, Correction, Style
from workshop.services.records import audit_write, fields_of, record_save


def correction_note(
    *,
    commission: Commission,
    style: Style,
    place: str,
    change_mm: Decimal,
    reason: str,
    by: AbstractBaseUser,
) -> Correction:
    """Keep a correction for a job's doll in a style.

    Raises
    ------
    ValidationError
        A field does not hold; nothing is stored.
    """
    correction = Correction(
        doll=commission.doll,
        style=style,
        place=place,
        change_mm=change_mm,
        reason=reason,
        commission=commission,
        made_by=by,
    )
    record_save(correction, by=by, action="noted")
    return correction


@transaction.atomic
def correction_withdraw(correction: Correction, *, by: AbstractBaseUser) -> None:
    """Take a correction back; it stays in the list and is applied no more.

    Raises
    ------
    ValidationError
        It was taken back already.
    """
    before = fields_of(correction)
    open_one = Correction.objects.filter(pk=correction.pk, withdrawn_at=None)
    if not open_one.update(withdrawn_at=timezone.now(), withdrawn_by=by):
        raise ValidationError(_("This correction was taken back already."), code="withdrawn")
    correction.refresh_from_db()
    audit_write(correction, by=by, action="taken back", before=before)
