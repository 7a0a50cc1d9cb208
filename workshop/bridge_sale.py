"""How an order is sold, translated: a rate card and a choice at the price station to a job."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from costing.job import Fees, Job, MaterialUse, Postage, Profit, Rounding, Rush, Tax
from costing.labour import Way, WorkDrivers, WorkStepRule, steps_for
from costing.overhead import OverheadRates
from costing.sale import Insurance, PostageRow, TaxOfDestination, postage_to, tax_percent_to
from workshop.bridge import as_written
from workshop.models import DestinationTable, PlaceVersion, RateCard

MM_STITCHED_STEP = Decimal(100)  # the rate card asks minutes for 100 mm of seam or of lasting


def step_rules(rates: RateCard) -> tuple[WorkStepRule, ...]:
    """Return the work steps of a rate card; minutes for 100 mm become minutes for one."""
    rules = []
    for row in rates.steps.all():
        minutes = row.minutes
        if row.per in (row.Per.MM_STITCHED, row.Per.MM_LASTED):
            minutes /= MM_STITCHED_STEP
        rules.append(
            WorkStepRule(
                row.name,
                minutes,
                row.per,
                row.passive,
                way=row.way,
                less_again_percent=as_written(row.less_again_pct),
            )
        )
    return tuple(rules)


@dataclass(frozen=True, slots=True)
class Parcel:
    """Where an order is sent, by which table; without a weight the table says no postage."""

    table: DestinationTable
    country: str
    weight_g: Decimal | None = None
    insured_value: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class SaleChoice:
    """What an order is sold with besides the rate card: each left out as if there were none.

    ``place`` replaces every fee of the rate card; what was typed of postage and tax goes before
    what the table of destinations says. ``typed`` is all of it as it stood in the form.
    """

    is_rush: bool = False
    place: PlaceVersion | None = None
    parcel: Parcel | None = None
    postage_charged: Decimal | None = None
    postage_paid: Decimal | None = None
    batch_pairs: int | None = None
    payments: int | None = None
    tax_percent: Decimal | None = None
    way: Way | None = None
    price_wanted: Decimal | None = None
    profit_wanted: Decimal | None = None
    here_by: datetime.date | None = None  # measures and deposit, for the honest date
    typed: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_sent(self) -> bool:
        """Return whether there is a parcel at all."""
        is_weighed = self.parcel is not None and self.parcel.weight_g is not None
        return bool(self.postage_charged or self.postage_paid or is_weighed)


def sale_document(sale: SaleChoice) -> dict[str, Any]:
    """Return by which place, which table and what else an order is sold, as plain values."""
    document: dict[str, Any] = {"typed": dict(sale.typed)}
    if sale.place is not None:
        document["place"] = {"name": sale.place.place.name, "version": sale.place.version}
    if sale.parcel is not None:
        document["destination"] = {
            "country": sale.parcel.country,
            "table": sale.parcel.table.version,
        }
    return document


def way_of(values: Mapping[str, object], sale: SaleChoice) -> Way:
    """Return the way of joining: the one chosen, else the style's by hand or by machine."""
    if sale.way is not None:
        return sale.way
    return "hand stitch" if values.get("hand_stitched") else "machine"


