"""Corrections: noting one from a job's page, and taking one back."""

from urllib.parse import parse_qsl, urlencode

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from workshop.forms.corrections import USUAL_AMOUNTS, CorrectionForm
from workshop.models import Commission, Correction, Style
from workshop.selectors.styles import pattern_of
from workshop.services.corrections import correction_note, correction_withdraw
from workshop.views.pages import take_errors

QUERY_MOST = 2000


def correction_new(request: HttpRequest, job_id: int, style_id: int) -> HttpResponse:
    """Ask what a mock-up or wear taught of a style on this doll, and keep it."""
    commission = get_object_or_404(Commission.objects.select_related("doll"), pk=job_id)
    style = get_object_or_404(Style, pk=style_id)
    pattern = pattern_of(style)
    if pattern is None:
        raise Http404(_("The pattern of this style is there no more."))
    form = CorrectionForm(request.POST or None, pattern=pattern)
    if request.method == "POST" and form.is_valid():
        try:
            correction_note(
                commission=commission,
                style=style,
                place=form.place(),
                change_mm=form.change_mm(),
                reason=form.cleaned_data["reason"],
                by=request.user,
            )
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("The correction is kept and applied from now on."))
            return redirect(job_address(request, commission.pk))
    context = {
        "commission": commission,
        "style": style,
        "form": form,
        "amounts": USUAL_AMOUNTS,
        "choice": request.POST.get("choice", request.GET.urlencode())[:QUERY_MOST],
    }
    return render(request, "orders/correction_new.html", context)


def correction_take_back(request: HttpRequest, correction_id: int) -> HttpResponse:
    """Take a correction back; it stays in the list."""
    correction = get_object_or_404(Correction, pk=correction_id)
    try:
        correction_withdraw(correction, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    job_id = request.POST.get("job", "")
    is_number = job_id.isascii() and job_id.isdigit() and len(job_id) < 12
    if not is_number or not Commission.objects.filter(pk=int(job_id)).exists():
        return redirect("doll", correction.doll_id)
    return redirect(job_address(request, int(job_id)))


def job_address(request: HttpRequest, job_id: int) -> str:
    """Return the job's address with the choice the form came from, pieces opened."""
    pairs = dict(parse_qsl(request.POST.get("choice", "")[:QUERY_MOST])) | {"station": "pieces"}
    return f"{reverse('job', args=[job_id])}?{urlencode(pairs)}#corrections"
