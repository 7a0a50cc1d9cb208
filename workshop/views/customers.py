"""Customers: the list, one customer, and the form."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from workshop.forms.library import CustomerForm
from workshop.models import Customer
from workshop.selectors.library import customers_found, dolls_of
from workshop.views.pages import record_form_page, search_text


def customers(request: HttpRequest) -> HttpResponse:
    """Show the customers, newest first, or those a search finds."""
    text = search_text(request)
    page = customers_found(text, request.GET.get("before", ""))
    return render(request, "customers/customers.html", {"page": page, "text": text})


def customer(request: HttpRequest, customer_id: int) -> HttpResponse:
    """Show one customer with the dolls."""
    record = get_object_or_404(Customer, pk=customer_id)
    dolls = dolls_of(record, request.role)
    return render(request, "customers/customer.html", {"customer": record, "dolls": dolls})


def customer_new(request: HttpRequest) -> HttpResponse:
    """Show the form for a new customer, or save one."""
    return _form_page(request, CustomerForm(request.POST or None), None)


def customer_change(request: HttpRequest, customer_id: int) -> HttpResponse:
    """Show a customer's form, or save the change."""
    record = get_object_or_404(Customer, pk=customer_id)
    shown = str(record)
    return _form_page(request, CustomerForm(request.POST or None, instance=record), shown)


def _form_page(request: HttpRequest, form: CustomerForm, shown: str | None) -> HttpResponse:
    return record_form_page(
        request,
        form,
        template="customers/customer_form.html",
        then=lambda record: reverse("customer", args=[record.pk]),
        context={"shown": shown},
    )
