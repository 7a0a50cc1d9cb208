"""Logging in, the first login, people, the workshop's settings and the trail of changes."""

from django.contrib import messages
from django.contrib.auth import login
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from workshop.forms.account import FirstLoginForm, InviteForm, NewPasswordForm, WorkshopForm
from workshop.models import AuditEntry, Member, WorkshopProfile
from workshop.paging import list_page
from workshop.services.people import (
    LINK_HOURS,
    login_link_end,
    login_link_make,
    login_link_open,
    login_link_use,
    login_links_open,
    password_link_use,
    person_change,
)
from workshop.services.second_factor import factor_of
from workshop.views.pages import record_form_page
from workshop.views.second_factor import BACKEND, step_begin


def first_login(request: HttpRequest, token: str) -> HttpResponse:
    """Let somebody with a one-time link choose a name and a password."""
    link = login_link_open(token)
    if link is None:
        return render(request, "account/link_spent.html", status=404)
    sent = request.POST or None
    form = FirstLoginForm(sent) if link.user is None else NewPasswordForm(sent, user=link.user)
    if request.method == "POST" and form.is_valid():
        password = form.cleaned_data["password"]
        if link.user is None:
            user = login_link_use(link, username=form.cleaned_data["username"], password=password)
        else:
            user = password_link_use(link, password=password)
        if user is None:
            return render(request, "account/link_spent.html", status=404)
        if factor_of(user) is not None:  # the link stands in for the password, not for the phone
            return step_begin(request, user, reverse("home"))
        login(request, user, backend=BACKEND)
        return redirect("home")
    return render(request, "account/first_login.html", {"form": form, "link": link})


def people(request: HttpRequest) -> HttpResponse:
    """Show who has a login, and the form that invites somebody."""
    return render(request, "settings/people.html", {**_people(), "form": InviteForm()})


def _people() -> dict[str, object]:
    members = Member.objects.select_related("user").order_by("user__username")
    return {"members": members, "invitations": login_links_open()}


def person_invite(request: HttpRequest) -> HttpResponse:
    """Make a one-time link for a new login and show it once."""
    form = InviteForm(request.POST)
    context: dict[str, object] = {"form": form}
    if form.is_valid():
        token = login_link_make(role=form.cleaned_data["role"], by=request.user)
        context["address"] = request.build_absolute_uri(reverse("first-login", args=[token]))
        context["hours"] = LINK_HOURS
    return render(request, "settings/people.html", {**_people(), **context})


def invitation_end(request: HttpRequest, link_id: int) -> HttpResponse:
    """Take an invitation, or a link for another password, back before it is used."""
    if login_link_end(link_id, by=request.user):
        messages.success(request, _("The link opens nothing any more."))
    else:
        messages.error(request, _("That link was used or had ended already."))
    return redirect("people")


def person_open_close(request: HttpRequest, member_id: int) -> HttpResponse:
    """Open or close a person's login."""
    member = get_object_or_404(Member, pk=member_id)
    wanted = request.POST.get("is_active")
    if wanted not in ("0", "1"):
        raise Http404
    if not person_change(member, is_active=wanted == "1", by=request.user):
        messages.error(request, _("The last owner's login stays open; invite another owner first."))
    return redirect("people")


def settings_page(request: HttpRequest) -> HttpResponse:
    """Show and change the workshop's own settings."""
    form = WorkshopForm(request.POST or None, instance=WorkshopProfile.current())
    return record_form_page(
        request,
        form,
        template="settings/workshop.html",
        then="workshop-settings",
        said=_("The settings are saved."),
    )


def audit(request: HttpRequest) -> HttpResponse:
    """Show the trail of changes, newest first."""
    entries = AuditEntry.objects.all()
    kind, record_id = request.GET.get("kind", ""), request.GET.get("record", "")
    if kind and record_id.isascii() and record_id.isdigit() and len(record_id) < 12:
        entries = entries.filter(record_kind=kind, record_id=int(record_id))
    page = list_page(entries, request.GET.get("before", ""), key="id")
    return render(request, "settings/audit.html", {"page": page})
