"""Finished pairs: made, reserved, taken to a stall, sold, come back, marked down.

Each step is one guarded update that names the states it may start from, so that of two people who
sell the same pair at the same moment one has sold it and the other is told.
"""

import datetime
from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from costing.money import to_minor_unit
from costing.sold import Sale, sale_at
from costing.stock_cost import share_out
from workshop.bridge import as_written
from workshop.bridge_sale import place_fees
from workshop.models import (
    Article,
    Commission,
    Customer,
    FinishedPair,
    PairStep,
    PlaceOfSale,
    PlaceVersion,
    RateCard,
    Style,
    WorkshopProfile,
)
from workshop.selectors.counting_back import job_counted
from workshop.selectors.work_log import snapshot_parts
from workshop.services.records import audit_write, fields_of, record_save

State = FinishedPair.State
Kind = PairStep.Kind
MOST_AT_ONCE = 50


@transaction.atomic
def pairs_made(
    *,
    name: str,
    count: int,
    cost: Decimal,
    asked: Decimal,
    made_on: datetime.date,
    by: AbstractBaseUser | None,
    article: Article | None = None,
    style: Style | None = None,
) -> list[FinishedPair]:
    """Put pairs on the shelf that were made without an order; an article says their style too."""
    if not 1 <= count <= MOST_AT_ONCE:
        raise ValidationError(
            {"count": _("Write how many pairs, 1 to %(most)d.") % {"most": MOST_AT_ONCE}}
        )
    currency = WorkshopProfile.current().currency
    named = style or (article.style.style if article is not None else None)
    values = {"name": name, "asked": asked, "made_on": made_on, "article": article}
    values["style"] = named.name[:120] if named is not None else ""
    return [pair_put(cost=cost, currency=currency, by=by, **values) for _n in range(count)]


def pair_put(*, by: AbstractBaseUser | None, **values: Any) -> FinishedPair:
    """Put one pair on the shelf, given by its columns; call inside a transaction."""
    pair = FinishedPair(**values)
    record_save(pair, by=by, action="made")
    _note(pair, Kind.MADE, day=pair.made_on, by=by, price=pair.asked)
    return pair


@transaction.atomic
def pairs_from_job(commission: Commission, *, by: AbstractBaseUser | None) -> list[FinishedPair]:
    """Put the pairs of a finished job on the shelf that its customer does not take.

    The job is withdrawn and earns nothing; its work stays in the month it was finished in and in
    what timings teach. Each pair carries its share of what the job really took, postage left out,
    and asks the quoted price of a pair.

    Raises
    ------
    ValidationError
        The job is not finished, or was sent, or no quote of it was accepted.
    """
    before = fields_of(Commission.objects.get(pk=commission.pk))
    counted = job_counted(commission)
    moved = Commission.objects.filter(
        pk=commission.pk, state=Commission.State.FINISHED, quotes__state="accepted"
    ).update(state=Commission.State.WITHDRAWN)
    commission.refresh_from_db()
    if not moved or counted is None:
        raise ValidationError(
            _("%(job)s is %(state)s: only pairs of a finished, accepted job go on the shelf.")
            % {"job": commission.code, "state": commission.get_state_display()},
            code="not_finished",
        )
    audit_write(commission, by=by, action="withdrawn, to the shelf", before=before)
    quote, currency = counted.quote, counted.counted.currency
    whole = sum((counted.counted.sum_of(g) for g in ("material", "labour", "overhead")), Decimal(0))
    costs = share_out(whole, [1] * quote.pair_count, currency)
    asked = to_minor_unit(quote.price / quote.pair_count, currency)
    name = _job_words(quote.pk, counted.style, as_written(quote.foot.foot_length))
    return [
        pair_put(
            name=name,
            commission=commission,
            style=counted.style[:120],
            made_on=timezone.localdate(),
            currency=currency,
            cost=cost,
            asked=asked,
            by=by,
        )
        for cost in costs
    ]


def _job_words(quote_id: int, style: str, foot_mm: Decimal) -> str:
    """Return what a pair is, without a word of whom it was made for."""
    hide = snapshot_parts([quote_id], "hide")[quote_id]["hide"] or {}
    leather = [hide[key] for key in ("leather", "colour") if hide.get(key)]
    size = _("foot %(length)s mm") % {"length": f"{foot_mm:f}"}
    return ", ".join([style, size, *leather])[:160]


def pair_reserve(pair: FinishedPair, *, customer: Customer, by: AbstractBaseUser | None) -> None:
    """Keep a pair for a customer, once, whoever asks first."""
    values = {"state": State.RESERVED, "customer": customer}
    _step(pair, Kind.RESERVED, (State.HERE,), values, by=by)


def pair_release(pair: FinishedPair, *, by: AbstractBaseUser | None) -> None:
    """Keep a pair for nobody any more."""
    values = {"state": State.HERE, "customer": None}
    _step(pair, Kind.RELEASED, (State.RESERVED,), values, by=by)


def pair_take(
    pair: FinishedPair, *, place: PlaceOfSale, day: datetime.date, by: AbstractBaseUser | None
) -> None:
    """Take a pair to a stall."""
    values = {"state": State.AWAY, "place": place}
    _step(pair, Kind.TAKEN, (State.HERE,), values, by=by, day=day, place=place)


