"""A month for the bookkeeper: tables as CSV, with ISO dates and a decimal point."""

import csv
import datetime
import io
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.utils import timezone

from costing.money import round_half_up, to_minor_unit
from workshop.library_file import guarded
from workshop.selectors.months import Span, month_report, stock_on, work_of
from workshop.selectors.months_by_style import RunMade
from workshop.selectors.pairs_sold import pair_sales

QUANTITY_PLACES = 3
ROWS_AT_ONCE = 500  # of a table sent while it is written
COST_PLACES = 4  # of one taking: finer than money is paid, so that a month adds up

Rows = Iterable[Iterable[Any]]


def cell(value: Any) -> str:
    """Return a cell's text: numbers plain, days as ISO dates, words so that none is a formula.

    >>> cell(Decimal("-3.20")), cell("-3.20"), cell(datetime.date(2026, 11, 5)), cell(True)
    ('-3.20', "'-3.20", '2026-11-05', 'yes')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, datetime.datetime):
        return timezone.localtime(value).isoformat(timespec="minutes")
    if isinstance(value, datetime.date):
        return value.isoformat()
    return guarded("" if value is None else str(value))


def table_csv(columns: Iterable[str], rows: Rows) -> bytes:
    """Return a table; the mark in front tells a spreadsheet that the text is UTF-8."""
    return b"".join(table_parts(columns, rows))


def table_parts(columns: Iterable[str], rows: Rows) -> Iterator[bytes]:
    """Yield a table as `table_csv` returns it, some rows at a time."""
    stream = io.StringIO(newline="")
    table = csv.writer(stream, lineterminator="\r\n")
    stream.write("\ufeff")
    table.writerow(columns)
    for number, row in enumerate(rows, 1):
        table.writerow([cell(value) for value in row])
        if number % ROWS_AT_ONCE == 0:
            yield stream.getvalue().encode()
            stream.seek(0)
            stream.truncate()
    yield stream.getvalue().encode()


def jobs_table(span: Span) -> bytes:
    """Return the jobs finished in a month with what each earned."""
    columns = (
        "job", "quote", "customer", "style", "pairs", "finished_on", "currency", "price", "tax",
        "price_without_tax", "fees", "material", "labour", "overhead", "postage", "profit",
        "active_min", "everything_counted", "to_shelf",
    )  # fmt: skip
    month = month_report(span)
    rows = (
        (
            job.commission.code,
            job.quote.code,
            job.commission.customer.code,
            job.style,
            job.quote.pair_count,
            timezone.localdate(job.commission.finished_at),
            job.counted.currency,
            job.price,
            job.tax,
            job.income,
            job.fees,
            job.counted.sum_of("material"),
            job.counted.sum_of("labour"),
            job.counted.sum_of("overhead"),
            job.counted.sum_of("postage"),
            job.profit,
            job.counted.active_min,
            job.counted.is_complete,
            job.is_to_shelf,
        )
        for job in month.jobs
    )
    return table_csv(columns, [*rows, *(_run_row(run) for run in month.runs)])


def _run_row(run: RunMade) -> tuple[Any, ...]:
    """Return a job without a customer: it costs, and earns only when its pairs are sold."""
    none = Decimal(0)
    return (
        run.commission.code,
        "",
        "",
        run.styles,
        run.pairs,
        timezone.localdate(run.commission.finished_at),
        run.rows[0].currency,
        none,
        none,
        none,
        none,
        run.material,
        run.sum_of("labour"),
        run.sum_of("overhead"),
        none,
        none,
        run.active_min,
        run.is_complete,
        True,
    )


def pairs_table(span: Span) -> bytes:
    """Return the finished pairs sold in a month; one that came back counts below zero."""
    columns = (
        "day", "pair", "name", "style", "what", "place", "job", "currency", "price", "tax",
        "price_without_tax", "fee", "cost", "profit",
    )  # fmt: skip
    rows = (
        (
            sale.step.done_on,
            sale.pair.code,
            sale.pair.name,
            sale.pair.style,
            sale.step.kind,
            sale.step.place.name if sale.step.place is not None else "",
            sale.pair.commission.code if sale.pair.commission is not None else "",
            sale.pair.currency,
            *(
                to_minor_unit(amount, sale.pair.currency)
                for amount in (
                    sale.price, sale.tax, sale.income, sale.fee, sale.cost, sale.profit,
                )
            ),
        )
        for sale in pair_sales(span.first, span.last)
    )  # fmt: skip
    return table_csv(columns, rows)


def hours_table(span: Span) -> bytes:
    """Return every stretch of work of a month."""
    columns = ("day", "job", "step", "waiting", "minutes", "who", "by_hand", "note")
    rows = (
        (
            row.worked_on,
            row.commission.code,
            row.step,
            row.passive,
            row.minutes,
            row.made_by.get_username() if row.made_by is not None else "",
            row.by_hand,
            row.note,
        )
        for row in work_of(span)
    )
    return table_csv(columns, rows)


def material_table(span: Span) -> bytes:
    """Return every taking of supplies and every hide cut in a month."""
    columns = ("day", "code", "name", "quantity", "unit", "cost", "currency", "job")
    month = month_report(span)
    rows = (
        (
            row.day,
            row.code,
            row.name,
            round_half_up(row.quantity, QUANTITY_PLACES),
            row.unit,
            round_half_up(row.cost, COST_PLACES),
            month.currency,
            row.job,
        )
        for row in month.used
    )
    return table_csv(columns, rows)


def stock_table(day: datetime.date) -> bytes:
    """Return the stock at the end of a day: each supply, hide and finished pair with its worth."""
    stock = stock_on(day)
    currency = stock.currency
    rows: list[tuple[Any, ...]] = [
        (
            day,
            row.supply.code,
            row.supply.name,
            _quantity(row.on_hand),
            row.supply.unit,
            to_minor_unit(row.value, currency),
            currency,
        )
        for row in stock.supplies
    ]
    rows += [
        (
            day,
            hide.code,
            f"{hide.lot.name}, {hide.lot.colour}",
            round_half_up(hide.area_mm2 / 10_000, 2),
            "dm2",
            to_minor_unit(hide.cost, currency),
            currency,
        )
        for hide in stock.hides
    ]
    rows += [
        (day, pair.code, pair.name, 1, "pair", to_minor_unit(pair.cost, currency), currency)
        for pair in stock.pairs
    ]
    return table_csv(("day", "code", "name", "quantity", "unit", "value", "currency"), rows)


def _quantity(on_hand: Fraction) -> Decimal:
    return round_half_up(on_hand, QUANTITY_PLACES)


# What a month can be had of as a file, by its name in the address.
TABLES: dict[str, Callable[[Span], bytes]] = {
    "jobs": jobs_table,
    "hours": hours_table,
    "material": material_table,
    "pairs": pairs_table,
}
