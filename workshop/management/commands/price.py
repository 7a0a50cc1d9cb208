"""Print the price of a job, every line with how it came about."""

from argparse import ArgumentTypeError
from datetime import date
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone
from django.utils.translation import gettext, ngettext

from costing.breakdown import Breakdown
from costing.job_file import document_from_breakdown, job_from_document
from costing.price import price_job
from workshop.management.file_command import FileCommand

NAME_WIDTH = 30
AMOUNT_WIDTH = 14


class Command(FileCommand):
    """Price a job file: its lines, cost, price, tax, fees and profit."""

    help = "Price a job: prints each line, cost, price, tax, fees and profit, with how it came."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the job file and where to write."""
        parser.add_argument("job", metavar="JOB.json", help="the job to price")
        parser.add_argument("--out", metavar="BREAKDOWN.json", help="write the breakdown here")
        parser.add_argument("--pdf", metavar="F", help="write the breakdown as a paper here")
        parser.add_argument("--paper", choices=["A4", "Letter"], default="A4", help="paper size")
        parser.add_argument(
            "--date", type=_day, metavar="YYYY-MM-DD", help="date on the paper; today if left out"
        )

    def run(self, **options: Any) -> None:
        """Read, price, write what was asked for, print."""
        breakdown = price_job(job_from_document(self.read_document(options["job"], decimals=True)))
        # The paper is made before anything is written: a fault then leaves no file at all.
        paper = _paper(breakdown, options) if options["pdf"] else b""
        files: list[tuple[str, bytes | dict]] = []
        if options["out"]:
            files.append((options["out"], document_from_breakdown(breakdown)))
        if options["pdf"]:
            files.append((options["pdf"], paper))
        self.write_files(files)
        for line in text_lines(breakdown):
            self.stdout.write(line)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is not a date; write it as 2026-05-31") from None


def _paper(breakdown: Breakdown, options: dict[str, Any]) -> bytes:
    # Imported here because the PDF packages take longer to load than a price takes to work out.
    from workshop.documents.heading import SheetHeading
    from workshop.documents.price_breakdown import price_breakdown_pdf

    return price_breakdown_pdf(
        breakdown,
        heading=SheetHeading(),
        made_on=options["date"] or timezone.localdate(),
        paper=options["paper"],
    )


def text_lines(breakdown: Breakdown) -> list[str]:
    """Return the breakdown as lines of text: name, amount, how."""
    groups = {
        "material": gettext("material"),
        "labour": gettext("labour"),
        "overhead": gettext("overhead"),
    }
    heading = ngettext(
        "%(pairs)s pair, amounts in %(currency)s",
        "%(pairs)s pairs, amounts in %(currency)s",
        breakdown.pair_count,
    ) % {"pairs": breakdown.pair_count, "currency": breakdown.currency}
    return [
        heading,
        *(
            _line(f"{groups[line.group]}: {line.name}", f"{line.amount:f}", line.how)
            for line in breakdown.lines
        ),
        *(
            _line(_total_words()[total.code], f"{total.amount:f}", total.how)
            for total in breakdown.totals
        ),
        *_profit_lines(breakdown),
        _line(gettext("hands-on minutes"), f"{breakdown.active_min:f}"),
        _line(gettext("waiting minutes"), f"{breakdown.passive_min:f}", gettext("cost nothing")),
    ]


def _total_words() -> dict[str, str]:
    return {
        "cost": gettext("cost"),
        "cost_per_pair": gettext("cost of one pair"),
        "price_per_pair": gettext("price of one pair"),
        "price": gettext("price, what the customer pays"),
        "price_without_tax": gettext("price without tax"),
        "tax": gettext("tax"),
        "fees": gettext("fees"),
        "profit": gettext("profit"),
    }


def _profit_lines(breakdown: Breakdown) -> list[str]:
    shares = (
        (breakdown.profit_percent_of_price, gettext("of the price without tax")),
        (breakdown.profit_percent_of_cost, gettext("on cost")),
    )
    return [
        _line(gettext("profit"), f"{percent:f} %", words)
        for percent, words in shares
        if percent is not None
    ]


def _line(name: str, amount: str, how: str = "") -> str:
    return f"{name:<{NAME_WIDTH}} {amount:>{AMOUNT_WIDTH}}  {how}".rstrip()
