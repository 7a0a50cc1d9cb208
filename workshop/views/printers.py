"""Printers: the calibration page, what it measured, and which one is in use."""

from dataclasses import replace

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.documents.calibration_page import calibration_page_pdf
from workshop.documents.heading import SheetHeading
from workshop.forms.printers import PrinterForm
from workshop.models import Printer, WorkshopProfile
from workshop.selectors.printers import printer_in_use
from workshop.services.printers import printer_measure, printer_use
from workshop.views.papers import paper_asked, pdf_answer


def printers(request: HttpRequest) -> HttpResponse:
    """Show the printers, and take what a calibration page measured."""
    form = PrinterForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        printer = printer_measure(form.save(commit=False), by=request.user)
        messages.success(
            request, _("Sheets are now drawn to come out true from %(name)s.") % {"name": printer}
        )
        return redirect("printers")
    context = {"form": form, "printers": Printer.objects.all()}
    return render(request, "settings/printers.html", context)


def printer_take(request: HttpRequest) -> HttpResponse:
    """Take another printer into use, or none."""
    key = request.POST.get("printer", "")
    printer = None
    if key:
        if not key.isascii() or not key.isdigit() or len(key) > 12:
            raise Http404
        printer = get_object_or_404(Printer, pk=int(key))
    printer_use(printer, by=request.user)
    if printer is None:
        messages.success(request, _("Sheets are drawn as they are, for a true printer."))
    else:
        messages.success(
            request, _("Sheets are now drawn to come out true from %(name)s.") % {"name": printer}
        )
    return redirect("printers")


def calibration_page(request: HttpRequest) -> HttpResponse:
    """Send the page with the two bars; ?corrected=1 draws it for the printer in use, as a proof."""
    heading = SheetHeading(workshop=WorkshopProfile.current().name)
    if request.GET.get("corrected") == "1":
        heading = replace(heading, printer=printer_in_use())
    content = calibration_page_pdf(
        heading=heading, made_on=timezone.localdate(), paper=paper_asked(request)
    )
    return pdf_answer(content, "calibration-page")
