"""Dolls: the list, one doll with every foot measured, and the form."""

from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from workshop.documents.measuring_card import measuring_card_text
from workshop.forms.library import DollForm
from workshop.forms.measuring import AskForm
from workshop.list_columns import DOLLS
from workshop.listing import Listing
from workshop.models import Doll
from workshop.paper_values import card_heading
from workshop.selectors.library import (
    customer_suggestions,
    doll_card,
    doll_row,
    doll_with_customer_name,
    dolls_found,
)
from workshop.selectors.measuring_links import links_of
from workshop.views.large import answers_too_much, told_too_long
from workshop.views.pages import record_form_page, search_text

LONGEST_NOTE = Doll._meta.get_field("note").max_length


def dolls(request: HttpRequest) -> HttpResponse:
    """Show the dolls, newest first, or those a search finds."""
    text, house_only, found = _found(request)
    listing = Listing(DOLLS, request)
    context = {
        "listing": listing,
        "page": listing.page(found, doll_row),
        "text": text,
        "house_only": house_only,
    }
    return render(request, "dolls/dolls.html", context)


def dolls_file(request: HttpRequest) -> HttpResponse:
    """Send the dolls a search finds as a table."""
    listing = Listing(DOLLS, request)
    return listing.file("dolls", listing.all_of(_found(request)[2], doll_row))


def _found(request: HttpRequest) -> tuple[str, bool, QuerySet[Doll]]:
    text, house_only = search_text(request), request.GET.get("house") == "1"
    return text, house_only, dolls_found(text, house_only=house_only)


def doll(request: HttpRequest, doll_id: int) -> HttpResponse:
    """Show one doll."""
    return doll_page(request, doll_id, AskForm(label_suffix=""))


def doll_page(request: HttpRequest, doll_id: int, ask_form: AskForm) -> HttpResponse:
    """Show one doll, with what was typed for a measuring link."""
    record = doll_with_customer_name(doll_id)
    if record is None:
        raise Http404
    context = {
        "card": doll_card(record, request.role),
        "card_text": measuring_card_text(heading=card_heading(record)),
        "links": links_of(record),
        "ask_form": ask_form,
    }
    return render(request, "dolls/doll.html", context)


def _new_too_much(request: HttpRequest) -> HttpResponse:
    return _form_page(request, told_too_long(DollForm(request.typed), "note", LONGEST_NOTE), None)


def _change_too_much(request: HttpRequest, doll_id: int) -> HttpResponse:
    record = get_object_or_404(Doll, pk=doll_id)
    shown = str(record)
    kept = {field.name: field.value() for field in DollForm(instance=record)}
    typed = {**kept, **request.typed.dict(), "note": record.note}
    return _form_page(
        request, told_too_long(DollForm(typed, instance=record), "note", LONGEST_NOTE), shown
    )


@answers_too_much(_new_too_much)
def doll_new(request: HttpRequest) -> HttpResponse:
    """Show the form for a new doll, or save one; ?customer= names whose it is."""
    customer = request.GET.get("customer", "")[:20]
    return _form_page(request, DollForm(request.POST or None, initial={"customer": customer}), None)


@answers_too_much(_change_too_much)
def doll_change(request: HttpRequest, doll_id: int) -> HttpResponse:
    """Show a doll's form, or save the change."""
    record = get_object_or_404(Doll, pk=doll_id)
    shown = str(record)
    return _form_page(request, DollForm(request.POST or None, instance=record), shown)


def _form_page(request: HttpRequest, form: DollForm, shown: str | None) -> HttpResponse:
    return record_form_page(
        request,
        form,
        template="dolls/doll_form.html",
        then=lambda record: reverse("doll", args=[record.pk]),
        context={"shown": shown, "suggestions": customer_suggestions()},
    )
