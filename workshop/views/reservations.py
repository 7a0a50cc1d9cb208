"""What is reserved for a job: supplies kept, missing and taken, and the deposit they wait for."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from workshop.models import Commission
from workshop.selectors.payments import account_of
from workshop.selectors.reservations import reserved_shown
from workshop.services.payments import deposit_note_by_hand
from workshop.services.reservations import (
    reservations_lapse,
    supplies_release,
    supplies_reserve,
)
from workshop.templatetags.stock_words import counted_units


def _job(job_id: int) -> Commission:
    return get_object_or_404(Commission.objects.select_related("doll"), pk=job_id)


def job_reserved(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show what a job has reserved and what is missing."""
    commission = _job(job_id)
    context = {
        "commission": commission,
        "shown": reserved_shown(commission),
        "account": account_of(commission) if commission.payments.exists() else None,
    }
    return render(request, "orders/reserved.html", context)


def job_reserve(request: HttpRequest, job_id: int) -> HttpResponse:
    """Reserve what a job still misses, as far as it is free."""
    commission = _job(job_id)
    reservations_lapse()  # what others hold beyond their day is free
    try:
        supplies_reserve(commission, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("job-reserved", job_id)
    missing = reserved_shown(commission).missing
    if not missing:
        messages.success(request, _("Everything the job takes is reserved."))
    for line in missing:
        messages.warning(
            request,
            _(
                "Missing: %(missing)s of %(supply)s. The shelf has no more of it free; another job"
                " may have been first. It stands on the list of what to buy."
            )
            % {
                "missing": counted_units(line.missing, line.supply.unit),
                "supply": line.supply.name,
            },
        )
    return redirect("job-reserved", job_id)


def job_release(request: HttpRequest, job_id: int) -> HttpResponse:
    """Let everything go that is reserved for a job."""
    if supplies_release(_job(job_id), by=request.user):
        messages.success(request, _("What was reserved for the job is free again."))
    return redirect("job-reserved", job_id)


def job_deposit(request: HttpRequest, job_id: int) -> HttpResponse:
    """Note that the deposit is here, or take that back."""
    try:
        deposit_note_by_hand(_job(job_id), is_paid=request.POST.get("paid") == "1", by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("It is noted."))
    return redirect("job-reserved", job_id)
