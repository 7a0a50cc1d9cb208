"""Papers and files of a job or a quote, made when asked for."""

import datetime
from dataclasses import replace

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone

from costing.job_file import breakdown_from_document
from patterns.drawing.pieces import draw_piece_set
from patterns.drawing.svg import drawing_svg
from patterns.exchange.pieces_file import document_from_pieces, pieces_from_document
from workshop.documents.cutting_sheet import cutting_sheet_pdf
from workshop.documents.heading import SheetHeading
from workshop.documents.layout_sheet import layout_pdf
from workshop.documents.measuring_card import measuring_card_pdf
from workshop.documents.mock_up_sheet import mock_up_sheet_pdf
from workshop.documents.price_breakdown import price_breakdown_pdf
from workshop.documents.quote_paper import quote_pdf
from workshop.doors import MONEY, OWNER
from workshop.forms.orders import ChoiceForm
from workshop.models import Commission, Doll, FootVersion, Quote, WorkshopProfile
from workshop.paper_values import card_heading, quote_paper_of
from workshop.selectors.corrections import correction_lines, corrections_of, in_force
from workshop.selectors.printers import printer_in_use
from workshop.selectors.styles import pattern_named, pattern_of
from workshop.services.quoting import Worked
from workshop.strict_json import write_json
from workshop.views.orders import worked_from
from workshop.views.quotes import find_quote, link_of

PAPERS = ("A4", "Letter")


def job_cutting_sheet(request: HttpRequest, job_id: int) -> HttpResponse:
    """Send the cutting sheet of what is being tried out."""
    commission, worked = worked_of(request, job_id)
    if worked is None or worked.pieces is None:
        return back_to_job(request, job_id)
    heading = for_printing(request, job_heading(commission, worked))
    content = cutting_sheet_pdf(
        worked.pieces,
        heading=heading,
        made_on=today(),
        paper=paper_asked(request),
        flesh_up=flesh_up_asked(request),
    )
    return pdf_answer(content, f"{commission.code}-cutting-sheet")


def job_mock_up(request: HttpRequest, job_id: int) -> HttpResponse:
    """Send the mock-up sheet of what is being tried out."""
    commission, worked = worked_of(request, job_id)
    if worked is None or worked.pieces is None:
        return back_to_job(request, job_id)
    heading = for_printing(request, job_heading(commission, worked))
    content = mock_up_sheet_pdf(
        worked.pieces, heading=heading, made_on=today(), paper=paper_asked(request)
    )
    return pdf_answer(content, f"{commission.code}-mock-up")


def measuring_card(request: HttpRequest, doll_id: int) -> HttpResponse:
    """Send the card a doll's foot is measured with, to print or to send to its owner."""
    doll = get_object_or_404(Doll, pk=doll_id)
    content = measuring_card_pdf(
        heading=card_heading(doll), made_on=today(), paper=paper_asked(request)
    )
    return pdf_answer(content, f"{doll.code}-measuring-card")


def job_layout_sheet(request: HttpRequest, job_id: int) -> HttpResponse:
    """Send the drawing of the hide with its pieces."""
    commission, worked = worked_of(request, job_id)
    if worked is None or worked.layout is None or worked.request is None:
        return back_to_job(request, job_id)
    heading = order_heading(commission, worked.choice.foot, worked.choice.style.style.name)
    content = layout_pdf(
        worked.request,
        worked.layout,
        heading=heading,
        made_on=today(),
        paper=paper_asked(request),
        flesh_up=flesh_up_asked(request),
    )
    return pdf_answer(content, f"{commission.code}-hide")


def job_breakdown(request: HttpRequest, job_id: int) -> HttpResponse:
    """Send the price breakdown of what is being tried out."""
    commission, worked = worked_of(request, job_id)
    if worked is None or worked.breakdown is None:
        return back_to_job(request, job_id)
    heading = order_heading(commission, worked.choice.foot, worked.choice.style.style.name)
    content = price_breakdown_pdf(
        worked.breakdown, heading=heading, made_on=today(), paper=paper_asked(request)
    )
    return pdf_answer(content, f"{commission.code}-breakdown")


