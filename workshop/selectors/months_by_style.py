"""What a month's jobs and sales come to, style by style."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Count

from costing.counted import MINUTES_PLACES
from costing.job import Job
from costing.money import round_half_up
from workshop.models import Commission, FinishedPair
from workshop.selectors.counting_back import JobCounted, material_booked, minutes_of
from workshop.selectors.ledger import Ledger
from workshop.selectors.pairs_sold import PairSale
from workshop.selectors.run_material import material_by_style
from workshop.selectors.work_log import minutes_planned, plans_for_stock
from workshop.stored_jobs import stored_job

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Earned:
    """What one job, or one sale off the shelf, adds to its style; amounts in one currency."""

    style: str
    currency: str
    job_id: int | None = None
    pairs: int = 0
    sold: int = 0
    active_min: Decimal = ZERO
    material: Decimal = ZERO
    income: Decimal = ZERO
    fees: Decimal = ZERO
    shelf_cost: Decimal = ZERO
    profit: Decimal = ZERO
    is_complete: bool = True


@dataclass(slots=True)
class StyleMonth:
    """What one style came to in a month; one currency each.

    ``sold`` pairs were sold off the shelf, at ``shelf_cost``, in whatever month they were made.
    """

    style: str
    currency: str
    job_ids: set[int] = field(default_factory=set)
    pairs: int = 0
    sold: int = 0
    active_min: Decimal = ZERO
    material: Decimal = ZERO
    income: Decimal = ZERO
    fees: Decimal = ZERO
    shelf_cost: Decimal = ZERO
    profit: Decimal = ZERO
    is_complete: bool = True

    @property
    def jobs(self) -> int:
        """Return how many jobs were finished."""
        return len(self.job_ids)

    def add(self, earned: Earned) -> None:
        """Count a job, or a sale, in."""
        if earned.job_id is not None:
            self.job_ids.add(earned.job_id)
        self.pairs += earned.pairs
        self.sold += earned.sold
        self.active_min += earned.active_min
        self.material += earned.material
        self.income += earned.income
        self.fees += earned.fees
        self.shelf_cost += earned.shelf_cost
        self.profit += earned.profit
        self.is_complete = self.is_complete and earned.is_complete


def summed(rows: Iterable[Earned], *, by_style: bool) -> list[StyleMonth]:
    """Return what rows come to, by style and currency, or by currency alone."""
    found: dict[tuple[str, str], StyleMonth] = {}
    for row in rows:
        key = (row.style if by_style else "", row.currency)
        found.setdefault(key, StyleMonth(*key)).add(row)
    return [found[key] for key in sorted(found)]


def earned_by_job(job: JobCounted) -> Earned:
    """Return what a job adds; one whose pairs went to the shelf earns only when they are sold."""
    return Earned(
        job.style,
        job.counted.currency,
        job.commission.pk,
        pairs=job.quote.pair_count,
        active_min=job.counted.active_min,
        material=job.counted.sum_of("material"),
        income=job.income,
        fees=job.fees,
        profit=job.profit,
        is_complete=job.counted.is_complete,
    )


def earned_by_sale(sale: PairSale) -> Earned:
    """Return what a sale off the shelf, or one taken back, adds."""
    return Earned(
        sale.pair.style,
        sale.pair.currency,
        sold=sale.count,
        income=sale.income,
        fees=sale.fee,
        shelf_cost=sale.cost,
        profit=sale.profit,
    )


@dataclass(frozen=True, slots=True)
class RunMade:
    """A job without a customer that was finished: what it made, style by style."""

    commission: Commission
    rows: tuple[Earned, ...]
    lines: tuple[dict[str, Any], ...]

    @property
    def styles(self) -> str:
        """Return the styles it made."""
        return ", ".join(row.style for row in self.rows)

    @property
    def pairs(self) -> int:
        """Return how many pairs it put on the shelf."""
        return sum(row.pairs for row in self.rows)

    @property
    def active_min(self) -> Decimal:
        """Return the minutes of work in it."""
        return sum((row.active_min for row in self.rows), ZERO)

    @property
    def is_complete(self) -> bool:
        """Return whether every step was timed."""
        return all(row.is_complete for row in self.rows)

    @property
    def material(self) -> Decimal:
        """Return what its material cost: as booked, and as planned where nothing was."""
        return sum((row.material for row in self.rows), ZERO)

    def sum_of(self, group: str) -> Decimal:
        """Return what the pairs' lines of a group come to, as planned when the work began."""
        return sum((lines_of(line, group) for line in self.lines), ZERO)


def lines_of(line: dict[str, Any], group: str) -> Decimal:
    """Return what the pairs of a planned line cost of a group."""
    amounts = (
        Decimal(row[2]) for pair in line["pairs"] for row in pair["lines"] if row[0] == group
    )
    return sum(amounts, ZERO)


def runs_made(commissions: Iterable[Commission], ledger: Ledger) -> list[RunMade]:
    """Return the jobs for stock among finished ones, in their order; not begun ones left out.

    The ledger is worked through for their takings.
    """
    jobs = {job.pk: job for job in commissions if job.is_for_stock}
    if not jobs:
        return []
    plans = plans_for_stock(jobs)
    minutes = minutes_of(jobs)
    bills = {key: [row for line in lines for row in line["bill"]] for key, lines in plans.items()}
    booked = material_booked(bills, ledger)
    counted = FinishedPair.objects.filter(commission__in=jobs).order_by()
    rows = counted.values_list("commission_id", "style").annotate(count=Count("pk"))
    made = {(job, style): count for job, style, count in rows}
    return [
        RunMade(
            jobs[key],
            tuple(
                _by_style(jobs[key], plans[key], minutes.get(key, ({}, {}))[0], booked[key], made)
            ),
            tuple(plans[key]),
        )
        for key in jobs
        if key in plans
    ]


def _by_style(
    commission: Commission,
    lines: list[dict[str, Any]],
    taken: dict[str, Decimal],
    booked: dict[str, Fraction],
    made: dict[tuple[int, str], int],
) -> Iterable[Earned]:
    """Yield a row for each style; minutes and material go to the styles as they were planned.

    Minutes of a step that nobody planned go with the pairs.
    """
    jobs: dict[str, list[Job]] = {}
    for line in lines:
        jobs.setdefault(line["style"]["name"], []).append(stored_job(line["job"]))
    whole = _active(job for of_style in jobs.values() for job in of_style)
    unplanned = sum((taken[name] for name in taken if not whole.get(name)), ZERO)
    currency = next(of_style[0].currency for of_style in jobs.values())
    material = material_by_style(lines, booked, currency)
    pairs_planned = sum(line["pair_count"] for line in lines)
    for style, of_style in jobs.items():
        planned = _active(of_style)
        exact = sum(
            (
                minutes * Fraction(taken.get(name, whole[name])) / whole[name]
                for name, minutes in planned.items()
                if whole[name]
            ),
            Fraction(0),
        )
        pairs = sum(line["pair_count"] for line in lines if line["style"]["name"] == style)
        exact += Fraction(unplanned) * pairs / pairs_planned
        yield Earned(
            style,
            currency,
            commission.pk,
            pairs=made.get((commission.pk, style[:120]), 0),
            active_min=round_half_up(exact, MINUTES_PLACES),
            material=material[style],
            is_complete=set(planned) <= set(taken),
        )


def _active(jobs: Iterable[Job]) -> dict[str, Fraction]:
    planned = minutes_planned(jobs)
    return {name: minutes for (name, passive), minutes in planned.items() if not passive}
