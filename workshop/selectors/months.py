"""A month of the workshop: hours, material, income and profit by style, and the stock on a day."""

import calendar
import datetime
import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from django.utils import timezone

from costing.money import to_minor_unit
from workshop.models import (
    Commission,
    Cutting,
    FinishedPair,
    Hide,
    StockMove,
    Supply,
    WorkLog,
    WorkshopProfile,
)
from workshop.models.stock import THOUSANDTHS
from workshop.selectors.counting_back import JobCounted, jobs_counted
from workshop.selectors.ledger import Ledger, end_of, ledger_of
from workshop.selectors.months_by_style import (
    RunMade,
    StyleMonth,
    earned_by_job,
    earned_by_sale,
    runs_made,
    summed,
)
from workshop.selectors.pairs_sold import PairSale, pair_sales, pairs_on
from workshop.selectors.stock_value import SupplyWorth, hides_on, supplies_worth

MONTH = re.compile(r"(20\d\d)-(0[1-9]|1[0-2])", re.ASCII)


@dataclass(frozen=True, slots=True)
class Span:
    """A month: its first and its last day."""

    first: datetime.date
    last: datetime.date

    @property
    def key(self) -> str:
        """Return the month as addresses name it, such as 2026-11."""
        return f"{self.first:%Y-%m}"

    @property
    def before(self) -> str:
        """Return the month before it."""
        return f"{self.first - datetime.timedelta(days=1):%Y-%m}"

    @property
    def after(self) -> str:
        """Return the month after it; empty where it has not begun yet."""
        following = self.last + datetime.timedelta(days=1)
        return f"{following:%Y-%m}" if following <= timezone.localdate() else ""


def month_named(text: str) -> Span:
    """Return the month of a text such as 2026-11, this month of any other."""
    found = MONTH.fullmatch(text)
    today = timezone.localdate()
    year, month = (int(found[1]), int(found[2])) if found else (today.year, today.month)
    days = calendar.monthrange(year, month)[1]
    return Span(datetime.date(year, month, 1), datetime.date(year, month, days))


@dataclass(slots=True)
class PersonMonth:
    """The minutes one person wrote down in a month; waiting apart."""

    name: str
    active_min: Decimal = Decimal(0)
    passive_min: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class MaterialUsed:
    """One taking of material: on which day, of what, for which job, and what it cost."""

    day: datetime.date
    code: str
    name: str
    unit: str
    quantity: Decimal
    cost: Fraction
    job: str


@dataclass(slots=True)
class MaterialMonth:
    """All that was used of one supply, or of the hides, in a month."""

    name: str
    unit: str
    quantity: Decimal
    cost: Fraction


@dataclass(frozen=True, slots=True)
class StockOnDay:
    """The stock at the end of a day; amounts are sums of the lines as shown."""

    day: datetime.date
    currency: str
    supplies: list[SupplyWorth]
    hides: list[Hide]
    pairs: list[FinishedPair]

    @property
    def supplies_value(self) -> Decimal:
        """Return what the supplies are worth at what they cost."""
        rows = (to_minor_unit(row.value, self.currency) for row in self.supplies)
        return sum(rows, Decimal(0))

    @property
    def hides_value(self) -> Decimal:
        """Return what the hides are worth, each at its own cost."""
        rows = (to_minor_unit(hide.cost, self.currency) for hide in self.hides)
        return sum(rows, Decimal(0))

    @property
    def pairs_value(self) -> Decimal:
        """Return what the finished pairs are worth, each at what it cost."""
        rows = (to_minor_unit(pair.cost, self.currency) for pair in self.pairs)
        return sum(rows, Decimal(0))

    @property
    def value(self) -> Decimal:
        """Return what the stock is worth."""
        return self.supplies_value + self.hides_value + self.pairs_value


@dataclass(slots=True)
class Month:
    """A month's report."""

    span: Span
    currency: str
    jobs: list[JobCounted]
    runs: list[RunMade]
    sales: list[PairSale]
    uncounted: list[Commission]
    styles: list[StyleMonth]
    totals: list[StyleMonth]
    people: list[PersonMonth]
    used: list[MaterialUsed]
    material: list[MaterialMonth]
    stock: StockOnDay

    @property
    def used_cost(self) -> Decimal:
        """Return what all material used cost, the sum of the lines as shown."""
        rows = (to_minor_unit(row.cost, self.currency) for row in self.material)
        return sum(rows, Decimal(0))


