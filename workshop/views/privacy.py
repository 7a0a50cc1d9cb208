"""What is stored about customers; a customer's data given out, and erased."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from workshop.forms.privacy import EraseForm, KeepForm
from workshop.models import Customer, WorkshopProfile
from workshop.paging import list_page
from workshop.privacy_map import STORED
from workshop.selectors.privacy import customers_past
from workshop.services.privacy import customer_erase, customer_export, in_hand
from workshop.views.pages import record_form_page, take_errors


def privacy(request: HttpRequest) -> HttpResponse:
    """Show what is stored and for how long, and who is kept longer than was set."""
    profile = WorkshopProfile.current()
    months = profile.keep_customers_months
    past = customers_past(months) if months else Customer.objects.none()
    form = KeepForm(request.POST if request.method == "POST" else None, instance=profile)
    return record_form_page(
        request,
        form,
        template="settings/privacy.html",
        then="privacy",
        context={
            "stored": STORED,
            "months": months,
            "page": list_page(past, request.GET.get("before", "")),
        },
        said=_("The setting is saved."),
        columns=KeepForm.Meta.fields,
    )


def customer_given_out(request: HttpRequest, customer_id: int) -> HttpResponse:
    """Send all that is stored about a customer as a ZIP."""
    customer = get_object_or_404(Customer, pk=customer_id)
    content = customer_export(customer, by=request.user)
    response = HttpResponse(content, content_type="application/zip")
    response.headers["Content-Disposition"] = f'attachment; filename="{customer.code}.zip"'
    return response


def customer_erased(request: HttpRequest, customer_id: int) -> HttpResponse:
    """Ask what goes, and erase a customer."""
    customer = get_object_or_404(Customer, pk=customer_id)
    form = EraseForm(request.POST if request.method == "POST" else None, customer=customer)
    if request.method == "POST" and form.is_valid():
        try:
            customer_erase(customer, choice=form.choice(), by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(
                request,
                _("%(code)s is erased; amounts and measures stay.") % {"code": customer.code},
            )
            return redirect("customer", customer.pk)
    context = {"customer": customer, "form": form, "in_hand": in_hand(customer)}
    return render(request, "customers/erase.html", context)
