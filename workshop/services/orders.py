"""Jobs: taking one in, and moving it on."""

from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.models import Commission, Customer, Doll, ReservedSupply, WorkshopProfile
from workshop.services.cuttings import hides_release_all
from workshop.services.records import audit_write, fields_of, record_save
from workshop.services.reservations import supplies_release, supplies_use_up


@transaction.atomic
def commission_take_in(
    *,
    customer: Customer,
    doll: Doll,
    by: AbstractBaseUser,
    wanted_on: object = None,
    note: str = "",
    country: str = "",
    budget: Decimal | None = None,
    form_key: str | None = None,
    again_of: Commission | None = None,
) -> Commission:
    """Take a job in; customer and doll are saved with it when they are new.

    With the key of a form that was taken in before, that job is returned and nothing is stored.

    Raises
    ------
    ValidationError
        A field does not hold, or the doll belongs to another customer.
    """
    taken = commission_taken_by(form_key)
    if taken is not None:
        return taken
    if customer._state.adding:
        record_save(customer, by=by)
    if doll._state.adding:
        doll.customer = customer
        record_save(doll, by=by)
    elif doll.customer_id not in (None, customer.pk):
        raise ValidationError(
            {"doll": _("%(doll)s belongs to another customer.") % {"doll": doll.code}}
        )
    commission = Commission(
        customer=customer,
        doll=doll,
        wanted_on=wanted_on,
        note=note,
        country=country,
        budget=budget,
        form_key=form_key,
        again_of=again_of,
        state=Commission.State.MEASURED if doll.feet.exists() else Commission.State.ENQUIRY,
    )
    record_save(commission, by=by, action="taken in")
    return commission


def commission_taken_by(form_key: str | None) -> Commission | None:
    """Return the job that a form has taken in already; call inside a transaction."""
    if form_key is None:
        return None
    # Locked, so that of two posts of one form the second finds what the first has made.
    WorkshopProfile.current()
    WorkshopProfile.objects.select_for_update().get(pk=1)
    return Commission.objects.filter(form_key=form_key).first()


def commission_again(
    earlier: Commission, *, form_key: str | None, by: AbstractBaseUser
) -> Commission:
    """Take in the same order once more: same customer, doll and wish; the choice comes along."""
    return commission_take_in(
        customer=earlier.customer,
        doll=earlier.doll,
        note=earlier.note,
        form_key=form_key,
        again_of=earlier,
        by=by,
    )


State = Commission.State
# Where a job may go from where it stands; measuring, quoting and accepting move it by themselves.
NEXT_STATES: dict[str, tuple[str, ...]] = {
    State.ENQUIRY: (State.DECLINED, State.WITHDRAWN),
    State.MEASURED: (State.DECLINED, State.WITHDRAWN),
    State.QUOTED: (State.DECLINED, State.WITHDRAWN),
    State.ACCEPTED: (State.IN_WORK, State.WITHDRAWN),
    State.IN_WORK: (State.FINISHED,),
    State.FINISHED: (State.SENT,),
}

KEPT_FIELDS = {f.name for f in Commission._meta.fields} - {"end_reason"}


@transaction.atomic
def commission_move(
    commission: Commission, *, to: str, by: AbstractBaseUser, reason: str = ""
) -> list[ReservedSupply]:
    """Move a job on, once, whoever asks first.

    A job that ends without work lets go what was kept for it, and keeps the reason if one is said;
    one that is finished has used up its supplies. Returned are the supplies the shelf did not hold
    enough of.

    Raises
    ------
    ValidationError
        The job cannot go there from where it stands, or the reason is too long.
    """
    ends = to in (State.DECLINED, State.WITHDRAWN)
    before = fields_of(commission)
    allowed = [state for state, following in NEXT_STATES.items() if to in following]
    changes: dict[str, object] = {"state": to}
    if to == State.FINISHED:
        changes["finished_at"] = timezone.now()
    if ends:
        changes["end_reason"] = reason.strip()
        Commission(**changes).clean_fields(exclude=KEPT_FIELDS)
    moved = Commission.objects.filter(pk=commission.pk, state__in=allowed).update(**changes)
    commission.refresh_from_db()
    if not moved:
        raise ValidationError(
            _("%(job)s is %(state)s already; open its page again to see what can follow.")
            % {"job": commission.code, "state": commission.get_state_display()}
        )
    audit_write(commission, by=by, action=to, before=before)
    if ends:
        hides_release_all(commission, by=by)
        supplies_release(commission, by=by)
    return supplies_use_up(commission, by=by) if to == State.FINISHED else []


@transaction.atomic
def commissions_measured(doll: Doll, *, by: AbstractBaseUser | None) -> None:
    """Move a doll's jobs that waited for measures on, now that its foot is measured."""
    for commission in Commission.objects.filter(doll=doll, state=Commission.State.ENQUIRY):
        before = fields_of(commission)
        # Guarded: a quote saved at the same moment has moved the job further.
        moved = Commission.objects.filter(pk=commission.pk, state=Commission.State.ENQUIRY).update(
            state=Commission.State.MEASURED
        )
        if moved:
            commission.refresh_from_db()
            audit_write(commission, by=by, action="measured", before=before)
