"""A job counted back, and what timings propose for the rate card."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from workshop.models import Commission, RateCard
from workshop.selectors.counting_back import job_counted
from workshop.selectors.learning import proposals
from workshop.services.learning import timings_accept


def counted_back(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show a job's estimate beside what it took, line by line, and the profit it earned."""
    commission = get_object_or_404(Commission.objects.select_related("doll"), pk=job_id)
    context = {"commission": commission, "job": job_counted(commission)}
    return render(request, "work/counted.html", context)


def rates_learned(request: HttpRequest) -> HttpResponse:
    """Show what timings propose for each step; the owner accepts or leaves each."""
    card = RateCard.objects.prefetch_related("steps").order_by("-version").first()
    ticked = {int(pk) for pk in request.POST.getlist("step") if pk.isdecimal() and len(pk) < 12}
    if request.method == "POST":
        shown = request.POST.get("card", "")
        try:
            if card is None or shown != str(card.pk):
                raise ValidationError(
                    _("Another rate card came into use meanwhile; look at its proposals.")
                )
            new = timings_accept(card, ticked, by=request.user)
        except ValidationError as error:
            messages.error(request, " ".join(error.messages))
        else:
            messages.success(
                request, _("Rate card %(version)s is in use.") % {"version": new.version}
            )
            return redirect("rate", new.pk)
    context = {"card": card, "proposals": proposals(card), "ticked": ticked}
    return render(request, "rates/learned.html", context)
