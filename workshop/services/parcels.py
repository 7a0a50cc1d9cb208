"""Parcels: written down when they are sent; the job is sent with its first."""

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.models import Commission, Parcel
from workshop.services.orders import commission_move
from workshop.services.records import record_save
from workshop.services.repairs import goods_send_back

State = Commission.State
# Goods go out of a job that is made, and the customer's own may go back from one that ended.
MAY_SEND = (State.FINISHED, State.SENT, State.DECLINED, State.WITHDRAWN)


@transaction.atomic
def parcel_send(parcel: Parcel, *, with_goods: bool = False, by: AbstractBaseUser | None) -> Parcel:
    """Write a parcel down, once; a finished job is sent with it.

    ``with_goods``: all that is still in keeping for the job goes back in it.

    Raises
    ------
    ValidationError
        The job is not finished, or the day cannot be.
    """
    job = Commission.objects.select_for_update().get(pk=parcel.commission_id)
    if parcel.form_key is not None:
        known = Parcel.objects.filter(form_key=parcel.form_key).first()
        if known is not None:
            return known
    if job.state not in MAY_SEND:
        raise ValidationError(
            _("%(job)s is %(state)s: finish the work first, then send it.")
            % {"job": job.code, "state": job.get_state_display()},
            code="not_finished",
        )
    _check_day(parcel)
    parcel.made_by = by
    record_save(parcel, by=by, action="sent")
    if with_goods:
        _goods_go_with(parcel, by=by)
    if job.state == State.FINISHED:
        commission_move(job, to=State.SENT, by=by)
    return parcel


def _goods_go_with(parcel: Parcel, *, by: AbstractBaseUser | None) -> None:
    """Note that all that is still in keeping for a parcel's job goes back in it."""
    how = " ".join(text for text in (parcel.carrier, parcel.tracking) if text)
    note = _("in the parcel, %(how)s") % {"how": how} if how else _("in the parcel")
    for kept in parcel.commission.kept.filter(sent_back_on=None):
        try:
            goods_send_back(kept, on=parcel.sent_on, note=note, by=by)
        except ValidationError as error:
            raise ValidationError({"sent_on": error.messages}) from error


def parcel_change(parcel: Parcel, *, by: AbstractBaseUser | None) -> None:
    """Change what is known of a parcel, such as a tracking number that came later.

    Raises
    ------
    ValidationError
        A field does not hold.
    """
    _check_day(parcel)
    record_save(parcel, by=by)


def _check_day(parcel: Parcel) -> None:
    if parcel.sent_on is not None and parcel.sent_on > timezone.localdate():
        raise ValidationError({"sent_on": _("That day has not come yet.")})