def pair_back(pair: FinishedPair, *, day: datetime.date, by: AbstractBaseUser | None) -> None:
    """Bring a pair back from its stall."""
    values = {"state": State.HERE, "place": None}
    _step(pair, Kind.BACK, (State.AWAY,), values, by=by, day=day, place=pair.place)


def pair_mark_down(
    pair: FinishedPair, *, price: Decimal, note: str, by: AbstractBaseUser | None
) -> None:
    """Ask less for a pair that is not sold.

    Raises
    ------
    ValidationError
        The price is not below the one asked, or the pair is sold.
    """
    fresh = FinishedPair.objects.get(pk=pair.pk)
    if price >= fresh.asked and fresh.state != State.SOLD:
        asked = f"{to_minor_unit(fresh.asked, fresh.currency)} {fresh.currency}"
        raise ValidationError(
            {"price": _("It asks %(asked)s now; write less than that.") % {"asked": asked}}
        )
    unsold = (State.HERE, State.RESERVED, State.AWAY)
    _step(pair, Kind.MARKED_DOWN, unsold, {"asked": price}, by=by, price=price, note=note)


def sale_of(
    pair: FinishedPair, *, price: Decimal, place: PlaceOfSale | None, fee: Decimal | None
) -> Sale:
    """Return a sale settled by today's rate card and the place's fees; a typed fee goes before."""
    card = RateCard.objects.order_by("-version").first()
    tax = Decimal(0) if card is None or card.tax_exempt else as_written(card.tax_pct)
    version = None
    if place is not None and fee is None:
        version = PlaceVersion.objects.filter(place=place).order_by("-version").first()
    fees = place_fees(version) if version is not None else ()
    sale = sale_at(price, currency=pair.currency, tax_percent=tax, fees=fees)
    return sale if fee is None else replace(sale, fees=to_minor_unit(fee, pair.currency))


def pair_sell(
    pair: FinishedPair,
    *,
    price: Decimal,
    day: datetime.date,
    place: PlaceOfSale | None = None,
    fee: Decimal | None = None,
    by: AbstractBaseUser | None,
) -> None:
    """Sell a pair, once: for what was paid in all, with what the place of sale keeps of it.

    Without a place it is sold where it is: at its stall, or at the workshop, which keeps nothing.
    """
    place = place or pair.place
    sale = sale_of(pair, price=price, place=place, fee=fee)
    values = {
        "state": State.SOLD,
        "place": place,
        "sold_on": day,
        "sold_price": sale.price,
        "sold_tax": sale.tax,
        "sold_fee": sale.fees,
    }
    unsold = (State.HERE, State.RESERVED, State.AWAY)
    step = {"day": day, "place": place, "price": sale.price, "fee": sale.fees, "tax": sale.tax}
    _step(pair, Kind.SOLD, unsold, values, by=by, **step)


def pair_return(
    pair: FinishedPair,
    *,
    day: datetime.date,
    is_fee_back: bool,
    note: str,
    by: AbstractBaseUser | None,
) -> None:
    """Take a pair back from its buyer, who got the price back; the place may keep its fee."""
    values = {
        "state": State.HERE,
        "place": None,
        "customer": None,
        "sold_on": None,
        "sold_price": None,
        "sold_tax": None,
        "sold_fee": None,
    }
    lost: dict[str, Any] = {} if is_fee_back else {"lost_fees": F("lost_fees") + F("sold_fee")}
    kept = None if is_fee_back else pair.sold_fee
    step = {"day": day, "place": pair.place, "price": pair.sold_price, "fee": kept, "note": note}
    step["tax"] = pair.sold_tax
    _step(pair, Kind.RETURNED, (State.SOLD,), {**values, **lost}, by=by, **step)


@transaction.atomic
def _step(
    pair: FinishedPair,
    kind: str,
    allowed: tuple[str, ...],
    values: dict[str, Any],
    *,
    by: AbstractBaseUser | None,
    **step: Any,
) -> None:
    before = fields_of(pair)
    # Guarded by what the step was decided on as well: a price marked down meanwhile is looked at.
    done = FinishedPair.objects.filter(
        pk=pair.pk, state__in=allowed, asked=pair.asked, sold_price=pair.sold_price
    ).update(**values)
    pair.refresh_from_db()
    if not done:
        raise ValidationError(_refusal(pair), code="not_now")
    _note(pair, kind, by=by, **step)
    audit_write(pair, by=by, action=kind, before=before)


def _note(
    pair: FinishedPair,
    kind: str,
    *,
    by: AbstractBaseUser | None,
    day: datetime.date | None = None,
    **values: Any,
) -> None:
    step = PairStep(pair=pair, kind=kind, done_on=day or timezone.localdate(), **values)
    step.made_by = by
    step.full_clean()
    step.save()


def _refusal(pair: FinishedPair) -> str:
    words = {"pair": pair.code, "state": pair.get_state_display()}
    if pair.state == State.RESERVED and pair.customer is not None:
        words["who"] = pair.customer.code
        return _("%(pair)s is reserved for %(who)s. Look at it again.") % words
    return _("%(pair)s is %(state)s now. Look at it again.") % words
