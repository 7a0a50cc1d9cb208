"""Alterations, repairs and remakes: taken in, priced, agreed; and the customer's goods in keeping.

A price given is kept as it was; the next one takes its place and only the newest can be agreed to.
"""

import datetime
from collections.abc import Sequence
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from costing.errors import CostError
from costing.job import MaterialUse
from costing.job_file import document_from_breakdown, document_from_job
from costing.labour import WorkStep
from workshop.bridge_repair import job_of_repair, repair_priced
from workshop.bridge_sale import Parcel
from workshop.job_photos import job_photo_add
from workshop.models import (
    Commission,
    Kept,
    RateCard,
    Repair,
    RepairAnswer,
    RepairPrice,
    WorkshopProfile,
)
from workshop.selectors.places import ANYWHERE_ELSE, country_asked, destinations_in_use
from workshop.services.orders import commission_take_in
from workshop.services.records import audit_write, fields_of, record_save

State = Commission.State
# What was made can be repaired; before that it is still being made.
MAY_REPAIR = (State.FINISHED, State.SENT)


@transaction.atomic
def repair_take_in(
    repair: Repair,
    *,
    note: str = "",
    wanted_on: datetime.date | None = None,
    form_key: str | None = None,
    by: AbstractBaseUser | None,
) -> Repair:
    """Take a repair in as a job of its own, for the first order's customer and doll.

    Raises
    ------
    ValidationError
        The first order is not made yet, or has no customer; or a field does not hold.
    """
    first = repair.first_order
    if first.customer is None or first.doll is None:
        raise ValidationError(
            _("%(job)s was made for stock; there is no customer to repair for.")
            % {"job": first.code}
        )
    if first.state not in MAY_REPAIR:
        raise ValidationError(
            _("%(job)s is %(state)s: what is not made yet cannot come back.")
            % {"job": first.code, "state": first.get_state_display()},
            code="not_made",
        )
    job = commission_take_in(
        customer=first.customer,
        doll=first.doll,
        wanted_on=wanted_on,
        note=note,
        country=first.country,
        form_key=form_key,
        by=by,
    )
    known = Repair.objects.filter(commission=job).first()
    if known is not None:
        return known
    repair.commission = job
    record_save(repair, by=by, action="taken in")
    return repair


@transaction.atomic
def repair_price(
    repair: Repair,
    *,
    materials: Sequence[MaterialUse],
    steps: Sequence[WorkStep],
    is_free: bool,
    asked: Decimal | None = None,
    by: AbstractBaseUser | None,
) -> RepairPrice:
    """Give a repair its price, by the rate card in use; the one before is revised.

    Raises
    ------
    ValidationError
        There is no rate card, the job is agreed already or over, nothing is written down, or a
        figure cannot be priced.
    """
    job = Commission.objects.select_for_update().get(pk=repair.commission_id)
    if job.state not in Commission.OPEN_TO_QUOTES:
        raise ValidationError(
            _("%(job)s is %(state)s already; its price stays as it was agreed.")
            % {"job": job.code, "state": job.get_state_display()},
            code="agreed",
        )
    rates = RateCard.objects.order_by("-version").first()
    if rates is None:
        raise ValidationError(_("Make a rate card first: hours and tax come from it."))
    if not materials and not steps:
        raise ValidationError(_("Write down at least one line: minutes of work, or material."))
    currency = WorkshopProfile.current().currency
    try:
        priced = job_of_repair(
            rates=rates,
            currency=currency,
            materials=materials,
            steps=steps,
            is_free=is_free,
            parcel=_goes_back_to(job),
        )
        breakdown = repair_priced(priced, is_free=is_free, asked=asked)
    except CostError as error:
        field = "asked" if error.field == "price_per_pair" else None
        raise ValidationError({field: error.text} if field else error.text) from None
    if repair.is_free != is_free:
        repair.is_free = is_free
        record_save(repair, by=by, columns=["is_free"])
    newest = repair.prices.order_by("-version").first()
    price = RepairPrice(
        repair=repair,
        version=1 if newest is None else newest.version + 1,
        job=document_from_job(priced),
        breakdown=document_from_breakdown(breakdown),
        rate_card=rates.version,
        price=breakdown.price,
        currency=currency,
        made_by=by,
    )
    record_save(price, by=by, action="priced")
    if job.state != State.QUOTED:
        before = fields_of(job)
        Commission.objects.filter(pk=job.pk).update(state=State.QUOTED)
        job.refresh_from_db()
        audit_write(job, by=by, action="quoted", before=before)
    return price


