"""Measuring by link: the customer's page, and what the maker does with what came."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache

from patterns.foot import MEASURES
from workshop.forms.measuring import AskAgainForm, AskForm, CustomerFootForm
from workshop.models import Doll, MeasuringLink, WorkshopProfile
from workshop.selectors.library import measure_drawing
from workshop.selectors.measuring_links import answer_shown
from workshop.services.measuring_links import (
    link_refusal,
    measuring_link_answer,
    measuring_link_by_token,
    measuring_link_close,
    measuring_link_make,
    measuring_token,
)
from workshop.views.dolls import doll_page
from workshop.views.large import answers_too_much, too_long_words
from workshop.views.pages import take_errors

NOTE_MOST = 2000


def measuring_address(request: HttpRequest, link: MeasuringLink) -> str:
    """Return the full address of an open link."""
    return request.build_absolute_uri(reverse("open-measuring", args=[measuring_token(link)]))


def measuring_link_new(request: HttpRequest, doll_id: int) -> HttpResponse:
    """Make a link for a doll, or say what is against it."""
    doll = get_object_or_404(Doll, pk=doll_id)
    form = AskForm(request.POST, label_suffix="")
    if form.is_valid():
        try:
            link = measuring_link_make(doll, words=form.cleaned_data["words"], by=request.user)
            return redirect("measuring-link", link.pk)
        except ValidationError as error:
            take_errors(form, error)
    return doll_page(request, doll.pk, form)


def measuring_link(request: HttpRequest, link_id: int) -> HttpResponse:
    """Show a link: to send it, or what came by it; POST asks some measures again."""
    link = _find(link_id)
    if request.method != "POST":
        return _page(request, link, None)
    form = AskAgainForm(request.POST)
    if form.is_valid():
        try:
            later = measuring_link_make(
                link.doll, before=link, by=request.user, **form.cleaned_data
            )
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("Here is the link that asks for these measures again."))
            return redirect("measuring-link", later.pk)
    return _page(request, link, form)


def measuring_link_end(request: HttpRequest, link_id: int) -> HttpResponse:
    """Close a link, or put its answer aside."""
    link = _find(link_id)
    try:
        measuring_link_close(link, by=request.user)
        messages.success(request, _("The link is closed."))
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("doll", link.doll_id)


def _find(link_id: int) -> MeasuringLink:
    links = MeasuringLink.objects.select_related("doll", "before", "kept_as")
    return get_object_or_404(links, pk=link_id)


def _page(request: HttpRequest, link: MeasuringLink, form: AskAgainForm | None) -> HttpResponse:
    answer = answer_shown(link) if link.answer else None
    if answer is not None and form is None:
        form = AskAgainForm(initial={"asks": answer.doubted})
    is_open = not link_refusal(link)
    context = {
        "link": link,
        "is_open": is_open,
        "address": measuring_address(request, link) if is_open else "",
        "answer": answer,
        "form": form,
        "asked": [_(m.label) for m in MEASURES if m.key in link.asks],
    }
    status = 400 if form is not None and form.errors else 200
    return render(request, "feet/measuring_link.html", context, status=status)


def _open_too_much(request: HttpRequest, token: str) -> HttpResponse:
    link = measuring_link_by_token(token)
    if link is None:
        raise Http404
    form = CustomerFootForm({}, link=link)
    form.full_clean()
    form.errors.clear()
    form.add_error("note", too_long_words(NOTE_MOST))
    return _open_page(request, link, form, status=413)


@never_cache
@answers_too_much(_open_too_much)
def open_measuring(request: HttpRequest, token: str) -> HttpResponse:
    """Show the customer the boxes, or take what was typed; a link is answered once."""
    link = measuring_link_by_token(token)
    if link is None:
        return _said(request, "", status=404)
    refused = link_refusal(link)
    if refused:
        has_answered = link.state in (MeasuringLink.State.ANSWERED, MeasuringLink.State.KEPT)
        is_thanked = request.method != "POST" and has_answered
        return _said(request, refused, status=200 if is_thanked else 410)
    if request.method != "POST":
        return _open_page(request, link, CustomerFootForm(link=link))
    form = CustomerFootForm(request.POST, link=link)
    if form.is_valid():
        try:
            measuring_link_answer(link, form.answer())
            return redirect("open-measuring", token)
        except ValidationError as error:
            return _said(request, " ".join(error.messages), status=410)
    return _open_page(request, link, form, status=400)


def _said(request: HttpRequest, reason: str, *, status: int) -> HttpResponse:
    return render(request, "feet/measure_closed.html", {"reason": reason}, status=status)


def _open_page(
    request: HttpRequest, link: MeasuringLink, form: CustomerFootForm, *, status: int = 200
) -> HttpResponse:
    rows = [(measure_drawing(key), first, second) for key, first, second in form.rows()]
    context = {"link": link, "form": form, "rows": rows, "workshop": WorkshopProfile.current()}
    return render(request, "feet/measure_open.html", context, status=status)
