"""The short way in: a page that sets an empty workshop up, and the one that removes the demo."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from patterns.errors import PatternError
from workshop.forms.beginning import Beginning, DemoRemovalForm
from workshop.services.beginning import FirstLeather, still_missing, workshop_begin
from workshop.services.demo_removal import demo_remove, going, has_demo
from workshop.views.pages import take_errors


def begin(request: HttpRequest) -> HttpResponse:
    """Ask for all that a first price needs, as far as it is missing, and store it at once."""
    missing = still_missing()
    if not missing and request.method != "POST":
        return redirect("home")
    asked = Beginning(missing, request.POST if request.method == "POST" else None)
    if request.method == "POST" and asked.is_valid():
        try:
            _store(request, asked)
        except ValidationError as error:
            take_errors(asked.rates or asked.profile, error)
        except PatternError as error:
            take_errors(asked.leather or asked.profile, ValidationError(str(error)))
        else:
            messages.success(request, _("The workshop is set up. Take the first job in."))
            return redirect("job-new")
    return render(request, "home/begin.html", {"asked": asked})


def demo(request: HttpRequest) -> HttpResponse:
    """Say what the removal of the demo takes away, and remove it once that is ticked."""
    if not has_demo():
        messages.info(request, _("The demo is not here any more."))
        return redirect("workshop-settings")
    form = DemoRemovalForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            backup = demo_remove(by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            said = _("The demo is removed. All of it is still in the backup %(folder)s.")
            messages.success(request, said % {"folder": backup})
            return redirect("home")
    return render(request, "settings/demo.html", {"form": form, "going": going()})


def _store(request: HttpRequest, asked: Beginning) -> None:
    leather = None
    if asked.leather is not None and asked.leather.is_given:
        data = asked.leather.cleaned_data
        leather = FirstLeather(
            name=data["leather_name"],
            colour=data["colour"],
            thickness_mm=data["thickness_mm"],
            length_mm=data["length_mm"],
            width_mm=data["width_mm"],
            paid=data["paid"],
        )
    workshop_begin(
        asked.profile.save(commit=False),
        card=asked.rates.save(commit=False) if asked.rates is not None else None,
        styles=asked.styles.cleaned_data["styles"] if asked.styles is not None else (),
        leather=leather,
        supplies=asked.supplies.supplies() if asked.supplies is not None else (),
        by=request.user,
    )
