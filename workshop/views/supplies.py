"""Supplies and the ledger of what came and went."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from workshop.doors import OWNER
from workshop.forms.stock import MoveForm, SupplyForm
from workshop.list_columns import MOVES, SUPPLIES
from workshop.listing import Listing
from workshop.models import StockMove, Supply, WorkshopProfile
from workshop.selectors.reservations import jobs_holding
from workshop.selectors.stock import moves_found, supplies_found, supply_row
from workshop.services.reservations import move_book
from workshop.services.stock import supply_save
from workshop.views.pages import changes_of, search_text, take_errors


def supplies(request: HttpRequest) -> HttpResponse:
    """Show the supplies with what is on hand."""
    asked, listing = _asked(request), Listing(SUPPLIES, request)
    context = {
        "listing": listing,
        "page": listing.page(supplies_found(asked["q"], asked["kind"]), supply_row),
        "asked": asked,
        "kinds": Supply.Kind.choices,
        **_currency(),
    }
    return render(request, "supplies/supplies.html", context)


def supplies_file(request: HttpRequest) -> HttpResponse:
    """Send the supplies that a search and a kind leave as a table."""
    asked, listing = _asked(request), Listing(SUPPLIES, request)
    found = supplies_found(asked["q"], asked["kind"])
    return listing.file("supplies", listing.all_of(found, supply_row))


def _asked(request: HttpRequest) -> dict[str, str]:
    return {"q": search_text(request), "kind": request.GET.get("kind", "")}


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
            supply_save(record, by=request.user, **changes_of(form))
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


def supply_file(request: HttpRequest, supply_id: int) -> HttpResponse:
    """Send a supply's ledger as a table."""
    record, listing = _supply(supply_id), Listing(MOVES, request, key="id")
    found = moves_found(record, request.GET.get("kind", ""))
    return listing.file(f"moves-{record.code}", listing.all_of(found))


def _supply_page(request: HttpRequest, record: Supply, form: MoveForm) -> HttpResponse:
    listing, kind = Listing(MOVES, request, key="id"), request.GET.get("kind", "")
    context = {
        "supply": supply_row(record, request.role),
        "listing": listing,
        "page": listing.page(moves_found(record, kind)),
        "kind": kind,
        "kinds": StockMove.Kind.choices,
        "form": form,
        "holding": jobs_holding(record),
        **_currency(),
    }
    return render(request, "supplies/supply.html", context)


def _currency() -> dict[str, object]:
    return {"currency": WorkshopProfile.current().currency}
