"""Making guides: of a job's pair, and for sale without anybody's name."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from workshop.documents.guide_units import Units
from workshop.documents.heading import SheetHeading
from workshop.documents.making_guide import heading_for_sale, making_guide_pdf
from workshop.guides import guide_of
from workshop.models import Article, FootVersion, WorkshopProfile
from workshop.selectors.sizes import house_sizes
from workshop.services.quoting import Choice, Worked, work_out
from workshop.views.papers import (
    back_to_job,
    for_printing,
    job_heading,
    paper_asked,
    pdf_answer,
    today,
    worked_of,
)


def job_guide(request: HttpRequest, job_id: int) -> HttpResponse:
    """Send the guide to what is being tried out; ?for_sale=1 leaves every name out."""
    commission, worked = worked_of(request, job_id)
    if worked is None or worked.pieces is None:
        return back_to_job(request, job_id)
    if _may_not_be_cut(request, worked):
        return back_to_job(request, job_id)
    heading = job_heading(commission, worked)
    if request.GET.get("for_sale") == "1":
        return _guide(request, worked, heading_for_sale(heading), "making-guide")
    return _guide(
        request, worked, for_printing(request, heading), f"{commission.code}-making-guide"
    )


def article_guide(request: HttpRequest, article_id: int) -> HttpResponse:
    """Send the guide of an article in its house size, or in the one asked for, ?foot=."""
    article = get_object_or_404(
        Article.objects.select_related("style__style", "foot"), pk=article_id
    )
    foot = article.foot or _foot_asked(request)
    worked = work_out(
        Choice(commission=None, foot=foot, style=article.style, hide=None, pair_count=1),
        with_money=False,
    )
    if worked.pieces is None:
        messages.error(request, "; ".join(worked.faults.values()))
        return redirect("article", article.pk)
    if _may_not_be_cut(request, worked):
        return redirect("article", article.pk)
    heading = SheetHeading(
        workshop=WorkshopProfile.current().name,
        style=article.style.style.name,
        drawn_foot=foot.foot_side,
    )
    return _guide(request, worked, heading, f"{article.code}-making-guide")


def _foot_asked(request: HttpRequest) -> FootVersion:
    asked = request.GET.get("foot", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 12):
        raise Http404
    for size in house_sizes():
        if size.version.pk == int(asked):
            return size.version
    raise Http404


def _may_not_be_cut(request: HttpRequest, worked: Worked) -> bool:
    """Say why these pieces make no guide, if so."""
    assert worked.pieces is not None
    stops = [said.text for said in worked.pieces.messages if said.level == "stop"]
    if stops:
        messages.error(
            request, _("No guide is made to pieces that may not be cut: %s") % " ".join(stops)
        )
    return bool(stops)


def _guide(request: HttpRequest, worked: Worked, heading: SheetHeading, name: str) -> HttpResponse:
    units: Units = "in" if request.GET.get("units") == "in" else "mm"
    content = making_guide_pdf(
        guide_of(worked, heading=heading, units=units),
        made_on=today(),
        paper=paper_asked(request),
    )
    return pdf_answer(content, name)
