"""What each article for sale costs and should cost today, worked out by the background worker.

The same road as a job's price, `work_out`, without a customer: leather by the seller's price, its
waste by the rate card.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from costing.breakdown import Breakdown
from costing.errors import CostError
from costing.job import Job, MaterialUse
from costing.labour import WorkDrivers, WorkStep
from costing.price import price_job, profit_at_price
from workshop.bridge import as_written
from workshop.bridge_sale import SaleChoice, job_from_rates
from workshop.models import Article, PlaceVersion, RateCard, WorkshopProfile
from workshop.selectors.places import place_in_use
from workshop.selectors.rubbing import options_of_pair
from workshop.services.quoting import Choice, Worked, work_out
from workshop.shown_price import PriceRow, price_rows, total_rows

NOTHING_MADE = WorkDrivers(
    pieces=0, eyelets=0, stitched_mm=Decimal(0), lasted_mm=Decimal(0), shoes=0
)
Row = dict[str, Any]


class NoPriceError(Exception):
    """An article has no price; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Priced:
    """An article's price today with the lines behind it."""

    job: Job
    breakdown: Breakdown
    lines: list[PriceRow]
    rates: RateCard


def rates_now() -> int | None:
    """Return the version of the rate card that prices are worked out by now."""
    return RateCard.objects.order_by("-version").values_list("version", flat=True).first()


def price_articles(
    inputs: Row,
    on_article: Callable[[int, int, str], None],
    *,
    rows: dict[str, Row],
    on_priced: Callable[[], None],
) -> Row:
    """Return today's price of every article asked for, or why it has none.

    Parameters
    ----------
    inputs : dict
        ``articles``: ids; ``asked``: by id the price asked now, as text, where there is one.
    on_article : function
        Told how many are done, of how many, and which comes next.
    rows : dict
        What is priced already; each further article is put in as soon as it is priced.
    on_priced : function
        Called after each; it may end the piece of work by raising.

    Returns
    -------
    dict
        ``rows``: by id either ``fault``, or ``price``, ``cost``, ``profit``, ``profit_pct``,
        ``lines``, ``totals``; and ``kept``, the profit that the price asked now leaves.
    """
    found = Article.objects.select_related("style__style", "foot__doll", "lot", "place")
    articles = list(found.filter(pk__in=inputs["articles"]).order_by("number"))
    for count, article in enumerate(articles):
        if str(article.pk) in rows:
            continue
        on_article(count, len(articles), article.code)
        asked = inputs["asked"].get(str(article.pk))
        rows[str(article.pk)] = _row(article, None if asked is None else Decimal(asked))
        if count < len(articles) - 1:
            on_priced()
    return {"rows": rows}


def _row(article: Article, asked: Decimal | None) -> Row:
    try:
        priced = _priced(article)
        kept = None if asked is None else profit_at_price(priced.job, asked)
    except (NoPriceError, CostError) as error:
        return {"fault": str(error)}
    today = priced.breakdown
    return {
        "currency": today.currency,
        "price": str(today.price_per_pair),
        "cost": str(today.cost),
        "profit": str(today.profit),
        "profit_pct": _text(today.profit_percent_of_price),
        "rate_card": priced.rates.version,
        "lines": [_line(line) for line in priced.lines],
        "totals": [_line(line) for line in total_rows(today)],
        "kept": None
        if kept is None
        else {"profit": str(kept.profit), "profit_pct": _text(kept.profit_percent_of_price)},
    }


def _priced(article: Article) -> Priced:
    place = None
    if article.place is not None:
        place = place_in_use(article.place_id)
        if place is None:
            raise NoPriceError(
                _("%(place)s is no longer offered; take the article off the list, or offer it.")
                % {"place": article.place}
            )
    return _guide(article, place) if article.kind == Article.Kind.GUIDE else _pair(article, place)


def _pair(article: Article, place: PlaceVersion | None) -> Priced:
    """Price one pair in a house size."""
    assert article.lot is not None
    worked = work_out(
        Choice(
            commission=None,
            foot=article.foot,
            style=article.style,
            hide=None,
            lot=article.lot,
            pair_count=1,
            options=options_of_pair(article.style, article.lot, is_lined=article.is_lined),
            sale=SaleChoice(place=place),
        )
    )
    _check(worked)
    assert worked.job is not None
    assert worked.breakdown is not None
    assert worked.rates is not None
    lines = price_rows(worked.bill, worked.breakdown)
    return Priced(worked.job, worked.breakdown, lines, worked.rates)


def _check(worked: Worked) -> None:
    """Refuse what has no price, and pieces that may not be cut."""
    faults = list(worked.faults.values())
    if worked.pieces is not None:
        faults += [said.text for said in worked.pieces.messages if said.level == "stop"]
    if faults or worked.breakdown is None:
        raise NoPriceError("; ".join(faults))


def _guide(article: Article, place: PlaceVersion | None) -> Priced:
    """Price a printed guide: no material of a pair, no work on one."""
    rates = RateCard.objects.prefetch_related("steps").order_by("-version").first()
    if rates is None:
        raise NoPriceError(_("There is no rate card yet; make one under Rates."))
    printing = MaterialUse(
        _("printing and envelope"),
        Decimal(1),
        "piece",
        as_written(article.printing_cost),
        Decimal(0),
    )
    job = job_from_rates(
        rates=rates,
        currency=WorkshopProfile.current().currency,
        pair_count=1,
        materials=(printing,),
        drivers=NOTHING_MADE,
        sale=SaleChoice(place=place),
    )
    work = WorkStep(_("print, pack and post"), as_written(article.minutes), "order")
    # The steps of a pair and the least price of one do not concern a guide.
    job = replace(job, steps=(work,), least_price=Decimal(0))
    breakdown = price_job(job)
    lines = [PriceRow(line.name, line.amount, (line.how,)) for line in breakdown.lines]
    return Priced(job, breakdown, lines, rates)


def _line(row: PriceRow) -> Row:
    return {
        "name": row.name,
        "amount": str(row.amount),
        "hows": list(row.hows),
        "estimated": row.estimated,
        "is_main": row.is_main,
    }


def _text(percent: Decimal | None) -> str | None:
    return None if percent is None else str(percent)
