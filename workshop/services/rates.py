"""Rate cards: each change of a rate is a new version, and quotes keep the one they had."""

from collections.abc import Iterable
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction

from costing.errors import CostError
from costing.labour import WorkDrivers
from costing.price import price_job
from workshop.bridge_sale import job_from_rates
from workshop.forms.rates import first_steps
from workshop.models import RateCard, WorkshopProfile, WorkStepRow
from workshop.services.records import record_save, refuse_newer

# The smallest job there is: it shows whether a card's rates leave anything to pay cost with.
SMALLEST_JOB = WorkDrivers(pieces=1, eyelets=1, stitched_mm=Decimal(100), lasted_mm=Decimal(100))
FIELD_OF_JOB = {
    "labour_rate_per_hour": "labour_rate_per_hour",
    "overhead.per_active_hour": "overhead_per_active_hour",
    "overhead.pct_of_direct": "overhead_pct_of_direct",
    "fees.pct": "fee_pct",
    "fees.fixed": "fee_fixed",
    "tax.pct": "tax_pct",
    "profit.pct": "profit_pct",
    "round_up_to": "round_up_to",
    "round_ending": "round_ending",
    "least_price": "least_price",
    "rush.fixed": "rush_fixed",
    "postage.packing": "packing_cost",
}


def first_step_rows() -> list[WorkStepRow]:
    """Return the work steps of a first rate card, unsaved."""
    return [
        WorkStepRow(
            name=step["name"],
            minutes=Decimal(step["minutes"]),
            per=step["per"],
            passive=step.get("waiting", False),
            way=step.get("way", ""),
        )
        for step in first_steps()
    ]


@transaction.atomic
def rate_card_make(
    card: RateCard,
    steps: Iterable[WorkStepRow],
    *,
    by: AbstractBaseUser | None,
    begun_from: int | None = None,
) -> RateCard:
    """Store a new version of the rate card with its work steps.

    Parameters
    ----------
    card : RateCard
        Unsaved; its version number is given here.
    steps : iterable of WorkStepRow
        Unsaved, in the order of the work.
    by : user or None
        Whose change it is.
    begun_from : int, optional
        The version its maker began with, 0 for none.

    Raises
    ------
    django.core.exceptions.ValidationError
        A figure does not hold, the rates leave nothing of a price, or there is a newer version
        than the one begun with; nothing is stored.
    """
    currency = WorkshopProfile.current().currency
    # Held until the card is stored, so that two at once do not take the same number.
    WorkshopProfile.objects.select_for_update().get(pk=1)
    before = RateCard.objects.order_by("-version").first()
    newest = before.version if before is not None else 0
    refuse_newer(newest, begun_from)
    card.version = newest + 1
    card.made_by = by
    record_save(card, by=by)
    kept = _timings_kept(before)
    for position, step in enumerate(steps, 1):
        step.rate_card, step.position = card, position
        step.timings_in = step.timings_in or kept.get(_figure_of(step), 0)
        record_save(step, by=by)
    _check_prices(card, currency)
    return card


def _timings_kept(card: RateCard | None) -> dict[tuple[object, ...], int]:
    """Return how many timings are in each step's minutes; minutes typed anew begin without."""
    if card is None:
        return {}
    return {_figure_of(step): step.timings_in for step in card.steps.all()}


def _figure_of(step: WorkStepRow) -> tuple[object, ...]:
    return (step.name, step.per, step.way, step.minutes)


def _check_prices(card: RateCard, currency: str) -> None:
    try:
        price_job(
            job_from_rates(
                rates=card, currency=currency, pair_count=1, materials=(), drivers=SMALLEST_JOB
            )
        )
    except CostError as error:
        field = FIELD_OF_JOB.get(error.field, "__all__")
        raise ValidationError({field: [ValidationError(str(error), code=error.code)]}) from None
