"""The list a job is cut by: its page, ticks, scrapped pieces, its sheet, and the end of a hide."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from patterns.errors import PatternError
from patterns.layout.by_hand import layout_as_laid
from workshop.documents.cut_list_sheet import cut_list_pdf
from workshop.doors import MAKERS
from workshop.forms.leather_choice import CutForm
from workshop.forms.orders import ChoiceForm
from workshop.forms.plans import RecutHideForm, ScrapForm
from workshop.hide_sheet import leftovers_sheet
from workshop.models import Commission, CutLine, CutList, Hide, WorkshopProfile
from workshop.selectors.cut_lines import lines_on, placements_of, request_of
from workshop.selectors.orders import hides_on_shelf
from workshop.selectors.plans import (
    cut_list_shown,
    hides_to_recut_from,
    line_name,
    newest_cut_list,
)
from workshop.services.cut_list_making import cut_list_make
from workshop.services.cut_lists import (
    cut_list_end,
    line_scrap,
    line_take_back,
    line_tick,
    line_to_hide,
    lines_tick,
)
from workshop.views.job_choice import choice_query
from workshop.views.job_worked import worked_from
from workshop.views.pages import take_errors
from workshop.views.papers import paper_asked, pdf_answer

MOST_TICKED = 2_000  # more lines than any list has
LINES = CutLine.objects.select_related("cut_list__commission__doll", "hide__lot")


def cut_list(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show the list a job is cut by, or make one of its layout."""
    found = Commission.objects.select_related("customer", "doll")
    commission = get_object_or_404(found, pk=job_id)
    if request.method == "POST":
        return _made(request, commission)
    record = newest_cut_list(commission)
    context: dict[str, Any] = {
        "commission": commission,
        "shown": cut_list_shown(record) if record is not None else None,
        "may_cut": request.role in MAKERS,
    }
    return render(request, "orders/cut_list.html", context)


