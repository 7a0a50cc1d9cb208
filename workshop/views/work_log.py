"""The work log of a job: timers for a phone, stretches by hand, and the material really used."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.forms import Form
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from workshop.doors import MAKERS, OWNER
from workshop.forms.work_log import MaterialForm, PressForm, StopForm, StretchForm
from workshop.models import Commission, WorkLog
from workshop.selectors.work_log import (
    is_long,
    running_timers,
    steps_shown,
    stretches,
    supply_uses,
)
from workshop.services.stock import stock_use_for
from workshop.services.work_log import (
    may_write,
    minutes_so_far,
    pressed_at,
    work_remove,
    work_start,
    work_stop,
    work_write,
)
from workshop.tokens import random_token
from workshop.views.pages import take_errors


def work_log(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show a job's steps with their timers, and what was written down so far."""
    return _page(request, _job(job_id))


def work_start_press(request: HttpRequest, job_id: int) -> HttpResponse:
    """Start a timer, pressed now or, as the script says, a while ago."""
    commission, form = _job(job_id), PressForm(request.POST)
    if "step" in form.errors and not _is_by_script(request):
        return _page(request, commission, pressed=form)
    if not form.is_valid():
        return _answer(request, commission, _("That press was not understood; press it again."))
    data = form.cleaned_data
    try:
        work_start(
            commission,
            step=data["step"],
            passive=data["passive"],
            at=pressed_at(data["ago_s"]),
            key=data["key"],
            by=request.user,
        )
    except ValidationError as error:
        return _answer(request, commission, " ".join(error.messages))
    return _answer(request, commission)


def work_stop_press(request: HttpRequest) -> HttpResponse:
    """Stop the timer that was started with a key; one that is stopped already stays as it is."""
    form = StopForm(request.POST)
    key = form.cleaned_data["key"] if form.is_valid() else ""
    entry = get_object_or_404(WorkLog.objects.select_related("commission__doll"), start_key=key)
    if not may_write(entry, by=request.user, is_owner=request.role == OWNER):
        said = _("That timer is somebody else's; only they or the owner can stop it.")
        return _answer(request, entry.commission, said)
    work_stop(entry, at=pressed_at(form.cleaned_data["ago_s"]), by=request.user)
    said = ""
    if is_long(entry, timezone.now()):
        said = _("That stretch is longer than anybody works at once; correct it if need be.")
    return _answer(request, entry.commission, said)


def _is_by_script(request: HttpRequest) -> bool:
    return "application/json" in request.headers.get("Accept", "")


def _answer(request: HttpRequest, commission: Commission, said: str = "") -> HttpResponse:
    """Send the reader back to the log; the script hears that the press has arrived."""
    if said:
        messages.warning(request, said)
    if _is_by_script(request):
        return JsonResponse({"arrived": True})
    return redirect("work-log", commission.pk)


def work_add(request: HttpRequest, job_id: int) -> HttpResponse:
    """Write a stretch down by hand."""
    commission = _job(job_id)
    form = StretchForm(request.POST, instance=WorkLog(commission=commission))
    if form.is_valid():
        try:
            work_write(form.save(commit=False), by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("It is written down."))
            return redirect("work-log", commission.pk)
    return _page(request, commission, by_hand=form)


def work_material(request: HttpRequest, job_id: int) -> HttpResponse:
    """Book what the job really used, all rows or none."""
    commission = _job(job_id)
    form = MaterialForm(request.POST, uses=supply_uses(commission))
    if form.is_valid():
        try:
            booked = _book(form, commission, request)
        except ValidationError as error:
            take_errors(form, error)
        else:
            if booked:
                messages.success(request, _("It is booked."))
            return redirect("work-log", commission.pk)
    return _page(request, commission, material=form)


@transaction.atomic
def _book(form: MaterialForm, commission: Commission, request: HttpRequest) -> int:
    rows = form.booked()
    for name, supply, quantity in rows:
        try:
            stock_use_for(supply, commission=commission, quantity=quantity, by=request.user)
        except ValidationError as error:
            raise ValidationError({name: error.messages}) from None
    return len(rows)


def work_change(request: HttpRequest, entry_id: int) -> HttpResponse:
    """Correct a stretch by hand, or take it out."""
    entry = get_object_or_404(WorkLog.objects.select_related("commission__doll"), pk=entry_id)
    if not may_write(entry, by=request.user, is_owner=request.role == OWNER):
        raise PermissionDenied
    if request.method == "POST" and "remove" in request.POST:
        work_remove(entry, by=request.user)
        messages.success(request, _("It is taken out; the trail keeps it."))
        return redirect("work-log", entry.commission_id)
    ran_min = minutes_so_far(entry, timezone.now())
    form = StretchForm(
        request.POST or None,
        instance=entry,
        initial={"minutes": ran_min} if entry.is_running else None,
    )
    if request.method == "POST" and form.is_valid():
        try:
            work_write(form.save(commit=False), by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("It is corrected."))
            return redirect("work-log", entry.commission_id)
    return render(request, "work/change.html", {"entry": entry, "form": form})


def _job(job_id: int) -> Commission:
    return get_object_or_404(Commission.objects.select_related("doll"), pk=job_id)


def _page(
    request: HttpRequest,
    commission: Commission,
    *,
    by_hand: Form | None = None,
    material: Form | None = None,
    pressed: Form | None = None,
) -> HttpResponse:
    now = timezone.now()
    entries = list(stretches(commission))
    steps = steps_shown(commission, entries)
    is_owner = request.role == OWNER
    context: dict[str, Any] = {
        "commission": commission,
        "may_write": request.role in MAKERS,
        "work_steps": [
            (row, row.running_of(request.user), random_token()) for row in steps if not row.passive
        ],
        "waiting_steps": [
            (row, row.running_of(request.user), random_token()) for row in steps if row.passive
        ],
        "timers": [(row, minutes_so_far(row, now)) for row in running_timers(request.user)],
        "entries": [
            (
                row,
                is_long(row, now),
                may_write(row, by=request.user, is_owner=is_owner),
            )
            for row in entries
        ],
        "step_names": list(dict.fromkeys(step.name for step in steps)),
        "other_key": random_token(),
        "pressed": pressed,
        "by_hand": by_hand or StretchForm(instance=WorkLog(commission=commission)),
        "material": material or MaterialForm(uses=supply_uses(commission)),
        "back": reverse("work-log", args=[commission.pk]),
    }
    return render(request, "work/log.html", context)
