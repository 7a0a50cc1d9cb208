"""Jobs counted back: what each was estimated at, what it took, and what it earned."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from costing.counted import CountedBack, count_back
from costing.job import Job
from costing.job_file import breakdown_from_document
from workshop.models import (
    Commission,
    Cutting,
    Quote,
    RepairAnswer,
    RepairPrice,
    StockMove,
    Supply,
    WorkLog,
)
from workshop.selectors.ledger import Ledger, ledger_of
from workshop.selectors.payments import came_of, parcels_paid, received_of
from workshop.selectors.work_log import snapshot_parts
from workshop.stored_jobs import stored_job
from workshop.supply_lines import LINES_OF_KIND, UPPER


@dataclass(frozen=True, slots=True)
class JobCounted:
    """A job with its accepted quote, counted back.

    ``open_hides`` were cut for it without it being decided yet what is kept of them: they count
    whole until then.
    """

    commission: Commission
    quote: Quote | RepairPrice
    style: str
    job: Job
    rate_card: int
    counted: CountedBack
    open_hides: tuple[str, ...]

    @property
    def is_to_shelf(self) -> bool:
        """Return whether its pairs went to the shelf, so that it earned nothing itself."""
        return (
            self.commission.state == Commission.State.WITHDRAWN
            and self.commission.finished_at is not None
        )

    @property
    def price(self) -> Decimal:
        """Return the price that was earned, tax and all."""
        return Decimal(0) if self.is_to_shelf else self.counted.price

    @property
    def tax(self) -> Decimal:
        """Return the tax in that price."""
        return Decimal(0) if self.is_to_shelf else self.counted.tax

    @property
    def income(self) -> Decimal:
        """Return the price without its tax."""
        return self.price - self.tax

    @property
    def fees(self) -> Decimal:
        """Return what was kept of the price."""
        return Decimal(0) if self.is_to_shelf else self.counted.fees

    @property
    def profit(self) -> Decimal:
        """Return what it earned; pairs on the shelf carry its cost until they are sold."""
        return Decimal(0) if self.is_to_shelf else self.counted.profit


def job_counted(commission: Commission) -> JobCounted | None:
    """Return one job counted back; None while no price of it is accepted."""
    used = commission.stock_moves.values_list("supply_id", flat=True).distinct()
    ledger = ledger_of(supplies=list(used), jobs=[commission.pk])
    return jobs_counted([commission], ledger).get(commission.pk)


def jobs_counted(commissions: Iterable[Commission], ledger: Ledger) -> dict[int, JobCounted]:
    """Return jobs counted back by their ids; those of which no price was accepted are left out.

    The number of queries does not grow with the number of jobs.
    """
    jobs = {commission.pk: commission for commission in commissions}
    taken = minutes_of(jobs)
    moves = _moves_of(jobs)
    cut = _cuttings_of(jobs)
    received, parcels = received_of(jobs), parcels_paid(jobs)
    counted = {}
    for key, (quote, parts) in {**_repairs_behind(jobs), **_quotes_behind(jobs)}.items():
        job = stored_job(parts["job"])
        minutes, waiting_min = taken.get(key, ({}, {}))
        material = _supplies_cost(parts["bill"], moves.get(key, []), ledger.costs)
        leather, open_hides = _leather_cost(parts["bill"], cut.get(key, []))
        breakdown = breakdown_from_document(parts["breakdown"])
        counted[key] = JobCounted(
            commission=jobs[key],
            quote=quote,
            style=str(parts["style"]["name"]),
            job=job,
            rate_card=int(parts["rate_card"]),
            counted=count_back(
                job,
                breakdown,
                minutes=minutes,
                waiting_min=waiting_min,
                material={**material, **leather},
                came=came_of(breakdown, received.get(key), parcels.get(key)),
            ),
            open_hides=open_hides,
        )
    return counted


Behind = dict[int, tuple[Quote | RepairPrice, dict[str, Any]]]


def _quotes_behind(jobs: Iterable[int]) -> Behind:
    """Return the accepted quotes of jobs with the parts of their snapshots, by the jobs' ids."""
    quotes = Quote.objects.filter(commission__in=list(jobs), state=Quote.State.ACCEPTED)
    found = {quote.pk: quote for quote in quotes.defer(*Quote.LARGE)}
    parts = snapshot_parts(found, "job", "breakdown", "bill", "style", "rate_card")
    return {quote.commission_id: (quote, parts[key]) for key, quote in found.items()}