def _goes_back_to(job: Commission) -> Parcel | None:
    """Return the destination of a repair's own country; None where no table has a row for it."""
    country, table = country_asked(job), destinations_in_use()
    if table is None or not country:
        return None
    return Parcel(table, "" if country == ANYWHERE_ELSE else country)


@transaction.atomic
def repair_agree(
    repair: Repair,
    *,
    version: int,
    way: str,
    on: datetime.date | None = None,
    note: str = "",
    by: AbstractBaseUser | None,
) -> RepairAnswer:
    """Note that the customer agreed to a repair's newest price, once.

    Raises
    ------
    ValidationError
        Another price took its place, the job is not open, or ``on`` cannot be the day.
    """
    before = fields_of(Commission.objects.get(pk=repair.commission_id))
    moved = Commission.objects.filter(
        pk=repair.commission_id, state__in=Commission.OPEN_TO_QUOTES
    ).update(state=State.ACCEPTED, deposit_pct=WorkshopProfile.current().deposit_pct)
    job = Commission.objects.get(pk=repair.commission_id)
    if not moved:
        raise ValidationError(
            _("%(job)s is %(state)s already.")
            % {"job": job.code, "state": job.get_state_display()},
            code="not_open",
        )
    price = repair.prices.order_by("-version").first()
    if price is None or price.version != version:
        raise ValidationError(_("This price was revised; look at the newest one."), code="revised")
    day = on or timezone.localdate()
    if day > timezone.localdate():
        raise ValidationError({"on": _("That day has not come yet.")})
    if day < timezone.localdate(price.made_at):
        raise ValidationError({"on": _("The price is newer than that; no answer can be older.")})
    answer = RepairAnswer(
        repair=repair, price=price, answered_on=day, way=way, note=note, made_by=by
    )
    record_save(answer, by=by, action="accepted")
    audit_write(job, by=by, action="accepted", before=before)
    return answer


@transaction.atomic
def goods_receive(kept: Kept, *, photo: str | None = None, by: AbstractBaseUser | None) -> Kept:
    """Take a customer's goods into keeping, with a photograph of their condition.

    Raises
    ------
    ValidationError
        A field does not hold, or the day has not come.
    """
    kept.currency = WorkshopProfile.current().currency
    kept.made_by = by
    record_save(kept, by=by, action="received")
    if photo is not None:
        note = _("Condition as it came")
        job_photo_add(kept.commission, sha256=photo, note=note, kept=kept, by=by)
    return kept


@transaction.atomic
def goods_send_back(
    kept: Kept, *, on: datetime.date, note: str = "", by: AbstractBaseUser | None
) -> None:
    """Note that goods in keeping went back, once.

    Raises
    ------
    ValidationError
        They went back already, or before they came.
    """
    if on < kept.received_on:
        raise ValidationError(
            {
                "sent_back_on": _("They came on %(day)s only.")
                % {"day": kept.received_on.isoformat()}
            }
        )
    before = fields_of(kept)
    done = Kept.objects.filter(pk=kept.pk, sent_back_on=None).update(
        sent_back_on=on, sent_back_note=note[:200]
    )
    kept.refresh_from_db()
    if not done:
        raise ValidationError(_("They went back already."), code="sent_back")
    audit_write(kept, by=by, action="sent back", before=before)