def month_report(span: Span, *, stock_day: datetime.date | None = None) -> Month:
    """Return a month's report; jobs belong to the month in which they were finished.

    Pairs made for the shelf count with their hours and material where they were made, and earn
    where they are sold.
    The stock is that at the end of ``stock_day``, the month's last day if left out.
    """
    finished = Commission.objects.filter(
        finished_at__gte=end_of(span.first - datetime.timedelta(days=1)),
        finished_at__lt=end_of(span.last),
    )
    commissions = list(finished.select_related("customer", "doll").order_by("finished_at", "id"))
    # The ledger is worked through once for all of it.
    ledger = ledger_of(
        jobs=[job.pk for job in commissions],
        days=(span.first, span.last),
        worth_on=stock_day or span.last,
    )
    counted = jobs_counted(commissions, ledger)
    jobs = [counted[job.pk] for job in commissions if job.pk in counted]
    runs = runs_made(commissions, ledger)
    sales = pair_sales(span.first, span.last)
    earned = [
        *(earned_by_job(job) for job in jobs),
        *(row for run in runs for row in run.rows),
        *(earned_by_sale(sale) for sale in sales),
    ]
    known = {run.commission.pk for run in runs} | set(counted)
    used = material_used(span, ledger)
    return Month(
        span=span,
        currency=WorkshopProfile.current().currency,
        jobs=jobs,
        runs=runs,
        sales=sales,
        uncounted=[job for job in commissions if job.pk not in known],
        styles=summed(earned, by_style=True),
        totals=summed(earned, by_style=False),
        people=_people(span),
        used=used,
        material=_material(used),
        stock=_stock(stock_day or span.last, ledger),
    )


def work_of(span: Span) -> list[WorkLog]:
    """Return all stretches of a month in their order, those that still run left out."""
    rows = WorkLog.objects.filter(
        worked_on__gte=span.first, worked_on__lte=span.last, minutes__isnull=False
    )
    return list(rows.select_related("commission", "made_by").order_by("worked_on", "id"))


def _people(span: Span) -> list[PersonMonth]:
    people: dict[str, PersonMonth] = {}
    for row in work_of(span):
        name = row.made_by.get_username() if row.made_by is not None else "–"
        person = people.setdefault(name, PersonMonth(name))
        assert row.minutes is not None
        if row.passive:
            person.passive_min += row.minutes
        else:
            person.active_min += row.minutes
    return [people[name] for name in sorted(people)]


def material_used(span: Span, ledger: Ledger) -> list[MaterialUsed]:
    """Return every taking of supplies in a month, and the hides cut in it, in their order."""
    since, until = end_of(span.first - datetime.timedelta(days=1)), end_of(span.last)
    moves = StockMove.objects.filter(
        kind=StockMove.Kind.USED, made_at__gte=since, made_at__lt=until
    )
    # Many thousand of them, of few supplies: plain values, and each supply once.
    supplies = Supply.objects.in_bulk()
    columns = ("id", "made_at", "supply_id", "on_hand_change", "commission__number")
    rows = [
        MaterialUsed(
            timezone.localdate(made_at),
            supplies[supply].code,
            supplies[supply].name,
            supplies[supply].unit,
            Decimal(-change) / THOUSANDTHS,
            ledger.costs[key],
            "" if job is None else Commission(number=job).code,
        )
        for key, made_at, supply, change, job in moves.order_by("id").values_list(*columns)
    ]
    cuttings = Cutting.objects.filter(made_at__gte=since, made_at__lt=until)
    whole = cuttings.select_related("hide__lot", "commission").defer(
        "instance", "layout", "hide__outline", "hide__defects", "hide__areas"
    )
    rows += [
        MaterialUsed(
            timezone.localdate(cutting.made_at),
            cutting.hide.code,
            f"{cutting.hide.lot.name}, {cutting.hide.lot.colour}",
            Supply.Unit.PIECE,
            Decimal(1),
            Fraction(cutting.hide.cost if cutting.used_cost is None else cutting.used_cost),
            cutting.commission.code if cutting.commission is not None else "",
        )
        for cutting in whole.order_by("id")
    ]
    return sorted(rows, key=lambda row: row.day)


def _material(used: Iterable[MaterialUsed]) -> list[MaterialMonth]:
    rows: dict[tuple[str, str], MaterialMonth] = {}
    for use in used:
        key = (use.name, use.unit)
        row = rows.setdefault(key, MaterialMonth(*key, Decimal(0), Fraction(0)))
        row.quantity += use.quantity
        row.cost += use.cost
    return [rows[key] for key in sorted(rows)]


def stock_on(day: datetime.date) -> StockOnDay:
    """Return the stock at the end of a day."""
    return _stock(day, ledger_of(worth_on=day))


def _stock(day: datetime.date, ledger: Ledger) -> StockOnDay:
    currency = WorkshopProfile.current().currency
    return StockOnDay(day, currency, supplies_worth(ledger), hides_on(day), pairs_on(day))