def _made(request: HttpRequest, commission: Commission) -> HttpResponse:
    form = ChoiceForm(request.POST, job=commission)
    worked = worked_from(form, commission, with_money=False)
    try:
        if worked is None:
            raise ValidationError(_("Choose a foot, a style and a hide first."))
        cut_list_make(worked, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        if worked is None or commission.cut_lists.first() is None:
            query = f"{choice_query(form)}&station=leather"
            return redirect(f"{reverse('job', args=[commission.pk])}?{query}")
    return redirect("cut-list", commission.pk)


def tick(request: HttpRequest, line_id: int) -> HttpResponse:
    """Note that a piece is cut."""
    return _changed(request, line_id, line_tick)


def tick_all(request: HttpRequest, list_id: int) -> HttpResponse:
    """Note that all pieces of a group are cut that the page showed as still to be cut."""
    record = get_object_or_404(CutList, pk=list_id)
    given = request.POST.getlist("line")[:MOST_TICKED]
    wanted = [int(text) for text in given if text.isascii() and text.isdigit() and len(text) < 12]
    try:
        lines_tick(record, wanted, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("cut-list", record.commission_id)


def take_back(request: HttpRequest, line_id: int) -> HttpResponse:
    """Take back a tick, or that a piece was scrapped."""
    return _changed(request, line_id, line_take_back)


def _changed(request: HttpRequest, line_id: int, change: Callable[..., None]) -> HttpResponse:
    line = get_object_or_404(LINES, pk=line_id)
    try:
        change(line, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    # Back to the line itself: the list is long, and the next piece is beside it.
    return redirect(f"{reverse('cut-list', args=[line.cut_list.commission_id])}#line-{line_id}")


def scrap(request: HttpRequest, line_id: int) -> HttpResponse:
    """Ask why a piece is thrown away, and from where it is cut again."""
    line = get_object_or_404(LINES, pk=line_id)
    commission = line.cut_list.commission
    hides = hides_to_recut_from(line, list(hides_on_shelf(commission.pk)))
    form = ScrapForm(request.POST if request.method == "POST" else None, line=line, hides=hides)
    if request.method == "POST" and form.is_valid():
        chosen = form.cleaned_data.get("again_from")
        try:
            line_scrap(
                line,
                reason=form.cleaned_data["reason"],
                reason_note=form.cleaned_data["reason_note"],
                hide=Hide.objects.select_related("lot").get(pk=int(chosen)) if chosen else None,
                by=request.user,
            )
        except ValidationError as error:
            take_errors(form, error)
        else:
            if chosen:
                return redirect("cut-list-place", line.cut_list_id, int(chosen))
            return redirect("cut-list", commission.pk)
    context = {
        "commission": commission,
        "line": line,
        "name": line_name(line),
        "form": form,
        "has_no_hide": line.hide is not None and not hides,
    }
    return render(request, "orders/cut_line_scrap.html", context)


def line_hide(request: HttpRequest, line_id: int) -> HttpResponse:
    """Choose another hide for a piece to cut again that has no place yet."""
    line = get_object_or_404(LINES, pk=line_id)
    commission = line.cut_list.commission
    hides = hides_to_recut_from(line, list(hides_on_shelf(commission.pk)))
    form = RecutHideForm(request.POST if request.method == "POST" else None, hides=hides)
    if request.method == "POST" and form.is_valid():
        hide = Hide.objects.select_related("lot").get(pk=int(form.cleaned_data["again_from"]))
        try:
            line_to_hide(line, hide, by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            return redirect("cut-list-place", line.cut_list_id, hide.pk)
    context = {
        "commission": commission,
        "line": line,
        "name": line_name(line),
        "form": form,
        "has_no_hide": not hides,
    }
    return render(request, "orders/cut_line_hide.html", context)


def cut_end(request: HttpRequest, list_id: int, hide_id: int) -> HttpResponse:
    """Show what would be left of a hide once all is cut, or note that it is cut."""
    found = CutList.objects.select_related("commission__doll")
    record = get_object_or_404(found, pk=list_id)
    hide = get_object_or_404(Hide.objects.select_related("lot"), pk=hide_id)
    back = reverse("cut-list", args=[record.commission_id])
    lines = lines_on(record, hide)
    if hide.state == Hide.State.CUT or not placements_of(lines):
        messages.error(request, _("There is nothing more to note of %(hide)s.")
                       % {"hide": hide.code})  # fmt: skip
        return redirect(back)
    given = request.POST if request.method == "POST" else request.GET
    is_asked = any(name in given for name in CutForm.base_fields)
    first = {name: field.initial for name, field in CutForm.base_fields.items()}
    sizes = CutForm(given if is_asked else first)
    context: dict[str, Any] = {"record": record, "hide": hide, "sizes": sizes, "sheet": None}
    if sizes.is_valid():
        width, area = sizes.cleaned_data["least_width_mm"], sizes.least_area_mm2
        try:
            if request.method == "POST":
                cutting = cut_list_end(
                    record, hide, least_width_mm=width, least_area_mm2=area, by=request.user
                )
                return redirect("cutting", cutting.pk)
        except ValidationError as error:
            take_errors(sizes, error)
        except PatternError as error:
            sizes.add_error(None, str(error))
        asked = request_of(record, hide, lines)
        layout = layout_as_laid(asked, placements_of(lines))
        context["sheet"] = leftovers_sheet(hide, asked, layout, float(width), float(area))
    return render(request, "orders/cut_end.html", context)


def cut_list_sheet(request: HttpRequest, list_id: int) -> HttpResponse:
    """Send the list as a sheet to take to the bench."""
    found = CutList.objects.select_related("commission__doll")
    record = get_object_or_404(found, pk=list_id)
    content = cut_list_pdf(
        cut_list_shown(record),
        workshop=WorkshopProfile.current().name,
        made_on=timezone.localdate(),
        paper=paper_asked(request),
    )
    return pdf_answer(content, f"{record.commission.code}-cut-list")
