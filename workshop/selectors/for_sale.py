"""The list for sale: each article, the price asked, and what it should cost today."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch, QuerySet

from workshop.models import Article, ArticlePrice, BackgroundJob, WorkshopProfile
from workshop.work import ARTICLE_PRICES, work_found, work_key, work_latest

ARTICLES_MOST = 300  # on the list at once; each takes about a second to price afresh


@dataclass(frozen=True, slots=True)
class Today:
    """What an article should cost by the newest run of prices, and what the price asked leaves."""

    currency: str
    price: Decimal
    cost: Decimal
    profit: Decimal
    profit_pct: Decimal | None
    kept_profit: Decimal | None
    kept_pct: Decimal | None


@dataclass(frozen=True, slots=True)
class ArticleRow:
    """An article with the price asked and, where a run has told them, today's figures."""

    article: Article
    asked: ArticlePrice | None
    today: Today | None
    fault: str
    floor_pct: Decimal
    is_answered: bool

    @property
    def price_change(self) -> Decimal | None:
        """Return by how much today's price differs from the one asked."""
        if self.today is None or self.asked is None:
            return None
        return self.today.price - self.asked.price

    @property
    def cost_change(self) -> Decimal | None:
        """Return by how much the cost has changed since the price was set."""
        if self.today is None or self.asked is None:
            return None
        return self.today.cost - self.asked.cost

    @property
    def waits(self) -> bool:
        """Return whether today's price is still to be taken or left: it differs, or is the first.

        One of the same size needs no answer.
        """
        if self.today is None or self.is_answered:
            return False
        return self.asked is None or bool(self.price_change)

    @property
    def is_below_floor(self) -> bool:
        """Return whether the price asked leaves less than the workshop's least profit."""
        if self.today is None or self.asked is None or self.today.kept_pct is None:
            return False
        return self.today.kept_pct < self.floor_pct


def run_key() -> str:
    """Return the key under which runs of the list's prices are kept."""
    return work_key(ARTICLE_PRICES, {})


def latest_run() -> BackgroundJob | None:
    """Return the newest run of prices in any state."""
    return work_latest(ARTICLE_PRICES, run_key())


def finished_run() -> BackgroundJob | None:
    """Return the newest run of prices that ended well."""
    return work_found(ARTICLE_PRICES, run_key())


def articles_listed() -> QuerySet[Article]:
    """Return the articles with all that a page names of them."""
    prices = ArticlePrice.objects.order_by("-id").defer("document")
    related = Article.objects.select_related("style__style", "foot__doll", "lot", "place")
    return related.prefetch_related(Prefetch("prices", prices))


def article_rows(*, place_id: int | None = None, offered: bool = True) -> list[ArticleRow]:
    """Return the rows of the list, those of one place where it is named."""
    articles = (
        articles_listed()
        .filter(is_offered=offered)
        .order_by("place__name", "style__style__name", "lot_id", "foot__foot_length", "number")
    )
    if place_id is not None:
        articles = articles.filter(place=place_id)
    run = finished_run()
    floor = WorkshopProfile.current().profit_floor_pct
    return [article_row(article, run, floor) for article in articles[:ARTICLES_MOST]]


def article_row(article: Article, run: BackgroundJob | None, floor_pct: Decimal) -> ArticleRow:
    """Return one article with what a run says of it."""
    asked = next(iter(article.prices.all()), None)
    said: dict[str, Any] = (run.result["rows"] if run else {}).get(str(article.pk), {})
    today = None
    if said and "fault" not in said:
        today = _today(said, asked, run)
    return ArticleRow(
        article=article,
        asked=asked,
        today=today,
        fault=said.get("fault", ""),
        floor_pct=floor_pct,
        is_answered=run is not None and article.answered_work >= run.pk,
    )


def _today(said: dict[str, Any], asked: ArticlePrice | None, run: BackgroundJob | None) -> Today:
    taken = asked is not None and run is not None and asked.work == run.pk
    # The run's own price, once taken, is the one asked: it leaves what it was worked out to.
    kept = said if taken else said["kept"] or {}
    return Today(
        currency=said["currency"],
        price=Decimal(said["price"]),
        cost=Decimal(said["cost"]),
        profit=Decimal(said["profit"]),
        profit_pct=_decimal(said["profit_pct"]),
        kept_profit=_decimal(kept.get("profit")),
        kept_pct=_decimal(kept.get("profit_pct")),
    )


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)
