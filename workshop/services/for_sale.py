"""The list for sale: articles added, priced again, prices taken or left, articles taken off."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from workshop.models import (
    Article,
    ArticlePrice,
    BackgroundJob,
    FootVersion,
    LeatherLot,
    PlaceOfSale,
    StyleVersion,
)
from workshop.selectors.for_sale import ARTICLES_MOST, articles_listed, finished_run, run_key
from workshop.services.records import audit_write, fields_of, record_save
from workshop.work import ARTICLE_PRICES, work_start

AT_ONCE_MOST = 100


@transaction.atomic
def pairs_add(
    style: StyleVersion,
    feet: Sequence[FootVersion],
    lots: Sequence[LeatherLot],
    place: PlaceOfSale | None,
    *,
    is_lined: bool = True,
    by: AbstractBaseUser | None,
) -> list[Article]:
    """Put a style on the list in every size and leather given; what is there already stays.

    ``is_lined``: leather whose colour may rub is lined.

    Raises
    ------
    ValidationError
        They would be too many at once, or too many on the list.
    """
    if len(feet) * len(lots) > AT_ONCE_MOST:
        raise ValidationError(
            _("%(n)d articles at once; at most %(most)d. Choose fewer sizes or leathers.")
            % {"n": len(feet) * len(lots), "most": AT_ONCE_MOST},
            code="too_many",
        )
    there = set(
        Article.objects.filter(style=style, place=place, is_offered=True).values_list(
            "foot_id", "lot_id"
        )
    )
    made = [
        Article(
            kind=Article.Kind.PAIR,
            style=style,
            foot=foot,
            lot=lot,
            place=place,
            is_lined=is_lined,
        )
        for lot in lots
        for foot in feet
        if (foot.pk, lot.pk) not in there
    ]
    return _added(made, by=by)


@transaction.atomic
def guide_add(article: Article, *, by: AbstractBaseUser | None) -> Article:
    """Put a printed guide on the list.

    Raises
    ------
    ValidationError
        A field does not hold, or too many are on the list.
    """
    article.kind = Article.Kind.GUIDE
    return _added([article], by=by)[0]


def _added(made: Sequence[Article], *, by: AbstractBaseUser | None) -> list[Article]:
    if Article.objects.filter(is_offered=True).count() + len(made) > ARTICLES_MOST:
        raise ValidationError(
            _("The list holds %(most)d articles; take some off first.") % {"most": ARTICLES_MOST},
            code="list_full",
        )
    for article in made:
        record_save(article, by=by, action="put on the list")
    return list(made)


def prices_work_out(*, by: AbstractBaseUser | None) -> BackgroundJob:
    """Hand all prices of the list to the background worker.

    Raises
    ------
    ValidationError
        Nothing is on the list.
    """
    articles = list(articles_listed().filter(is_offered=True).order_by("number")[:ARTICLES_MOST])
    if not articles:
        raise ValidationError(_("Nothing is on the list yet."), code="empty")
    asked = {
        str(article.pk): f"{price.price:f}"
        for article in articles
        if (price := next(iter(article.prices.all()), None)) is not None
    }
    inputs = {"articles": [article.pk for article in articles], "asked": asked}
    return work_start(ARTICLE_PRICES, inputs, key=run_key(), by=by)


@transaction.atomic
def prices_answer(
    articles: Iterable[Article], run_id: int, *, take: bool, by: AbstractBaseUser | None
) -> int:
    """Take a run's prices as the ones asked from now on, or leave the old ones; return how many.

    Raises
    ------
    ValidationError
        The prices have been worked out again meanwhile, or somebody has answered already.
    """
    run = finished_run()
    if run is None or run.pk != run_id:
        raise ValidationError(
            _("The prices have been worked out again since; look at them first."), code="run_old"
        )
    count = 0
    for article in articles:
        said = run.result["rows"].get(str(article.pk))
        if said is None or "fault" in said:
            raise ValidationError(
                _("%(article)s has no price to take.") % {"article": article}, code="no_price"
            )
        before = fields_of(article)
        # Guarded: of two people who answer at once, one does.
        answered = Article.objects.filter(
            pk=article.pk, answered_work__lt=run.pk, is_offered=True
        ).update(answered_work=run.pk)
        if not answered:
            raise ValidationError(
                _("%(article)s is answered already, or off the list.") % {"article": article},
                code="answered",
            )
        article.refresh_from_db()
        audit_write(article, by=by, action="price taken" if take else "price left", before=before)
        if take:
            _price_keep(article, run, by=by)
        count += 1
    return count


def _price_keep(article: Article, run: BackgroundJob, *, by: AbstractBaseUser | None) -> None:
    said = run.result["rows"][str(article.pk)]
    price = ArticlePrice(
        article=article,
        work=run.pk,
        currency=said["currency"],
        price=Decimal(said["price"]),
        cost=Decimal(said["cost"]),
        profit=Decimal(said["profit"]),
        document={key: said[key] for key in ("rate_card", "profit_pct", "lines", "totals")},
        made_by=by,
    )
    record_save(price, by=by, action="price asked")


@transaction.atomic
def article_offer(article: Article, *, is_offered: bool, by: AbstractBaseUser | None) -> None:
    """Take an article off the list, or put it back.

    Raises
    ------
    ValidationError
        The list is full, or the same article is on it already.
    """
    if is_offered and not article.is_offered:
        same = Article.objects.filter(
            kind=article.kind,
            style=article.style_id,
            foot=article.foot_id,
            lot=article.lot_id,
            place=article.place_id,
            is_offered=True,
        )
        if article.kind == Article.Kind.PAIR and same.exists():
            raise ValidationError(
                _("%(article)s is on the list already, as %(other)s.")
                % {"article": article, "other": same.first()},
                code="twice",
            )
        if Article.objects.filter(is_offered=True).count() >= ARTICLES_MOST:
            raise ValidationError(_("The list is full; take something off first."), code="full")
    article.is_offered = is_offered
    record_save(article, by=by, columns=["is_offered"])
