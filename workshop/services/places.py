"""Places of sale and destinations: each change of a figure is a new version."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from costing.money import to_minor_unit
from workshop.models import (
    DestinationTable,
    DestinationTax,
    PlaceFee,
    PlaceOfSale,
    PlaceVersion,
    PostageLine,
    WorkshopProfile,
)
from workshop.services.records import record_save, refuse_newer

HUNDRED = Decimal(100)


@transaction.atomic
def place_save(
    place: PlaceOfSale,
    version: PlaceVersion,
    fees: Sequence[PlaceFee],
    *,
    by: AbstractBaseUser | None,
    begun_from: int | None = None,
) -> PlaceVersion:
    """Save a place, new or renamed, with a new version of its fees.

    Parameters
    ----------
    place : PlaceOfSale
    version : PlaceVersion
        Unsaved; its place and number are given here.
    fees : sequence of PlaceFee
        Unsaved, in their order; none for a place that keeps nothing.

    Raises
    ------
    ValidationError
        A field does not hold, the fees together take all of a price, or there is a newer version
        than the one begun with; nothing is stored.
    """
    if sum((fee.pct for fee in fees), Decimal(0)) >= HUNDRED:
        raise ValidationError(
            _("The fees together take 100 % of the price or more; nothing would be left."),
            code="fees_take_all",
        )
    _lock()
    newest = _newest(place.versions) if place.pk is not None else 0
    refuse_newer(newest, begun_from)
    record_save(place, by=by)
    version.place, version.version, version.made_by = place, newest + 1, by
    record_save(version, by=by)
    for position, fee in enumerate(fees, 1):
        fee.place_version, fee.position = version, position
        record_save(fee, by=by)
    return version


@transaction.atomic
def place_offer(place: PlaceOfSale, *, is_offered: bool, by: AbstractBaseUser | None) -> None:
    """Offer a place for new quotes again, or not any more; quotes made keep it."""
    place.is_offered = is_offered
    record_save(place, by=by, columns=["is_offered"])


@transaction.atomic
def destinations_save(
    table: DestinationTable,
    postage: Sequence[PostageLine],
    taxes: Sequence[DestinationTax],
    *,
    by: AbstractBaseUser | None,
    begun_from: int | None = None,
) -> DestinationTable:
    """Put a new version of postage and tax by destination in use.

    Raises
    ------
    ValidationError
        A field does not hold, a row stands twice, an amount is finer than the currency is paid
        in, or there is a newer version than the one begun with; nothing is stored.
    """
    _check_once([(line.country, line.up_to_g) for line in postage], _("postage"))
    _check_once([(tax.country,) for tax in taxes], _("tax"))
    currency = WorkshopProfile.current().currency
    for line in postage:
        for amount in (line.charged, line.paid):
            if to_minor_unit(amount, currency) != amount:
                raise ValidationError(
                    _("Postage of %(amount)s is finer than the smallest amount of %(currency)s.")
                    % {"amount": f"{amount.normalize():f}", "currency": currency},
                    code="too_fine",
                )
    _lock()
    newest = _newest(DestinationTable.objects)
    refuse_newer(newest, begun_from)
    table.version, table.made_by = newest + 1, by
    record_save(table, by=by)
    for position, line in enumerate(postage, 1):
        line.table, line.position = table, position
        record_save(line, by=by)
    for position, tax in enumerate(taxes, 1):
        tax.table, tax.position = table, position
        record_save(tax, by=by)
    return table


def _check_once(keys: Sequence[tuple[object, ...]], what: str) -> None:
    for key in keys:
        if keys.count(key) > 1:
            where = str(key[0]) or _("anywhere else")
            raise ValidationError(
                _("%(what)s to %(where)s stands there twice; keep one of the rows.")
                % {"what": what.capitalize(), "where": where},
                code="row_twice",
            )


def _newest(versions: models.Manager[Any]) -> int:
    """Return the newest version's number, 0 for none."""
    return versions.aggregate(newest=Max("version"))["newest"] or 0


def _lock() -> None:
    """Let nobody else make a version meanwhile, so that two do not take the same number."""
    WorkshopProfile.current()
    WorkshopProfile.objects.select_for_update().get(pk=1)
