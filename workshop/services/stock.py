"""Leather and supplies: hides recorded with their area and cost, and the ledger of supplies.

A balance changes only by a guarded UPDATE whose row count is checked, in the same transaction as
the ledger's line; so two people can never take the same last metre.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, NoReturn

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from costing.leather import DM2_PER_SQUARE_FOOT
from costing.money import round_half_up
from costing.terms import UNIT_COST_PLACES
from patterns.hide import Hide as HideValue
from patterns.hide_area import usable_hide_area_mm2, whole_area_mm2
from workshop.bridge import hide_columns
from workshop.models import (
    Commission,
    Hide,
    LeatherLot,
    ReservedSupply,
    StockBalance,
    StockMove,
    Supply,
)
from workshop.models.stock import THOUSANDTHS
from workshop.services.records import columns_changed, record_save

MM2_PER_DM2 = Fraction(10_000)
COST_DIGITS = 4
LARGEST_QUANTITY = Decimal(1_000_000)


def hide_cost(lot: LeatherLot, area_mm2: Decimal) -> Decimal:
    """Return what a hide of that whole area costs at its lot's price, to four places.

    The whole area is what a seller measures and charges, defects included; common practice, no
    source.
    """
    area_dm2 = Fraction(area_mm2) / MM2_PER_DM2
    price = Fraction(lot.price)
    if lot.price_unit == LeatherLot.PriceUnit.HIDE:
        exact = price
    elif lot.price_unit == LeatherLot.PriceUnit.SQUARE_FOOT:
        exact = price * area_dm2 / DM2_PER_SQUARE_FOOT
    else:
        exact = price * area_dm2
    return round_half_up(exact, COST_DIGITS)


def area_decimal(area_mm2: float) -> Decimal:
    """Return an area as records keep it, to a tenth of a mm²."""
    return round_half_up(Decimal(repr(area_mm2)), 1)


@transaction.atomic
def hide_receive(
    hide: Hide,
    *,
    value: HideValue,
    cost: Decimal | None,
    by: AbstractBaseUser | None,
    loaded: Mapping[str, Any] | None = None,
) -> None:
    """Record a hide, new or changed, with the area and the cost its outline gives it.

    Parameters
    ----------
    hide : Hide
        The record with everything but outline, defects, areas, usable area and cost.
    value : patterns.hide.Hide
        The outline, defects and areas, checked.
    cost : Decimal, optional
        What was paid for this very hide; left out, the lot's price says.
    loaded : mapping, optional
        The hide as `fields_of` gave it when read: only what differs is written (`record_save`).

    Raises
    ------
    patterns.errors.HideError
        The defects leave nothing, or one lies beside the hide.
    django.core.exceptions.ValidationError
        A field does not hold.
    """
    for name, rows in hide_columns(value).items():
        setattr(hide, name, rows)
    hide.area_mm2 = area_decimal(usable_hide_area_mm2(value))
    if cost is None:
        cost = hide_cost(hide.lot, area_decimal(whole_area_mm2(value)))
    hide.cost = cost
    if hide.state != Hide.State.RESERVED:
        hide.reserved_for = None
    if hide.lot.is_offer:
        # A hide of it is here, so it was bought; the maker may still write another day.
        hide.lot.bought_on = timezone.localdate()
        record_save(hide.lot, by=by, action="bought")
    columns = columns_changed(hide, loaded) if loaded else None
    record_save(hide, by=by, columns=columns, loaded=loaded)


@transaction.atomic
def supply_save(
    supply: Supply,
    *,
    by: AbstractBaseUser | None,
    columns: Sequence[str] | None = None,
    loaded: Mapping[str, Any] | None = None,
) -> None:
    """Save a supply; the usual one of its kind un-makes the one before it.

    The first of a kind is the usual one. The unit stays once something was booked in it.
    `columns` and `loaded` are those of `record_save`.

    Raises
    ------
    django.core.exceptions.ValidationError
        A field does not hold, or the unit of a supply with a ledger was changed.
    """
    is_new = supply.pk is None
    if not is_new:
        _check_unit_kept(supply)
    others = list(
        Supply.objects.select_for_update()
        .filter(kind=supply.kind, is_usual=True)
        .exclude(pk=supply.pk)
    )
    if is_new and not others:
        supply.is_usual = True
    if supply.is_usual:
        for other in others:
            other.is_usual = False
            record_save(other, by=by)
    record_save(supply, by=by, columns=columns, loaded=loaded)
    StockBalance.objects.get_or_create(supply=supply)


def _check_unit_kept(supply: Supply) -> None:
    before = Supply.objects.get(pk=supply.pk)
    if before.unit != supply.unit and supply.moves.exists():
        raise ValidationError(
            {
                "unit": _("%(name)s has a ledger in %(unit)s; make a new supply for another unit.")
                % {"name": before.name, "unit": before.get_unit_display()}
            },
            code="unit_in_use",
        )


@dataclass(frozen=True, slots=True)
class _Change:
    """Thousandths on hand and reserved; what is free follows."""

    on_hand: int = 0
    reserved: int = 0

    @property
    def free(self) -> int:
        return self.on_hand - self.reserved


def stock_buy(
    supply: Supply,
    *,
    quantity: Decimal,
    reason: str,
    by: AbstractBaseUser | None,
    paid: Decimal | None = None,
) -> StockMove:
    """Book what was bought, in the supply's unit, and what was paid for it in all.

    Left out, what was paid follows from the supply's present price of a pack.
    """
    amount = _thousandths(quantity, above_zero=True)
    return _move(supply, StockMove.Kind.BOUGHT, _Change(on_hand=amount), reason, by, cost=paid)


def stock_use(
    supply: Supply,
    *,
    quantity: Decimal,
    reason: str,
    by: AbstractBaseUser | None,
    from_reserved: bool = False,
) -> StockMove:
    """Book what was used up: of the free stock, or of what was reserved for it.

    Raises
    ------
    django.core.exceptions.ValidationError
        More than there is; the message gives both figures, and nothing is booked.
    """
    amount = _thousandths(quantity, above_zero=True)
    change = _Change(on_hand=-amount, reserved=-amount if from_reserved else 0)
    return _move(supply, StockMove.Kind.USED, change, reason, by)


@transaction.atomic
def stock_use_for(
    supply: Supply, *, commission: Commission, quantity: Decimal, by: AbstractBaseUser | None
) -> StockMove:
    """Book what a job really used; below zero for what goes back to the shelf.

    What is reserved for the job is taken first, then what is free.

    Raises
    ------
    django.core.exceptions.ValidationError
        More than is reserved for it and free, or more goes back than the job had taken; nothing
        is booked.
    """
    amount = _thousandths(quantity.copy_abs(), above_zero=True)
    # Locked: two at once must not put the same metre back, nor take what is reserved twice.
    StockBalance.objects.get_or_create(supply=supply)
    StockBalance.objects.select_for_update().get(supply=supply)
    if quantity < 0:
        amount = -amount
        moves = StockMove.objects.filter(supply=supply, commission=commission)
        taken = -sum(moves.values_list("on_hand_change", flat=True))
        if -amount > taken:
            _refuse(
                _("%(wanted)s %(unit)s cannot go back: the job has taken %(there)s %(unit)s."),
                supply,
                wanted=-amount,
                there=taken,
            )
    held = _take_held(supply, commission, amount)
    return _move(
        supply,
        StockMove.Kind.USED,
        _Change(on_hand=-amount, reserved=-held),
        _("for %(job)s") % {"job": commission.code},
        by,
        commission=commission,
    )


def _take_held(supply: Supply, commission: Commission, amount: int) -> int:
    """Note on a job's reservation what it took or gave back; return how much of it was reserved."""
    line = ReservedSupply.objects.filter(reservation__commission=commission, supply=supply).first()
    if line is None:
        return 0
    held = min(line.held, max(0, amount))
    ReservedSupply.objects.filter(pk=line.pk).update(
        held=F("held") - held, taken=F("taken") + amount
    )
    return held


