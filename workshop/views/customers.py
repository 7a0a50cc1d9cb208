"""Customers: the list, one customer, and the form."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from workshop.forms.library import CustomerForm
from workshop.list_columns import CUSTOMERS
from workshop.listing import Listing
from workshop.models import Commission, Customer
from workshop.paging import list_page
from workshop.selectors.library import customers_found, dolls_of
from workshop.views.large import answers_too_much, told_too_long
from workshop.views.pages import record_form_page, search_text

LONGEST_NOTE = Customer._meta.get_field("note").max_length


def customers(request: HttpRequest) -> HttpResponse:
    """Show the customers, newest first, or those a search finds."""
    text, listing = search_text(request), Listing(CUSTOMERS, request)
    context = {"listing": listing, "page": listing.page(customers_found(text)), "text": text}
    return render(request, "customers/customers.html", context)


def customers_file(request: HttpRequest) -> HttpResponse:
    """Send the customers a search finds as a table."""
    listing = Listing(CUSTOMERS, request)
    return listing.file("customers", listing.all_of(customers_found(search_text(request))))


def customer(request: HttpRequest, customer_id: int) -> HttpResponse:
    """Show one customer with the dolls and the jobs."""
    record = get_object_or_404(Customer, pk=customer_id)
    jobs = Commission.objects.filter(customer=record).select_related("doll").order_by("-number")
    context = {
        "customer": record,
        "dolls": dolls_of(record, request.role),
        "page": list_page(jobs, request.GET.get("before", "")),
    }
    return render(request, "customers/customer.html", context)


def _new_too_much(request: HttpRequest) -> HttpResponse:
    form = told_too_long(CustomerForm(request.typed), "note", LONGEST_NOTE)
    return _form_page(request, form, None)


def _change_too_much(request: HttpRequest, customer_id: int) -> HttpResponse:
    record = get_object_or_404(Customer, pk=customer_id)
    shown = str(record)
    kept = {field.name: field.value() for field in CustomerForm(instance=record)}
    typed = {**kept, **request.typed.dict(), "note": record.note}
    return _form_page(
        request, told_too_long(CustomerForm(typed, instance=record), "note", LONGEST_NOTE), shown
    )


@answers_too_much(_new_too_much)
def customer_new(request: HttpRequest) -> HttpResponse:
    """Show the form for a new customer, or save one."""
    return _form_page(request, CustomerForm(request.POST or None), None)


@answers_too_much(_change_too_much)
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
