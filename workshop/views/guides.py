"""Making guides for sale: of an article, without anybody's name."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from workshop.documents.heading import SheetHeading
from workshop.documents.making_guide import making_guide_pdf
from workshop.guides import guide_of
from workshop.models import Article, FootVersion, WorkshopProfile
from workshop.order_papers import stops_of, today
from workshop.selectors.rubbing import options_of_pair
from workshop.selectors.sizes import house_sizes
from workshop.services.quoting import Choice, work_out
from workshop.views.papers import paper_asked, pdf_answer, units_asked


def article_guide(request: HttpRequest, article_id: int) -> HttpResponse:
    """Send the guide of an article in its house size, or in the one asked for, ?foot=."""
    article = get_object_or_404(
        Article.objects.select_related("style__style", "foot", "lot"), pk=article_id
    )
    foot = article.foot or _foot_asked(request)
    worked = work_out(
        Choice(
            commission=None,
            foot=foot,
            style=article.style,
            hide=None,
            pair_count=1,
            options={}
            if article.lot is None
            else options_of_pair(article.style, article.lot, is_lined=article.is_lined),
        ),
        with_money=False,
    )
    if worked.pieces is None:
        messages.error(request, "; ".join(worked.faults.values()))
        return redirect("article", article.pk)
    if stops_of(worked):
        messages.error(request, stops_of(worked))
        return redirect("article", article.pk)
    heading = SheetHeading(
        workshop=WorkshopProfile.current().name,
        style=article.style.style.name,
        drawn_foot=foot.foot_side,
    )
    content = making_guide_pdf(
        guide_of(worked, heading=heading, units=units_asked(request)),
        made_on=today(),
        paper=paper_asked(request),
    )
    return pdf_answer(content, f"{article.code}-making-guide")


def _foot_asked(request: HttpRequest) -> FootVersion:
    asked = request.GET.get("foot", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 12):
        raise Http404
    for size in house_sizes():
        if size.version.pk == int(asked):
            return size.version
    raise Http404