def _repairs_behind(jobs: Iterable[int]) -> Behind:
    """Return the prices repairs were agreed at, in the same parts; what is free costs us."""
    answers = RepairAnswer.objects.filter(repair__commission__in=list(jobs))
    return {
        answer.repair.commission_id: (
            answer.price,
            {
                "job": answer.price.job,
                "breakdown": answer.price.breakdown,
                "bill": [],
                "style": {"name": answer.repair.get_kind_display()},
                "rate_card": answer.price.rate_card,
            },
        )
        for answer in answers.select_related("repair", "price__repair__commission")
    }


Minutes = dict[str, Decimal]


def minutes_of(jobs: Iterable[int]) -> dict[int, tuple[Minutes, Minutes]]:
    """Return the minutes of work and of waiting by step, for each job that has any."""
    found: dict[int, tuple[Minutes, Minutes]] = {}
    rows = WorkLog.objects.filter(commission__in=list(jobs), minutes__isnull=False)
    for key, step, passive, minutes in rows.values_list(
        "commission_id", "step", "passive", "minutes"
    ):
        of_job = found.setdefault(key, ({}, {}))[1 if passive else 0]
        of_job[step] = of_job.get(step, Decimal(0)) + minutes
    return found


Moves = list[tuple[int, Supply]]  # ids, and of what


def _moves_of(jobs: Iterable[int]) -> dict[int, Moves]:
    moves = StockMove.objects.filter(commission__in=list(jobs)).order_by("id")
    rows = list(moves.values_list("id", "supply_id", "commission_id"))
    supplies = Supply.objects.in_bulk({supply for _key, supply, _job in rows})
    found: dict[int, Moves] = {}
    for key, supply, job in rows:
        found.setdefault(job, []).append((key, supplies[supply]))
    return found


def _cuttings_of(jobs: Iterable[int]) -> dict[int, list[Cutting]]:
    cuttings = Cutting.objects.filter(commission__in=list(jobs)).defer("instance", "layout")
    hides = cuttings.select_related("hide").defer(
        "instance", "layout", "hide__outline", "hide__defects", "hide__areas"
    )
    found: dict[int, list[Cutting]] = {}
    for cutting in hides.order_by("id"):
        found.setdefault(cutting.commission_id or 0, []).append(cutting)
    return found


def material_booked(
    bills: Mapping[int, list[dict[str, Any]]], ledger: Ledger
) -> dict[int, dict[str, Fraction]]:
    """Return what was booked for jobs by the name of each bill's line, all leather under `UPPER`.

    The number of queries does not grow with the number of jobs.
    """
    moves, cut = _moves_of(bills), _cuttings_of(bills)
    booked = {}
    for key, bill in bills.items():
        leather, _undecided = _leather_cost([], cut.get(key, []))
        booked[key] = _supplies_cost(bill, moves.get(key, []), ledger.costs) | leather
    return booked


def _supplies_cost(
    bill: list[dict[str, Any]], moves: Moves, costs: Mapping[int, Fraction]
) -> dict[str, Fraction]:
    """Return what the supplies booked for a job cost, by the line of the bill each belongs to."""
    found: dict[str, Fraction] = {}
    for key, supply in moves:
        line = line_of(bill, supply)
        found[line] = found.get(line, Fraction(0)) + costs[key]
    return found


def line_of(bill: list[dict[str, Any]], supply: Supply) -> str:
    """Return the name of the line of a bill that a supply belongs to, else its own name."""
    if any(line["name"] == supply.name for line in bill):
        return supply.name
    keys = LINES_OF_KIND.get(supply.kind, ())
    return next((str(line["name"]) for line in bill if line["key"] in keys), supply.name)


def _leather_cost(
    bill: list[dict[str, Any]], cuttings: list[Cutting]
) -> tuple[dict[str, Fraction], tuple[str, ...]]:
    """Return what the hides cut for a job cost it, and the hides not decided on yet."""
    if not cuttings:
        return {}, ()
    cost = sum(
        (
            Fraction(cutting.hide.cost if cutting.used_cost is None else cutting.used_cost)
            for cutting in cuttings
        ),
        Fraction(0),
    )
    name = next((str(line["name"]) for line in bill if line["key"] == UPPER), UPPER)
    undecided = tuple(cutting.hide.code for cutting in cuttings if cutting.used_cost is None)
    return {name: cost}, undecided
