"""The list for sale: prices asked, prices as they should be today, and articles put on it."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from workshop.forms.for_sale import GuideForm, PairsForm
from workshop.list_columns import ARTICLES
from workshop.listing import Listing
from workshop.models import Article, PlaceOfSale, WorkshopProfile
from workshop.selectors.for_sale import (
    article_row,
    article_rows,
    articles_listed,
    finished_run,
    latest_run,
)
from workshop.selectors.rubbing import may_rub, options_of_pair
from workshop.selectors.sizes import house_sizes
from workshop.services.for_sale import (
    article_offer,
    guide_add,
    pairs_add,
    prices_answer,
    prices_work_out,
)
from workshop.views.pages import take_errors


def for_sale(request: HttpRequest) -> HttpResponse:
    """Show the list, ?place= for one place, ?off=1 for what was taken off it."""
    place = _place(request.GET)
    is_off = request.GET.get("off") == "1"
    rows = article_rows(place_id=place.pk if place else None, offered=not is_off)
    listing = Listing(ARTICLES, request)
    rows = listing.rows_sorted(rows)
    run, done = latest_run(), finished_run()
    waiting = [row for row in rows if row.waits]
    context = {
        "listing": listing,
        "rows": rows,
        "place": place,
        "places": PlaceOfSale.objects.filter(articles__isnull=False).distinct(),
        "is_off": is_off,
        "work": run if run is not None and (not run.is_over or run.pk != _pk(done)) else None,
        "run": done,
        "priced_so_far": len(run.so_far["rows"]) if run is not None and run.so_far else 0,
        "priced_of": len(run.inputs["articles"]) if run is not None else 0,
        "waiting": waiting,
        "below": [row for row in rows if row.is_below_floor],
        "floor": WorkshopProfile.current().profit_floor_pct,
        "back": request.get_full_path(),
    }
    return render(request, "for_sale/for_sale.html", context)


def _pk(record: object | None) -> int:
    return 0 if record is None else record.pk


def _place(sent: QueryDict) -> PlaceOfSale | None:
    asked = sent.get("place", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 12):
        return None
    return PlaceOfSale.objects.filter(pk=int(asked)).first()


def for_sale_new(request: HttpRequest) -> HttpResponse:
    """Ask for a style over sizes and leathers, put it on the list and have it priced."""
    form = PairsForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = pairs_add(
                form.style_version(),
                form.feet(),
                form.chosen_lots(),
                form.cleaned_data["place"],
                is_lined=form.cleaned_data["is_lined"],
                by=request.user,
            )
        except ValidationError as error:
            take_errors(form, error)
        else:
            said = ngettext(
                "%(n)d article is on the list now.",
                "%(n)d articles are on the list now.",
                len(made),
            )
            messages.success(request, said % {"n": len(made)})
            return _priced_then_back(request)
    return render(request, "for_sale/pairs_new.html", {"form": form})


def for_sale_guide(request: HttpRequest) -> HttpResponse:
    """Ask for a printed guide and put it on the list."""
    form = GuideForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            article = guide_add(form.save(commit=False), by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("%(article)s is on the list now.") % {"article": article})
            return _priced_then_back(request)
    context = {"form": form, "currency": WorkshopProfile.current().currency}
    return render(request, "for_sale/guide_new.html", context)


def for_sale_work_out(request: HttpRequest) -> HttpResponse:
    """Have every price worked out again."""
    return _priced_then_back(request)


def _priced_then_back(request: HttpRequest) -> HttpResponse:
    try:
        prices_work_out(by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("for-sale")


def for_sale_answer(request: HttpRequest) -> HttpResponse:
    """Take or leave today's prices: one article's, or all that wait."""
    run = request.POST.get("run", "")
    run_id = int(run) if run.isascii() and run.isdigit() and len(run) < 19 else 0
    answer = request.POST.get("answer", "")
    what, _dash, number = answer.partition("-")
    if number.isascii() and number.isdigit() and len(number) < 12:
        articles = [get_object_or_404(Article, pk=int(number))]
    else:
        place = _place(request.POST)
        rows = article_rows(place_id=place.pk if place else None)
        articles = [row.article for row in rows if row.waits]
    try:
        if what not in ("take", "leave"):
            raise ValidationError(_("Say whether to take or to leave the price."))
        count = prices_answer(articles, run_id, take=what == "take", by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        said = (
            ngettext(
                "%(n)d price is asked from now on.", "%(n)d prices are asked from now on.", count
            )
            if what == "take"
            else ngettext("%(n)d price stays as it was.", "%(n)d prices stay as they were.", count)
        )
        messages.success(request, said % {"n": count})
    return redirect("for-sale")


def article(request: HttpRequest, article_id: int) -> HttpResponse:
    """Show an article: the price asked with every line behind it, and those before."""
    record = get_object_or_404(articles_listed(), pk=article_id)
    run = finished_run()
    floor = WorkshopProfile.current().profit_floor_pct
    row = article_row(record, run, floor)
    prices = list(record.prices.all())
    said = run.result["rows"].get(str(record.pk), {}) if run is not None else {}
    context = {
        "row": row,
        "run": run,
        "today": said if row.today else None,
        "asked": prices[0] if prices else None,
        "older": prices[1:21],
        "sizes": [] if record.foot_id else house_sizes(),
        "may_rub": record.lot is not None and may_rub(record.lot),
        "lined": record.lot is not None
        and bool(options_of_pair(record.style, record.lot, is_lined=record.is_lined)),
    }
    return render(request, "for_sale/article.html", context)


def article_offered(request: HttpRequest, article_id: int) -> HttpResponse:
    """Put an article back on the list, or take it off."""
    record = get_object_or_404(Article, pk=article_id)
    try:
        article_offer(record, is_offered=request.POST.get("offer") == "1", by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("article", article_id)


def for_sale_file(request: HttpRequest) -> HttpResponse:
    """Send the list as a table."""
    place, is_off = _place(request.GET), request.GET.get("off") == "1"
    rows = article_rows(place_id=place.pk if place else None, offered=not is_off)
    listing = Listing(ARTICLES, request)
    return listing.file("for-sale", listing.rows_sorted(rows))
