"""A repair's few lines translated to a job that costing prices, by the rate card in use."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from costing.breakdown import Breakdown
from costing.job import Fees, Job, MaterialUse, Postage
from costing.labour import WorkDrivers, WorkStep
from costing.price import price_job, profit_at_price
from workshop.bridge_sale import Parcel, SaleChoice, job_from_rates
from workshop.models import RateCard


def job_of_repair(
    *,
    rates: RateCard,
    currency: str,
    materials: Sequence[MaterialUse],
    steps: Sequence[WorkStep],
    is_free: bool,
    parcel: Parcel | None = None,
) -> Job:
    """Return the job of a repair: its own lines at the rate card's rates, a pair's least price out.

    The tax is that of where it goes back to, where a parcel says so. What is free brings no
    payment, so nobody takes a fee of it.
    """
    none = WorkDrivers(pieces=0, eyelets=0, stitched_mm=Decimal(0), lasted_mm=Decimal(0))
    plain = job_from_rates(
        rates=rates,
        currency=currency,
        pair_count=1,
        materials=tuple(materials),
        drivers=none,
        sale=SaleChoice(parcel=parcel),
    )
    job = replace(plain, steps=tuple(steps), least_price=Decimal(0), postage=Postage())
    if is_free:
        job = replace(job, fees=Fees(Decimal(0), Decimal(0), "price_with_tax"), more_fees=())
    return job


def repair_priced(job: Job, *, is_free: bool, asked: Decimal | None) -> Breakdown:
    """Return what a repair comes to: nothing if it is free, the price typed by hand, or its own.

    Raises
    ------
    costing.errors.CostError
        The typed price is finer than the currency's smallest amount, or fees and tax leave nothing.
    """
    if is_free:
        return profit_at_price(job, Decimal(0))
    return price_job(job) if asked is None else profit_at_price(job, asked)
