"""The day plan: the coming days as lanes, the order of the jobs, and what the days are made by."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.day_sheet import day_asked, drawn_days
from workshop.forms.day_plan import DayEntry, TurnsForm
from workshop.selectors.day_plan import by_due_day, days_shown
from workshop.services.day_plan import (
    day_settings_save,
    jobs_order,
    order_moved,
    order_typed,
)
from workshop.views.pages import take_errors

MOVES = {"earlier": -1, "later": 1}


def day(request: HttpRequest) -> HttpResponse:
    """Show the coming days, from today or ?from=, and the open jobs in their order."""
    shown = days_shown(timezone.now())
    return _page(request, shown, TurnsForm(None, jobs=shown.jobs))


def _page(request: HttpRequest, shown: Any, form: TurnsForm) -> HttpResponse:
    today = timezone.localdate()
    first = day_asked(request.GET.get("from", ""), today)
    days, after = drawn_days(shown, first)
    last = max((row.ready_on for row in shown.jobs if row.ready_on), default=today)
    context = {
        "shown": shown,
        "form": form,
        "days": days,
        "first": first,
        "is_today": first == today,
        "after": after if after <= last else None,
    }
    return render(request, "day_plan/day.html", context)


def day_order(request: HttpRequest) -> HttpResponse:
    """Move a job by a button, take the typed turns, or put all by the day they are due."""
    shown = days_shown(timezone.now())
    order = [row.job.commission.pk for row in shown.jobs]
    form = TurnsForm(request.POST, jobs=shown.jobs)
    way, _colon, key = request.POST.get("move", "").partition(":")
    if way == "due":
        wanted = by_due_day(shown.jobs)
    elif way in MOVES:
        if not key.isascii() or not key.isdigit() or int(key[:12]) not in order:
            messages.error(request, _("This job is not open any more."))
            return redirect("day")
        wanted = order_moved(order, int(key), MOVES[way])
    elif form.is_valid():
        wanted = order_typed(order, form.typed())
    else:
        return _page(request, shown, form)
    try:
        jobs_order(wanted, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("The order is kept; the days are worked out again."))
    return redirect("day")


def day_settings(request: HttpRequest) -> HttpResponse:
    """Show and change working hours, days off, oven, delivery, post, and the places of steps."""
    entry = DayEntry(request.POST if request.method == "POST" else None)
    if request.method == "POST" and entry.is_valid():
        try:
            day_settings_save(
                entry.form.save(commit=False),
                week=entry.week_rows(),
                days_off=entry.off_rows(),
                post=entry.post_rows(),
                places=entry.place_rows(),
                by=request.user,
            )
        except ValidationError as error:
            take_errors(entry.form, error)
        else:
            messages.success(request, _("The settings of the days are in use."))
            return redirect("day-settings")
    context = {"entry": entry, "has_faults": entry.has_faults}
    return render(request, "day_plan/settings.html", context)