def job_file(request: HttpRequest, job_id: int, kind: str) -> HttpResponse:
    """Send the pieces as SVG, DXF or JSON."""
    if kind not in ("svg", "dxf", "json"):
        raise Http404
    commission, worked = worked_of(request, job_id)
    if worked is None or worked.pieces is None:
        return back_to_job(request, job_id)
    if kind == "svg":
        title = f"{commission.code} {worked.pieces.style}"
        content = drawing_svg(draw_piece_set(worked.pieces), title=title).encode()
        content_type = "image/svg+xml"
    elif kind == "dxf":
        # Loaded here, for the same reason as in `workshop.documents.paper`.
        from patterns.exchange.dxf import pieces_dxf

        content, content_type = pieces_dxf(worked.pieces), "image/vnd.dxf"
    else:
        content, content_type = (
            write_json(document_from_pieces(worked.pieces)),
            "application/json",
        )
    return _attached(content, content_type, f"{commission.code}-pieces.{kind}")


def quote_paper(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Send the quote as the customer gets it; the link that accepts only to the owner."""
    quote = find_quote(quote_id)
    link = link_of(request, quote) if request.role == OWNER else ""
    content = quote_pdf(quote_paper_of(quote, link=link))
    return pdf_answer(content, quote.code)


def quote_sheet(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Send the cutting sheet of a quote, from the outlines it keeps."""
    quote = find_quote(quote_id)
    content = cutting_sheet_pdf(
        pieces_from_document(quote.snapshot["pieces"]),
        heading=for_printing(request, _quote_heading(quote)),
        made_on=_day(quote.made_at),
        paper=paper_asked(request),
    )
    return pdf_answer(content, f"{quote.code}-cutting-sheet")


def quote_breakdown(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Send the price breakdown of a quote, from the lines it keeps."""
    quote = find_quote(quote_id)
    content = price_breakdown_pdf(
        breakdown_from_document(quote.snapshot["breakdown"]),
        heading=_quote_heading(quote),
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


def order_heading(commission: Commission, foot: FootVersion, style: str) -> SheetHeading:
    """Return whom and what a sheet is for."""
    return SheetHeading(
        workshop=WorkshopProfile.current().name,
        doll=f"{commission.doll.name} {commission.doll.code}",
        style=style,
        foot_version=f"{foot.get_foot_side_display()} {foot.version}",
        order_code=commission.code,
        drawn_foot=foot.foot_side,
    )


def job_heading(commission: Commission, worked: Worked) -> SheetHeading:
    """Return the heading of a sheet that is cut by, with the corrections drawn into it."""
    choice = worked.choice
    assert worked.pieces is not None
    return replace(
        order_heading(commission, choice.foot, choice.style.style.name),
        corrections=correction_lines(
            worked.pieces.corrections,
            pattern_of(choice.style.style),
            in_force(corrections_of(commission.doll, choice.style.style)),
        ),
    )


def _quote_heading(quote: Quote) -> SheetHeading:
    heading = order_heading(quote.commission, quote.foot, quote.snapshot["style"]["name"])
    pieces = pieces_from_document(quote.snapshot["pieces"])
    pattern = pattern_named(quote.snapshot["style"]["file"])
    lines = correction_lines(pieces.corrections, pattern, ())
    return replace(heading, order_code=quote.code, corrections=lines)


def flesh_up_asked(request: HttpRequest) -> bool:
    """Return whether the address asks for the hide turned over, ?face=flesh."""
    return request.GET.get("face", "") == "flesh"


def paper_asked(request: HttpRequest) -> str:
    """Return the size of paper asked for, the workshop's own if none was."""
    wanted = request.GET.get("paper", "")
    return wanted if wanted in PAPERS else WorkshopProfile.current().paper


def for_printing(request: HttpRequest, heading: SheetHeading) -> SheetHeading:
    """Return the heading of a sheet that comes out true from the printer in use.

    With ?printer=none it is drawn as it is, to send to somebody who prints it elsewhere.
    """
    if request.GET.get("printer", "") == "none":
        return heading
    return replace(heading, printer=printer_in_use())


def today() -> datetime.date:
    """Return the day where the workshop is."""
    return timezone.localdate()


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