def stock_reserve(
    supply: Supply, *, quantity: Decimal, reason: str, by: AbstractBaseUser | None
) -> StockMove:
    """Keep free stock for a job."""
    amount = _thousandths(quantity, above_zero=True)
    return _move(supply, StockMove.Kind.RESERVED, _Change(reserved=amount), reason, by)


def stock_release(
    supply: Supply, *, quantity: Decimal, reason: str, by: AbstractBaseUser | None
) -> StockMove:
    """Make reserved stock free again."""
    amount = _thousandths(quantity, above_zero=True)
    return _move(supply, StockMove.Kind.RELEASED, _Change(reserved=-amount), reason, by)


@transaction.atomic
def stock_count(
    supply: Supply, *, counted: Decimal, reason: str, by: AbstractBaseUser | None
) -> StockMove:
    """Book what was counted on the shelf; the ledger takes the difference.

    Raises
    ------
    django.core.exceptions.ValidationError
        Less was counted than is reserved; release some of it first.
    """
    amount = _thousandths(counted, above_zero=False)
    StockBalance.objects.get_or_create(supply=supply)
    # Locked, as the difference is worked out from what stands there now.
    balance = StockBalance.objects.select_for_update().get(supply=supply)
    if amount < balance.reserved:
        _refuse(
            _("%(wanted)s %(unit)s counted, but %(there)s %(unit)s are reserved; release some."),
            supply,
            wanted=amount,
            there=balance.reserved,
        )
    change = _Change(on_hand=amount - balance.on_hand)
    return _move(supply, StockMove.Kind.COUNTED, change, reason, by)


