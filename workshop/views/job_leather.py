"""The leather for a job: which hides fit it, reserving one, counting pairs, cutting."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from patterns.errors import PatternError
from workshop.doors import MAKERS
from workshop.forms.leather_choice import CutForm, LeatherWantedForm
from workshop.forms.orders import ChoiceForm
from workshop.hide_sheet import leftovers_sheet
from workshop.models import BackgroundJob, Commission, Hide, WorkshopProfile
from workshop.selectors.leather_need import (
    count_key,
    count_request,
    hides_in_stock,
    leather_fits,
    leather_need,
)
from workshop.services.cuttings import hide_cut, hide_release, hide_reserve
from workshop.services.quoting import Worked
from workshop.services.stock_pairs import count_start
from workshop.views.job_choice import changed_query, choice_pairs, choice_query
from workshop.views.job_worked import worked_from
from workshop.views.pages import take_errors
from workshop.work import STOCK_PAIRS, work_found, work_latest

WANTED = ("colour", "thinnest_mm", "thickest_mm")


def _job(job_id: int) -> Commission:
    return get_object_or_404(Commission.objects.select_related("customer", "doll"), pk=job_id)


def _choice(commission: Commission, query: QueryDict) -> tuple[ChoiceForm, Worked | None]:
    form = ChoiceForm(query, job=commission)
    return form, worked_from(form, commission, with_money=False)


def job_leather(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show which hides fit the job, and how many pairs of it are left in the stock."""
    commission = _job(job_id)
    form, worked = _choice(commission, request.GET)
    need = leather_need(worked) if worked is not None else None
    asked = LeatherWantedForm(request.GET)
    context: dict[str, Any] = {
        "commission": commission,
        "form": form,
        "worked": worked,
        "asked": asked,
        "need": need,
        "query": choice_query(form),
        "choice_pairs": list(choice_pairs(form)),
        "wanted_pairs": [(name, request.GET[name]) for name in WANTED if request.GET.get(name)],
        "may_choose": request.role in MAKERS,
        "currency": WorkshopProfile.current().currency,
        "is_faulty": not asked.is_valid(),
    }
    if worked is not None and need is not None:
        context |= _fits(request, commission, form, worked, asked)
    return render(request, "orders/job_leather.html", context)


def _fits(
    request: HttpRequest,
    commission: Commission,
    form: ChoiceForm,
    worked: Worked,
    asked: LeatherWantedForm,
) -> dict[str, Any]:
    need = leather_need(worked)
    assert need is not None
    work, laid = _counted(worked, asked)
    fits = leather_fits(
        need,
        asked.wanted(),
        pair_count=worked.choice.pair_count,
        commission=commission,
        role=request.role,
        laid=laid,
    )
    base = QueryDict(choice_query(form))
    return {
        "fits": fits,
        "work": work,
        "rows": [(fit, changed_query(base, {"hide": str(fit.hide.pk)})) for fit in fits.hides],
        "offers": [(fit, changed_query(base, {"hide": f"L{fit.lot.pk}"})) for fit in fits.offers],
    }


def _counted(
    worked: Worked, asked: LeatherWantedForm
) -> tuple[BackgroundJob | None, dict[str, int] | None]:
    """Return the work that counts pairs of these hides, and what it found."""
    hides = hides_in_stock(asked.wanted())
    if not hides:
        return None, None
    try:
        key = count_key(count_request(worked, hides))
    except PatternError:
        return None, None
    done = work_found(STOCK_PAIRS, key)
    return work_latest(STOCK_PAIRS, key), done.result["pairs"] if done is not None else None


def stock_count(request: HttpRequest, job_id: int) -> HttpResponse:
    """Hand the counting of pairs in the stock to the worker."""
    commission = _job(job_id)
    form, worked = _choice(commission, request.POST)
    asked = LeatherWantedForm(request.POST)
    hides = hides_in_stock(asked.wanted())
    try:
        if worked is None or worked.pieces is None or not hides:
            raise ValidationError(_("There is no hide to count, or nothing can be drawn yet."))
        count_start(count_request(worked, hides), by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    except PatternError as error:
        messages.error(request, str(error))
    query = QueryDict(choice_query(form), mutable=True)
    query.update({name: request.POST[name] for name in WANTED if request.POST.get(name)})
    return redirect(f"{reverse('job-leather', args=[job_id])}?{query.urlencode()}")


def hide_keep(request: HttpRequest, job_id: int) -> HttpResponse:
    """Reserve a hide for the job, or release one."""
    commission = _job(job_id)
    hide = get_object_or_404(Hide.objects.select_related("lot"), pk=_number(request, "which"))
    try:
        if "release" in request.POST:
            hide_release(hide, commission=commission, by=request.user)
            messages.success(request, _("%(hide)s is free again.") % {"hide": hide.code})
        else:
            hide_reserve(hide, commission=commission, by=request.user)
            messages.success(
                request,
                _("%(hide)s is reserved for %(job)s.")
                % {"hide": hide.code, "job": commission.code},
            )
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    form = ChoiceForm(request.POST, job=commission)
    return redirect(f"{reverse('job', args=[job_id])}?{choice_query(form)}&station=leather")


def _number(request: HttpRequest, name: str) -> int:
    text = request.POST.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 12 else 0


def layout_cut(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show what would be left of the hide after this layout, or note that it was cut."""
    commission = _job(job_id)
    given = request.POST if request.method == "POST" else request.GET
    form, worked = _choice(commission, given)
    query = choice_query(form)
    if worked is None or worked.layout is None or worked.request is None:
        messages.error(request, _("Lay the pieces out first; then the hide can be cut."))
        return redirect(f"{reverse('job', args=[job_id])}?{query}&station=leather")
    is_asked = any(name in given for name in CutForm.base_fields)
    sizes = CutForm(given if is_asked else _first_sizes())
    context: dict[str, Any] = {
        "commission": commission,
        "worked": worked,
        "sizes": sizes,
        "query": query,
        "choice_pairs": list(choice_pairs(form)),
    }
    assert worked.choice.hide is not None
    if sizes.is_valid():
        width, area = sizes.cleaned_data["least_width_mm"], sizes.least_area_mm2
        if request.method == "POST":
            try:
                cutting = hide_cut(
                    worked.choice.hide,
                    commission=commission,
                    request=worked.request,
                    layout=worked.layout,
                    least_width_mm=width,
                    least_area_mm2=area,
                    by=request.user,
                )
            except ValidationError as error:
                take_errors(sizes, error)
            else:
                return redirect("cutting", cutting.pk)
        context["sheet"] = leftovers_sheet(
            worked.choice.hide, worked.request, worked.layout, float(width), float(area)
        )
    return render(request, "orders/layout_cut.html", context)


def _first_sizes() -> dict[str, Any]:
    return {name: field.initial for name, field in CutForm.base_fields.items()}
