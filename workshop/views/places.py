"""Places of sale with their fees, and postage and tax by destination."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from workshop.forms.places import DestinationEntry, PlaceEntry
from workshop.models import DestinationTable, PlaceOfSale, WorkshopProfile
from workshop.selectors.places import destinations_in_use, places_shown
from workshop.services.places import destinations_save, place_offer, place_save
from workshop.views.pages import take_errors


def places(request: HttpRequest) -> HttpResponse:
    """Show the places of sale and what each keeps."""
    return render(request, "rates/places.html", {"places": places_shown(), **_currency()})


def place(request: HttpRequest, place_id: int) -> HttpResponse:
    """Show a place with the versions of its fees, the newest in use."""
    record = get_object_or_404(PlaceOfSale, pk=place_id)
    versions = record.versions.select_related("made_by").prefetch_related("fees")
    context = {"place": record, "versions": versions, **_currency()}
    return render(request, "rates/place.html", context)


def place_new(request: HttpRequest) -> HttpResponse:
    """Ask for a new place of sale."""
    return _place_page(request, PlaceOfSale())


def place_change(request: HttpRequest, place_id: int) -> HttpResponse:
    """Ask for a new version of a place's fees, beginning with the one in use."""
    return _place_page(request, get_object_or_404(PlaceOfSale, pk=place_id))


def _place_page(request: HttpRequest, record: PlaceOfSale) -> HttpResponse:
    newest = None
    if record.pk is not None:
        newest = record.versions.prefetch_related("fees").first()
    entry = PlaceEntry(request.POST or None, place=record, newest=newest)
    if request.method == "POST" and entry.is_valid():
        try:
            version = place_save(
                entry.place_form.save(commit=False),
                entry.form.save(commit=False),
                entry.fees(),
                by=request.user,
                begun_from=entry.form.cleaned_data["begun_from"],
            )
        except ValidationError as error:
            take_errors(entry.form, error)
        else:
            messages.success(request, _("%(place)s is saved.") % {"place": version.place})
            return redirect("place", version.place_id)
    context = {"entry": entry, "is_new": newest is None, **_currency()}
    return render(request, "rates/place_form.html", context)


def place_offered(request: HttpRequest, place_id: int) -> HttpResponse:
    """Offer a place for new quotes, or not any more."""
    record = get_object_or_404(PlaceOfSale, pk=place_id)
    place_offer(record, is_offered=request.POST.get("offer") == "1", by=request.user)
    return redirect("place", place_id)


def destinations(request: HttpRequest) -> HttpResponse:
    """Show postage and tax by destination, ?version= for one out of use."""
    table, newest = destinations_in_use(), True
    asked = request.GET.get("version", "")
    if asked.isascii() and asked.isdigit() and len(asked) < 9:
        found = get_object_or_404(
            DestinationTable.objects.prefetch_related("postage", "taxes"), version=int(asked)
        )
        table, newest = found, found == table
    versions = DestinationTable.objects.select_related("made_by")[:50]
    context = {"table": table, "is_newest": newest, "versions": versions, **_currency()}
    return render(request, "rates/destinations.html", context)


def destinations_new(request: HttpRequest) -> HttpResponse:
    """Ask for a new version of postage and tax, beginning with the one in use."""
    newest = destinations_in_use()
    entry = DestinationEntry(request.POST or None, newest=newest)
    if request.method == "POST" and entry.is_valid():
        try:
            destinations_save(
                entry.form.save(commit=False),
                entry.postage_lines(),
                entry.tax_rows(),
                by=request.user,
                begun_from=entry.form.cleaned_data["begun_from"],
            )
        except ValidationError as error:
            take_errors(entry.form, error)
        else:
            messages.success(request, _("Postage and tax are in use."))
            return redirect("destinations")
    return render(request, "rates/destinations_form.html", {"entry": entry, **_currency()})


def _currency() -> dict[str, str]:
    return {"currency": WorkshopProfile.current().currency}
