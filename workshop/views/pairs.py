"""Finished pairs: the list, what each earned, and each step of one."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from workshop.doors import MAKERS, OWNER
from workshop.forms.pairs import (
    BackForm,
    MarkDownForm,
    PairsMadeForm,
    ReserveForm,
    ReturnForm,
    SellForm,
    TakeForm,
)
from workshop.list_columns import PAIRS
from workshop.listing import Listing
from workshop.models import Commission, Customer, FinishedPair, WorkshopProfile
from workshop.selectors.pairs import pair_counts, pair_row, pair_steps, pairs_of
from workshop.services.pairs import (
    pair_back,
    pair_mark_down,
    pair_release,
    pair_reserve,
    pair_return,
    pair_sell,
    pair_take,
    pairs_from_job,
    pairs_made,
)
from workshop.views.pages import take_errors

State = FinishedPair.State
SUGGESTIONS = 100  # customers offered while typing
UNSOLD = (State.HERE, State.RESERVED, State.AWAY)
# Each step: what its button says, its form, what does it, and where a pair must be for it.
Step = tuple[Any, type[Form], Callable[..., None], tuple[str, ...]]
MOVES: dict[str, Step] = {
    "take": (gettext_lazy("Take it to a stall"), TakeForm, pair_take, (State.HERE,)),
    "back": (gettext_lazy("It came back from the stall"), BackForm, pair_back, (State.AWAY,)),
}
DEALS: dict[str, Step] = {
    "sell": (gettext_lazy("It is sold"), SellForm, pair_sell, UNSOLD),
    "reserve": (gettext_lazy("Reserve it"), ReserveForm, pair_reserve, (State.HERE,)),
    "release": (gettext_lazy("Reserve it no longer"), Form, pair_release, (State.RESERVED,)),
    "mark-down": (gettext_lazy("Mark it down"), MarkDownForm, pair_mark_down, UNSOLD),
    "return": (gettext_lazy("It came back from its buyer"), ReturnForm, pair_return, (State.SOLD,)),
}


def pairs(request: HttpRequest) -> HttpResponse:
    """List the pairs, ?state= for those in one state."""
    state, listing = request.GET.get("state", ""), Listing(PAIRS, request)
    context = {
        "listing": listing,
        "page": listing.page(pairs_of(state), pair_row),
        "state": state,
        "counts": pair_counts(),
        "currency": WorkshopProfile.current().currency,
    }
    return render(request, "pairs/pairs.html", context)


def pairs_file(request: HttpRequest) -> HttpResponse:
    """Send the pairs as a table, ?state= for those in one state."""
    listing = Listing(PAIRS, request)
    return listing.file("pairs", listing.all_of(pairs_of(request.GET.get("state", "")), pair_row))


def pairs_new(request: HttpRequest) -> HttpResponse:
    """Put pairs on the shelf that were made without an order."""
    form = PairsMadeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = pairs_made(by=request.user, **form.cleaned_data)
        except ValidationError as error:
            take_errors(form, error)
        else:
            return _to_shelf(request, made)
    return render(request, "pairs/pairs_new.html", {"form": form})


def job_to_shelf(request: HttpRequest, job_id: int) -> HttpResponse:
    """Put the pairs of a finished job on the shelf that its customer does not take."""
    try:
        made = pairs_from_job(get_object_or_404(Commission, pk=job_id), by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("job", job_id)
    return _to_shelf(request, made)


def _to_shelf(request: HttpRequest, made: list[FinishedPair]) -> HttpResponse:
    said = ngettext("%(n)d pair is on the shelf.", "%(n)d pairs are on the shelf.", len(made))
    messages.success(request, said % {"n": len(made)})
    return redirect("pair", made[0].pk) if len(made) == 1 else redirect("pairs")


def pair(request: HttpRequest, pair_id: int) -> HttpResponse:
    """Show a pair, what was done with it, and what can be done next."""
    return _page(request, _find(pair_id))


def pair_move(request: HttpRequest, pair_id: int, step: str) -> HttpResponse:
    """Do a step that every maker may do: to a stall and back."""
    return _do(request, pair_id, step, MOVES)


def pair_deal(request: HttpRequest, pair_id: int, step: str) -> HttpResponse:
    """Do a step of money or of a customer."""
    return _do(request, pair_id, step, DEALS)


def _do(request: HttpRequest, pair_id: int, step: str, steps: dict[str, Step]) -> HttpResponse:
    record = _find(pair_id)
    if step not in steps:
        raise Http404
    _words, _kind, act, _allowed = steps[step]
    form = _form(step, steps, record, request.POST)
    if form.is_valid():
        try:
            act(record, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            if not hasattr(error, "error_dict"):  # somebody else was first
                messages.error(request, " ".join(error.messages))
                return redirect("pair", pair_id)
            take_errors(form, error)
        else:
            messages.success(request, _("It is noted."))
            return redirect("pair", pair_id)
    return _page(request, record, {step: form})


def _find(pair_id: int) -> FinishedPair:
    records = FinishedPair.objects.select_related("place", "customer", "commission", "article")
    return get_object_or_404(records, pk=pair_id)


def _form(step: str, steps: dict[str, Step], record: FinishedPair, data: Any = None) -> Form:
    kind, options = steps[step][1], {"pair": record} if step == "sell" else {}
    return kind(data, prefix=step, **options)


def _page(
    request: HttpRequest, record: FinishedPair, bound: dict[str, Form] | None = None
) -> HttpResponse:
    bound = bound or {}
    offered = []
    for steps, address, may in (
        (DEALS, "pair-deal", request.role == OWNER),
        (MOVES, "pair-move", request.role in MAKERS),
    ):
        offered += [
            (key, words, bound.get(key) or _form(key, steps, record), address, key in bound)
            for key, (words, _kind, _act, allowed) in steps.items()
            if may and (record.state in allowed or key in bound)
        ]
    context = {
        "pair": pair_row(record, request.role),
        "steps": pair_steps(record, request.role),
        "offered": offered,
        "customers": Customer.objects.order_by("-number")[:SUGGESTIONS]
        if request.role == OWNER
        else [],
    }
    return render(request, "pairs/pair.html", context)
