"""Papers and files of a job or a quote, made when asked for."""

import datetime

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from costing.job_file import breakdown_from_document
from patterns.errors import PatternError
from patterns.exchange.pieces_file import pieces_from_document
from workshop.documents.cutting_sheet import cutting_sheet_pdf
from workshop.documents.guide_units import Units
from workshop.documents.measuring_card import measuring_card_pdf
from workshop.documents.price_breakdown import price_breakdown_pdf
from workshop.documents.quote_paper import quote_pdf
from workshop.doors import MONEY, OWNER
from workshop.forms.orders import ChoiceForm
from workshop.models import Commission, Doll, WorkshopProfile
from workshop.order_papers import (
    CONTENT_TYPES,
    PAPERS,
    PaperAsk,
    paper_bytes,
    quote_sheet_heading,
    today,
)
from workshop.paper_values import card_heading, quote_paper_of
from workshop.services.quoting import Worked
from workshop.views.job_worked import worked_from
from workshop.views.quotes import find_quote, link_in_letters

PAPER_SIZES = ("A4", "Letter")


def job_paper(request: HttpRequest, job_id: int, name: str) -> HttpResponse:
    """Send a paper or a file of what is being tried out; what is missing is said on its page."""
    commission, worked = worked_of(request, job_id)
    if worked is None:
        return back_to_job(request, job_id)
    ask = asked_paper(request, commission, worked)
    try:
        content = paper_bytes(name, ask)
    except PatternError as error:
        messages.error(request, str(error))
        return back_to_job(request, job_id)
    if content is None:
        if PAPERS[name][0] == "layout":
            messages.error(request, _("Lay the pieces out first; then this can be drawn."))
        return back_to_job(request, job_id)
    stem, ending = name.rsplit(".", 1)
    file_name = stem if ask.for_sale else f"{commission.code}-{stem}"
    if ending == "pdf":
        return pdf_answer(content, file_name)
    return _attached(content, CONTENT_TYPES[ending], f"{file_name}.{ending}")


def job_file(request: HttpRequest, job_id: int, what: str, kind: str) -> HttpResponse:
    """Send the pieces or the layout as SVG, DXF or JSON."""
    name = f"{what}.{kind}"
    if kind == "pdf" or name not in PAPERS:
        raise Http404
    return job_paper(request, job_id, name)


def asked_paper(request: HttpRequest, commission: Commission, worked: Worked) -> PaperAsk:
    """Return what an address asks for: paper, face, printer, units, with names or without."""
    return PaperAsk(
        commission,
        worked,
        made_on=today(),
        paper=paper_asked(request),
        flesh_up=flesh_up_asked(request),
        for_printer=printer_wanted(request),
        for_sale=request.GET.get("for_sale") == "1",
        units=units_asked(request),
    )


def printer_wanted(request: HttpRequest) -> bool:
    """Return whether sheets are for the printer in use; ?printer=none draws them as they are."""
    return request.GET.get("printer", "") != "none"


def units_asked(request: HttpRequest) -> Units:
    """Return the units a guide is asked for in."""
    return "in" if request.GET.get("units") == "in" else "mm"


def measuring_card(request: HttpRequest, doll_id: int) -> HttpResponse:
    """Send the card a doll's foot is measured with, to print or to send to its owner."""
    doll = get_object_or_404(Doll, pk=doll_id)
    content = measuring_card_pdf(
        heading=card_heading(doll), made_on=today(), paper=paper_asked(request)
    )
    return pdf_answer(content, f"{doll.code}-measuring-card")


def quote_paper(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Send the quote as the customer gets it; the link that accepts only to the owner."""
    quote = find_quote(quote_id)
    link = link_in_letters(request, quote) if request.role == OWNER else ""
    content = quote_pdf(quote_paper_of(quote, link=link))
    return pdf_answer(content, quote.code)


def quote_sheet(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Send the cutting sheet of a quote, from the outlines it keeps."""
    quote = find_quote(quote_id)
    content = cutting_sheet_pdf(
        pieces_from_document(quote.drawings["pieces"]),
        heading=quote_sheet_heading(quote, for_printer=printer_wanted(request)),
        made_on=_day(quote.made_at),
        paper=paper_asked(request),
    )
    return pdf_answer(content, f"{quote.code}-cutting-sheet")


def quote_breakdown(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Send the price breakdown of a quote, from the lines it keeps."""
    quote = find_quote(quote_id)
    content = price_breakdown_pdf(
        breakdown_from_document(quote.snapshot["breakdown"]),
        heading=quote_sheet_heading(quote, for_printer=False),
        made_on=_day(quote.made_at),
        paper=paper_asked(request),
    )
    return pdf_answer(content, f"{quote.code}-breakdown")


def worked_of(request: HttpRequest, job_id: int) -> tuple[Commission, Worked | None]:
    """Return a job and what its page would show of it, None while a choice is missing."""
    commission = get_object_or_404(Commission.objects.select_related("customer", "doll"), pk=job_id)
    form = ChoiceForm(request.GET, job=commission)
    return commission, worked_from(form, commission, with_money=request.role in MONEY)


def back_to_job(request: HttpRequest, job_id: int) -> HttpResponse:
    """Return to the job's page, which says what is missing."""
    query = request.GET.urlencode()
    return redirect(f"{reverse('job', args=[job_id])}?{query}")


def flesh_up_asked(request: HttpRequest) -> bool:
    """Return whether the address asks for the hide turned over, ?face=flesh."""
    return request.GET.get("face", "") == "flesh"


def paper_asked(request: HttpRequest) -> str:
    """Return the size of paper asked for, the workshop's own if none was."""
    wanted = request.GET.get("paper", "")
    return wanted if wanted in PAPER_SIZES else WorkshopProfile.current().paper


def _day(moment: datetime.datetime) -> datetime.date:
    return timezone.localtime(moment).date()


def pdf_answer(content: bytes, name: str) -> HttpResponse:
    """Return a PDF that is shown in the browser, under its own name."""
    response = HttpResponse(content, content_type="application/pdf")
    response.headers["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response


def _attached(content: bytes, content_type: str, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type=content_type)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