@transaction.atomic
def _move(
    supply: Supply,
    kind: str,
    change: _Change,
    reason: str,
    by: AbstractBaseUser | None,
    *,
    cost: Decimal | None = None,
    commission: Commission | None = None,
) -> StockMove:
    StockBalance.objects.get_or_create(supply=supply)
    changed = StockBalance.objects.filter(
        supply=supply,
        on_hand__gte=-change.on_hand,
        reserved__gte=-change.reserved,
        free__gte=-change.free,
    ).update(
        on_hand=F("on_hand") + change.on_hand,
        reserved=F("reserved") + change.reserved,
        free=F("free") + change.free,
    )
    if changed != 1:
        _refuse_shortage(supply, change)
    move = StockMove(
        supply=supply,
        kind=kind,
        on_hand_change=change.on_hand,
        reserved_change=change.reserved,
        cost=_cost_of_goods(supply, change.on_hand, cost) if commission is None else None,
        commission=commission,
        reason=reason,
        made_by=by,
    )
    record_save(move, by=by, action=str(StockMove.Kind(kind).value))
    return move


def _cost_of_goods(supply: Supply, came_in: int, paid: Decimal | None) -> Decimal | None:
    """Return what goods that came in cost: as paid, else by the present price of a pack."""
    if came_in <= 0:
        return None
    if paid is not None:
        return paid
    exact = Fraction(supply.pack_price) / Fraction(supply.pack_quantity)
    return round_half_up(exact * came_in / THOUSANDTHS, UNIT_COST_PLACES)


def _refuse_shortage(supply: Supply, change: _Change) -> NoReturn:
    balance = StockBalance.objects.get(supply=supply)
    if balance.reserved < -change.reserved:
        _refuse(
            _("%(wanted)s %(unit)s asked for, but only %(there)s %(unit)s are reserved."),
            supply,
            wanted=-change.reserved,
            there=balance.reserved,
        )
    if change.on_hand < change.reserved < 0:
        _refuse(
            _("%(wanted)s %(unit)s asked for, but only %(there)s %(unit)s are free for this job."),
            supply,
            wanted=-change.on_hand,
            there=balance.free - change.reserved,
        )
    _refuse(
        _("%(wanted)s %(unit)s asked for, but only %(there)s %(unit)s are free."),
        supply,
        wanted=-change.free,
        there=balance.free,
    )


def _refuse(sentence: str, supply: Supply, *, wanted: int, there: int) -> NoReturn:
    words = {
        "wanted": _figure(wanted),
        "there": _figure(there),
        "unit": supply.get_unit_display(),
    }
    raise ValidationError({"quantity": [ValidationError(sentence % words, code="stock_short")]})


def _figure(thousandths: int) -> str:
    return f"{Decimal(thousandths) / THOUSANDTHS:f}"


def _thousandths(quantity: Decimal, *, above_zero: bool) -> int:
    """Return a quantity as whole thousandths, or refuse it."""
    if not (quantity.is_finite() and 0 <= quantity <= LARGEST_QUANTITY):
        raise ValidationError(
            {"quantity": _("Write a quantity from 0 to %(most)s.") % {"most": LARGEST_QUANTITY}},
            code="quantity_range",
        )
    if above_zero and quantity == 0:
        raise ValidationError({"quantity": _("Write a quantity above 0.")}, code="quantity_range")
    exact = quantity * THOUSANDTHS
    if exact != int(exact):
        raise ValidationError(
            {"quantity": _("Write at most three figures after the point.")}, code="quantity_fine"
        )
    return int(exact)