def job_from_rates(
    *,
    rates: RateCard,
    currency: str,
    pair_count: int,
    materials: tuple[MaterialUse, ...],
    drivers: WorkDrivers,
    way: Way = "machine",
    sale: SaleChoice | None = None,
) -> Job:
    """Return the whole job as costing prices it."""
    sale = sale or SaleChoice()
    fees, more_fees = _fees(rates, sale)
    return Job(
        currency=currency,
        pair_count=pair_count,
        materials=materials,
        steps=steps_for(step_rules(rates), drivers, way=way),
        labour_rate_per_h=as_written(rates.labour_rate_per_hour),
        overhead=OverheadRates(
            as_written(rates.overhead_per_active_hour), as_written(rates.overhead_pct_of_direct)
        ),
        fees=fees,
        more_fees=more_fees,
        tax=Tax(
            Decimal(0) if rates.tax_exempt else as_written(_tax_percent(rates, sale)),
            rates.tax_included,
            registered=not rates.tax_exempt,
            on_postage=not rates.tax_spares_postage,
        ),
        profit=Profit(rates.profit_kind, as_written(rates.profit_pct)),
        round_up_to=rates.round_up_to,
        rounding=Rounding(rates.round_way, as_written(rates.round_ending)),
        least_price=as_written(rates.least_price),
        rush=Rush(as_written(rates.rush_pct), as_written(rates.rush_fixed))
        if sale.is_rush
        else Rush(),
        postage=_postage(rates, sale, currency),
        batch_pairs=sale.batch_pairs,
    )


def _tax_percent(rates: RateCard, sale: SaleChoice) -> Decimal:
    """Return the tax: as typed, else the destination's, else the rate card's."""
    if sale.tax_percent is not None:
        return sale.tax_percent
    if sale.parcel is None:
        return rates.tax_pct
    rows = [TaxOfDestination(row.country, row.pct) for row in sale.parcel.table.taxes.all()]
    return tax_percent_to(sale.parcel.country, rows, rates.tax_pct)


def _postage(rates: RateCard, sale: SaleChoice, currency: str) -> Postage:
    """Return postage and packing: as typed, else by the table of destinations."""
    packing = as_written(rates.packing_cost) if sale.is_sent else Decimal(0)
    parcel, by_table = sale.parcel, Postage()
    if parcel is not None and parcel.weight_g is not None:
        table = parcel.table
        by_table = postage_to(
            parcel.country,
            parcel.weight_g,
            [
                PostageRow(row.country, row.up_to_g, as_written(row.charged), as_written(row.paid))
                for row in table.postage.all()
            ],
            currency=currency,
            insured_value=parcel.insured_value,
            insurance=Insurance(as_written(table.insurance_pct), as_written(table.insurance_fixed)),
        )
    charged, paid = sale.postage_charged, sale.postage_paid
    return Postage(
        by_table.charged if charged is None else charged,
        by_table.paid if paid is None else paid,
        packing,
    )


def _fees(rates: RateCard, sale: SaleChoice) -> tuple[Fees, tuple[Fees, ...]]:
    """Return the fees of the place that was chosen, else those of the rate card."""
    if sale.place is not None:
        found = place_fees(sale.place, sale.payments)
        first = found[0] if found else Fees(Decimal(0), Decimal(0), "price_with_tax")
        return first, found[1:]
    first = Fees(
        as_written(rates.fee_pct),
        as_written(rates.fee_fixed),
        rates.fee_on,
        payments=1 if rates.has_payment_fee else sale.payments or rates.fee_payments,
        on_postage=rates.fee_on_postage,
    )
    return first, _payment_fees(rates, sale)


def place_fees(place: PlaceVersion, payments: int | None = None) -> tuple[Fees, ...]:
    """Return what a place keeps; a fixed sum of each payment falls as often as is paid."""
    return tuple(
        Fees(
            as_written(row.pct),
            as_written(row.fixed),
            row.on,
            payments=(payments or place.payments) if row.each_payment else 1,
            on_postage=row.on_postage,
            name=row.name,
        )
        for row in place.fees.all()
    )


def _payment_fees(rates: RateCard, sale: SaleChoice) -> tuple[Fees, ...]:
    """Return what the payment service keeps: of all that is paid, with each payment."""
    if not rates.has_payment_fee:
        return ()
    return (
        Fees(
            as_written(rates.payment_fee_pct),
            as_written(rates.payment_fee_fixed),
            "price_with_tax",
            payments=sale.payments or rates.fee_payments,
            on_postage=True,
            name=_("payment"),
        ),
    )
