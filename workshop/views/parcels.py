"""The parcels of a job."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from workshop.doors import MONEY
from workshop.forms.parcels import ParcelForm
from workshop.models import Commission, Parcel, WorkshopProfile
from workshop.services.parcels import MAY_SEND, parcel_change, parcel_send
from workshop.views.pages import take_errors


def job_parcels(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show a job's parcels, and write one down."""
    jobs = Commission.objects.select_related("doll", "customer")
    commission = get_object_or_404(jobs, pk=job_id)
    parcel = Parcel(commission=commission)
    form = ParcelForm(request.POST or None, instance=parcel, with_money=request.role in MONEY)
    if request.method == "POST" and form.is_valid():
        try:
            with_goods = form.cleaned_data.get("with_goods", False)
            parcel_send(parcel, with_goods=with_goods, by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("The parcel is written down."))
            return redirect("job-parcels", job_id)
    context = {
        "commission": commission,
        "form": form,
        "parcels": Parcel.objects.filter(commission_id=job_id).select_related("made_by"),
        "may_send": commission.state in MAY_SEND,
        "currency": WorkshopProfile.current().currency,
    }
    return render(request, "orders/parcels.html", context)


def parcel(request: HttpRequest, parcel_id: int) -> HttpResponse:
    """Change a parcel: a tracking number or a cost that became known later."""
    parcels = Parcel.objects.select_related("commission__doll", "commission__customer")
    record = get_object_or_404(parcels, pk=parcel_id)
    form = ParcelForm(request.POST or None, instance=record, with_money=request.role in MONEY)
    if request.method == "POST" and form.is_valid():
        try:
            parcel_change(record, by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("The parcel is saved."))
            return redirect("job-parcels", record.commission_id)
    context = {"commission": record.commission, "form": form, "parcel": record}
    return render(request, "orders/parcel.html", context)
