"""Rate cards: the versions, one of them, and a new one."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from workshop.forms.rates import RateEntry
from workshop.models import RateCard, WorkshopProfile
from workshop.paging import list_page
from workshop.selectors.rates import card_groups
from workshop.services.rates import rate_card_make
from workshop.views.pages import take_errors


def rates(request: HttpRequest) -> HttpResponse:
    """Show the versions of the rate card; the newest is in use."""
    cards = RateCard.objects.select_related("made_by")
    page = list_page(cards, request.GET.get("before", ""), key="version")
    newest = cards.first()
    context = {"page": page, "newest": newest, **_currency()}
    return render(request, "rates/rates.html", context)


def rate(request: HttpRequest, card_id: int) -> HttpResponse:
    """Show one version with its work steps."""
    card = get_object_or_404(RateCard.objects.select_related("made_by"), pk=card_id)
    newest = RateCard.objects.only("pk").first()
    context = {
        "card": card,
        "is_newest": newest == card,
        "groups": card_groups(card, _currency()["currency"]),
        "steps": card.steps.all(),
        **_currency(),
    }
    return render(request, "rates/rate.html", context)


def rate_new(request: HttpRequest) -> HttpResponse:
    """Ask for a new version, beginning with the newest."""
    newest = RateCard.objects.prefetch_related("steps").first()
    entry = RateEntry(request.POST or None, newest=newest)
    if request.method == "POST" and entry.is_valid():
        try:
            card = rate_card_make(
                entry.card(),
                entry.step_rows(),
                by=request.user,
                begun_from=entry.form.cleaned_data["begun_from"],
            )
        except ValidationError as error:
            take_errors(entry.form, error)
        else:
            messages.success(
                request, _("Rate card %(version)s is in use.") % {"version": card.version}
            )
            return redirect("rate", card.pk)
    return render(request, "rates/rate_form.html", {"entry": entry, **_currency()})


def _currency() -> dict[str, str]:
    return {"currency": WorkshopProfile.current().currency}
