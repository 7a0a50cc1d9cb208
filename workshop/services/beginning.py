"""Setting up a workshop in one go: what the short way in asked, stored all together."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils.translation import gettext as _

from patterns.hide import Hide as HideValue
from patterns.hide_area import rectangle_ring
from patterns.style import load_style
from workshop.models import (
    Hide,
    LeatherLot,
    RateCard,
    Style,
    StyleVersion,
    Supply,
    WorkshopProfile,
)
from workshop.services.rates import first_step_rows, rate_card_make
from workshop.services.records import record_save
from workshop.services.stock import hide_receive, supply_save
from workshop.services.styles import style_make


@dataclass(frozen=True, slots=True)
class FirstLeather:
    """A piece of leather by its two lengths and what was paid for it."""

    name: str
    colour: str
    thickness_mm: Decimal
    length_mm: Decimal
    width_mm: Decimal
    paid: Decimal


def still_missing() -> frozenset[str]:
    """Return what a price needs and the workshop has none of yet."""
    there = {
        "rates": RateCard.objects.exists(),
        "styles": StyleVersion.objects.filter(style__is_offered=True).exists(),
        "leather": Hide.objects.exists() or LeatherLot.objects.exists(),
        "supplies": Supply.objects.exists(),
    }
    return frozenset(name for name, is_there in there.items() if not is_there)


@transaction.atomic
def workshop_begin(
    profile: WorkshopProfile,
    *,
    card: RateCard | None = None,
    styles: Iterable[str] = (),
    leather: FirstLeather | None = None,
    supplies: Sequence[Supply] = (),
    by: AbstractBaseUser | None,
) -> None:
    """Store what a workshop begins with; all of it or nothing.

    Parameters
    ----------
    profile : WorkshopProfile
        With the name and the currency as they were answered.
    card : RateCard, optional
        Unsaved, with the figures that were asked; it gets the work steps of a first card.
    styles : iterable of str
        Patterns to offer by their file's name.
    leather : FirstLeather, optional
        A piece that lies on the shelf.
    supplies : sequence of Supply
        Unsaved; none of them is on the shelf yet.

    Raises
    ------
    django.core.exceptions.ValidationError
        A figure does not hold; nothing is stored.
    patterns.errors.StyleError
        There is no such pattern.
    """
    record_save(profile, by=by, columns=("name", "currency", "paper"))
    if card is not None:
        card.reason = _("first rate card")
        rate_card_make(card, first_step_rows(), by=by)
    for name in styles:
        style_make(Style(name=load_style(name).label, file_name=name), by=by)
    if leather is not None:
        _leather_receive(leather, by=by)
    for supply in supplies:
        supply_save(supply, by=by)


def _leather_receive(leather: FirstLeather, *, by: AbstractBaseUser | None) -> None:
    lot = LeatherLot(
        name=leather.name,
        colour=leather.colour,
        thickness_mm=leather.thickness_mm,
        price=leather.paid,
        price_unit=LeatherLot.PriceUnit.HIDE,
    )
    record_save(lot, by=by)
    ring = rectangle_ring(0.0, 0.0, float(leather.length_mm), float(leather.width_mm))
    hide = Hide(lot=lot, thickness_mm=leather.thickness_mm)
    hide_receive(hide, value=HideValue("first", ring), cost=leather.paid, by=by)
