"""A job ordered again, and prices side by side: an earlier quote and today, or two quotes."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from patterns.errors import PatternError
from patterns.style import Style, load_style
from workshop.forms.orders import ChoiceForm
from workshop.models import Commission, FootVersion, Quote
from workshop.selectors.orders import choice_again, earlier_quote
from workshop.services.orders import commission_again
from workshop.services.quote_snapshot import snapshot_of
from workshop.side_by_side import differences, lines_beside
from workshop.views.job_choice import choice_query
from workshop.views.job_worked import worked_from
from workshop.views.quotes import find_quote


def job_again(request: HttpRequest, job_id: int) -> HttpResponse:
    """Take the same order in once more and open its page with the same choice."""
    records = Commission.objects.select_related("customer", "doll").filter(doll__isnull=False)
    earlier = get_object_or_404(records, pk=job_id)
    key = request.POST.get("form_key", "").replace("\0", "")[:43] or None
    try:
        made = commission_again(earlier, form_key=key, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("job", job_id)
    said = _("%(job)s is taken in as %(earlier)s was.")
    messages.success(request, said % {"job": made.code, "earlier": earlier.code})
    # The very version of the style goes along; the job's bare page would offer the newest.
    return redirect(f"{reverse('job', args=[made.pk])}?{urlencode(choice_again(made.pk))}")


def job_then(request: HttpRequest, job_id: int) -> HttpResponse:
    """Hold a job's newest quote, or the one it was ordered again after, against today."""
    commission = get_object_or_404(Commission.objects.select_related("customer", "doll"), pk=job_id)
    quote_id = earlier_quote(job_id)
    if quote_id is None:
        raise Http404
    then = find_quote(quote_id)
    form = ChoiceForm(request.GET, job=commission)
    worked = worked_from(form, commission, with_money=True)
    context: dict[str, Any] = {
        "commission": commission,
        "title": _("Then and now"),
        "then": then,
        "now_name": _("today"),
        "back": f"{reverse('job', args=[job_id])}?{choice_query(form)}&station=price",
        "newer_foot": _newer_foot(commission, then),
    }
    if worked is None or worked.breakdown is None:
        faults = list(worked.faults.values()) if worked is not None else []
        context["fault"] = "; ".join(faults) or _("There is no price yet.")
    else:
        context |= _beside(then.snapshot, snapshot_of(worked))
    return render(request, "quotes/beside.html", context)


def quotes_beside(request: HttpRequest, quote_id: int) -> HttpResponse:
    """Hold a quote against an earlier one of the same job, ?with= its id."""
    now = find_quote(quote_id)
    asked = request.GET.get("with", "")
    others = now.commission.quotes.exclude(pk=now.pk)
    if asked.isascii() and asked.isdigit() and len(asked) < 12:
        then = get_object_or_404(others, pk=int(asked))
    else:
        then = others.order_by("-version").first()
        if then is None:
            raise Http404
    context = {
        "commission": now.commission,
        "title": _("Side by side"),
        "then": then,
        "now_name": now.code,
        "back": reverse("quote", args=[now.pk]),
        "others": others.defer(*Quote.LARGE).order_by("-version"),
        "now": now,
        **_beside(then.snapshot, now.snapshot),
    }
    return render(request, "quotes/beside.html", context)


def _beside(then: dict[str, Any], now: dict[str, Any]) -> dict[str, Any]:
    return {
        "differences": differences(then, now, _pattern(now["style"]["file"])),
        "lines": lines_beside(then, now),
        "currencies": (then["breakdown"]["currency"], now["breakdown"]["currency"]),
    }


def _pattern(name: str) -> Style | None:
    """Return a style's file, for the words of its parameters; None once it is gone."""
    try:
        return load_style(name)
    except PatternError:
        return None


def _newer_foot(commission: Commission, then: Quote) -> FootVersion | None:
    """Return the doll's newest foot where the quote was made for an older one."""
    if then.foot.doll_id != commission.doll_id:
        return None  # made for another doll: the measures themselves are set side by side
    newest = commission.doll.feet.order_by("-id").first()
    return newest if newest is not None and newest.pk != then.foot_id else None
