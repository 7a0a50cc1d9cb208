"""Supplies and the ledger of what came and went."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from workshop.doors import OWNER
from workshop.forms.stock import MoveForm, SupplyForm
from workshop.models import Supply, WorkshopProfile
from workshop.selectors.reservations import jobs_holding
from workshop.selectors.stock import ledger_page, supplies_page, supply_row
from workshop.services.reservations import move_book
from workshop.services.stock import supply_save
from workshop.views.pages import search_text, take_errors


def supplies(request: HttpRequest) -> HttpResponse:
    """Show the supplies with what is on hand."""
    asked = {"q": search_text(request), "kind": request.GET.get("kind", "")}
    page = supplies_page(
        request.role, text=asked["q"], kind=asked["kind"], before=request.GET.get("before", "")
    )
    context = {"page": page, "asked": asked, "kinds": Supply.Kind.choices, **_currency()}
    return render(request, "supplies/supplies.html", context)


def supply_new(request: HttpRequest) -> HttpResponse:
    """Ask for a new supply."""
    return _supply_form_page(request, SupplyForm(request.POST or None), title=_("New supply"))


def supply_change(request: HttpRequest, supply_id: int) -> HttpResponse:
    """Change a supply; its ledger stays as it is."""
    record = get_object_or_404(Supply, pk=supply_id)
    title = _("Change %(supply)s") % {"supply": record}
    return _supply_form_page(
        request, SupplyForm(request.POST or None, instance=record), title=title
    )


def _supply_form_page(request: HttpRequest, form: SupplyForm, *, title: str) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        record = form.save(commit=False)
        try:
            supply_save(record, by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("%(record)s is saved.") % {"record": record})
            return redirect("supply", record.pk)
    return render(request, "supplies/supply_form.html", {"form": form, "title": title})


def supply(request: HttpRequest, supply_id: int) -> HttpResponse:
    """Show a supply with its ledger."""
    record = _supply(supply_id)
    return _supply_page(request, record, _move_form(request, record))


def stock_move(request: HttpRequest, supply_id: int) -> HttpResponse:
    """Book what was bought, counted or used up."""
    record = _supply(supply_id)
    form = _move_form(request, record)
    if request.method == "POST" and form.is_valid():
        try:
            move = move_book(record, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("Booked: %(move)s.") % {"move": move})
            return redirect("supply", record.pk)
    return _supply_page(request, record, form)


def _supply(supply_id: int) -> Supply:
    return get_object_or_404(Supply.objects.select_related("balance"), pk=supply_id)


def _move_form(request: HttpRequest, record: Supply) -> MoveForm:
    return MoveForm(
        request.POST or None,
        unit=str(record.get_unit_display()),
        may_buy=request.role == OWNER,
    )


def _supply_page(request: HttpRequest, record: Supply, form: MoveForm) -> HttpResponse:
    context = {
        "supply": supply_row(record, request.role),
        "page": ledger_page(record, before=request.GET.get("before", "")),
        "form": form,
        "holding": jobs_holding(record),
        **_currency(),
    }
    return render(request, "supplies/supply.html", context)


def _currency() -> dict[str, object]:
    return {"currency": WorkshopProfile.current().currency}
