"""Logging in, and one's own login: another password, out everywhere."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.views import LoginView
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from workshop.doors import too_often
from workshop.forms.account import LengthsForm, OutEverywhereForm, PasswordForm
from workshop.knocking import (
    LOGIN_ANYWHERE,
    LOGIN_NAME,
    LOGIN_PLACE,
    Limit,
    asker,
    knocked,
    let_off,
    wait_s,
)
from workshop.services.people import lengths_choose, password_set
from workshop.services.second_factor import factor_of
from workshop.views.second_factor import step_begin


class Login(LoginView):
    """The login page, which makes who guesses wait."""

    template_name = "account/login.html"

    def post(self, request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        """Look at the tries before the password is looked at."""
        wait = max(wait_s(limit, who) for limit, who in _counted(request))
        if wait:
            return too_often(request, wait)
        return super().post(request, *args, **kwargs)

    def form_invalid(self, form: Form) -> HttpResponse:
        """Count a try in vain."""
        for limit, who in _counted(self.request):
            knocked(limit, who)
        return super().form_invalid(form)

    def form_valid(self, form: Form) -> HttpResponse:
        """Let somebody in, or on to the second step, and their own tries be forgotten."""
        let_off(*_counted(self.request)[0])
        if factor_of(form.get_user()) is not None:
            return step_begin(self.request, form.get_user(), self.get_success_url())
        return super().form_valid(form)


def _counted(request: HttpRequest) -> list[tuple[Limit, str]]:
    """Return by what a try to log in is counted: name and place, place, name anywhere."""
    place = asker(request)
    name = request.POST.get("username", "")[:150].strip().lower()
    return [
        (LOGIN_NAME, f"{name}\n{place}"),
        (LOGIN_PLACE, place),
        (LOGIN_ANYWHERE, name),
    ]


def own_login(request: HttpRequest) -> HttpResponse:
    """Change one's own password; every other place one is logged in at is logged out."""
    form = PasswordForm(request.POST or None, user=request.user)
    if request.method == "POST" and form.is_valid():
        password_set(request.user, form.cleaned_data["password"], by=request.user)
        update_session_auth_hash(request, request.user)
        messages.success(
            request, _("The password is changed; wherever else you were logged in, you are out.")
        )
        return redirect("own-login")
    context = {"form": form, "out": OutEverywhereForm(user=request.user)}
    if (member := getattr(request.user, "member", None)) is not None:
        context["lengths"] = LengthsForm(instance=member, label_suffix="")
    return render(request, "account/own_login.html", context)


def own_lengths(request: HttpRequest) -> HttpResponse:
    """Keep the unit one types lengths in."""
    member = getattr(request.user, "member", None)
    form = LengthsForm(request.POST, instance=member)
    if member is not None and form.is_valid():
        lengths_choose(member, unit=form.cleaned_data["length_unit"])
        messages.success(request, _("Lengths are asked in that unit from now on."))
    else:
        messages.error(request, _("Choose one of the two units."))
    return redirect("own-login")


def log_out_everywhere(request: HttpRequest) -> HttpResponse:
    """Log out everywhere but here; the password stays, kept anew with another salt."""
    form = OutEverywhereForm(request.POST, user=request.user)
    if form.is_valid():
        password_set(
            request.user, form.cleaned_data["now"], by=request.user, action="logged out everywhere"
        )
        update_session_auth_hash(request, request.user)
        messages.success(request, _("Wherever else you were logged in, you are out."))
        return redirect("own-login")
    context = {"form": PasswordForm(user=request.user), "out": form}
    return render(request, "account/own_login.html", context)
