"""The second step of logging in, and the page that switches it on and off."""

import time

from django.contrib import messages
from django.contrib.auth import get_user_model, login
from django.contrib.auth.models import AbstractBaseUser
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from workshop.doors import too_often
from workshop.forms.second_factor import CodeForm, CodeOrRecoveryForm, SecondFactorOffForm
from workshop.knocking import SECOND_STEP, knocked, let_off, wait_s
from workshop.models import SecondFactor, WorkshopProfile
from workshop.services.people import other_sessions_end
from workshop.services.second_factor import (
    factor_begin,
    factor_confirm,
    factor_of,
    factor_off,
    passes,
    picture_of,
    secret_of,
)

WAITING = "second step"
BACKEND = "django.contrib.auth.backends.ModelBackend"
WAITS_S = 600


def step_begin(request: HttpRequest, user: AbstractBaseUser, then: str) -> HttpResponse:
    """Let somebody whose password was right go on to the second step, and nowhere else."""
    request.session.flush()  # nothing of a session somebody else may know is carried on
    request.session[WAITING] = {"user": user.pk, "at": time.time(), "then": then}
    return redirect("second-step")


def second_step(request: HttpRequest) -> HttpResponse:
    """Ask for a code after the password."""
    waiting = request.session.get(WAITING) or {}
    user = get_user_model().objects.filter(pk=waiting.get("user"), is_active=True).first()
    factor = factor_of(user) if user is not None else None
    if factor is None or time.time() - waiting["at"] > WAITS_S:
        request.session.pop(WAITING, None)
        return redirect("login")
    form = CodeOrRecoveryForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        if wait := wait_s(SECOND_STEP, str(user.pk)):
            return too_often(request, wait)
        if form.is_valid():
            if passes(factor, form.cleaned_data["code"]):
                let_off(SECOND_STEP, str(user.pk))
                del request.session[WAITING]
                login(request, user, backend=BACKEND)
                return redirect(waiting["then"])
            _told_wrong(request, form, user)
    return render(request, "account/second_step.html", {"form": form})


def second_factor(request: HttpRequest) -> HttpResponse:
    """Show whether a second factor is on, switch it on with a first code, or off."""
    user = request.user
    factor = SecondFactor.objects.filter(user=user).first()
    act = request.POST.get("act", "") if request.method == "POST" else ""
    if act and (wait := wait_s(SECOND_STEP, str(user.pk))):
        return too_often(request, wait)
    if act == "begin" and (factor is None or factor.confirmed_at is None):
        factor_begin(user)
        return redirect("second-factor")
    on, off = CodeForm(), SecondFactorOffForm(user=user)
    if act == "on" and factor is not None and factor.confirmed_at is None:
        on = CodeForm(request.POST)
        if on.is_valid():
            codes = factor_confirm(factor, on.cleaned_data["code"])
            if codes is not None:
                let_off(SECOND_STEP, str(user.pk))
                _end_others(request)
                return render(request, "account/recovery_codes.html", {"codes": codes})
            _told_wrong(request, on, user)
    if act == "off" and factor is not None and factor.confirmed_at is not None:
        off = SecondFactorOffForm(request.POST, user=user)
        if off.is_valid() and passes(factor, off.cleaned_data["code"]):
            factor_off(user, by=user)
            _end_others(request)
            messages.success(request, _("The second step is switched off."))
            return redirect("second-factor")
        if off.is_valid():
            _told_wrong(request, off, user)
        else:
            knocked(SECOND_STEP, str(user.pk))
    context = {"factor": factor, "on": on, "off": off}
    if factor is not None and factor.confirmed_at is None:
        context["picture"] = picture_of(factor, issuer=WorkshopProfile.current().name)
        secret = secret_of(factor)
        context["secret"] = " ".join(secret[at : at + 4] for at in range(0, len(secret), 4))
    return render(request, "account/second_factor.html", context)


def _end_others(request: HttpRequest) -> None:
    """End the sessions that were begun by the way to log in of before."""
    if other_sessions_end(request.user, kept=request.session.session_key):
        messages.info(request, _("Wherever else you were logged in, you are out."))


def _told_wrong(request: HttpRequest, form: CodeForm, user: AbstractBaseUser) -> None:
    knocked(SECOND_STEP, str(user.pk))
    form.add_error(
        "code",
        _("That code is not the right one, or was used already; wait for the next and type that."),
    )
