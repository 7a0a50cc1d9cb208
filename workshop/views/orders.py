"""Jobs: the list, a new one, and the one page a job is worked out on."""

from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.vary import vary_on_headers
from django_htmx.http import HttpResponseClientRedirect

from costing.price import floor_price
from patterns.errors import PatternError
from patterns.measures import complete_measures
from workshop.documents.price_breakdown import price_parts
from workshop.doors import MAKERS, MONEY
from workshop.drafting import last_picture, percent_drawn
from workshop.fit import feet_compared, fit_lines, heel_offers, station_words
from workshop.forms.orders import GAPS_MM, ChoiceForm, EndForm
from workshop.list_columns import JOBS
from workshop.listing import Listing
from workshop.measuring import ERRORS_MM, EffectsShown, effects_shown, effects_start
from workshop.models import Commission, WorkshopProfile
from workshop.moved import Moved, choice_moved
from workshop.own_ways import length_unit_of
from workshop.pictures import layout_svg, marked, pieces_svg, shoe_svg
from workshop.selectors.cuttings import cuttings_of
from workshop.selectors.day_plan import planned_job
from workshop.selectors.leather_need import leather_need, purchase_of
from workshop.selectors.library import last_words, off_words
from workshop.selectors.order_life import ENDS, order_life, repairs_after
from workshop.selectors.orders import earlier_quote, is_mended, jobs_found, quotes_listed
from workshop.selectors.packs import pack_rows
from workshop.selectors.payments import account_of
from workshop.selectors.plans import fixed_by_hand, newest_cut_list
from workshop.selectors.promises import promise_of
from workshop.selectors.reservations import hide_missing, missing_count, short_words
from workshop.selectors.rubbing import rubbing_of
from workshop.services.orders import NEXT_STATES, commission_move
from workshop.services.quoting import (
    SECONDS_TO_LAY_OUT,
    Worked,
    layout_start,
    quote_make,
)
from workshop.services.repairs import MAY_REPAIR
from workshop.shown_price import price_rows, total_rows
from workshop.stations import STATIONS, stations_of
from workshop.tokens import random_token
from workshop.views.job_choice import (
    as_drawn,
    changed_query,
    choice_pairs,
    choice_query,
    gap_query,
    picked_piece,
    with_hints,
)
from workshop.views.job_worked import corrections_shown, worked_from
from workshop.views.pages import search_text
from workshop.what_ifs import what_if_rows

MOVES = {
    Commission.State.IN_WORK: gettext_lazy("Begin the work"),
    Commission.State.FINISHED: gettext_lazy("The work is finished"),
    Commission.State.SENT: gettext_lazy("Sent or handed over, no parcel to write down"),
    Commission.State.DECLINED: gettext_lazy("The customer declined"),
    Commission.State.WITHDRAWN: gettext_lazy("Withdraw the job"),
}
DRAW = "draw"  # what to do about pieces not drawn yet: "now", else estimate; "later": leave it so
WAS = "was"  # the query of the choice before this one
LONGEST_WAS = 4_000
GAP_WORDS = {
    "1.5": gettext_lazy("knife round the card, 1.5 mm"),
    "3": gettext_lazy("placed by eye, 3 mm"),
}


def jobs(request: HttpRequest) -> HttpResponse:
    """List the jobs, newest first, with a search."""
    text, state, listing = _asked(request)
    context = {
        "listing": listing,
        "page": listing.page(jobs_found(text, state, request.role)),
        "q": text,
        "state": state,
        "states": Commission.State.choices,
    }
    return render(request, "orders/jobs.html", context)


def jobs_file(request: HttpRequest) -> HttpResponse:
    """Send the jobs that a search and a state leave as a table."""
    text, state, listing = _asked(request)
    return listing.file("jobs", listing.all_of(jobs_found(text, state, request.role)))


def _asked(request: HttpRequest) -> tuple[str, str, Listing]:
    return search_text(request), request.GET.get("state", ""), Listing(JOBS, request)


@vary_on_headers("HX-Request")
def job(request: HttpRequest, job_id: int, end_form: EndForm | None = None) -> HttpResponse:
    """Show a job with its five stations; the query holds what is being tried out."""
    jobs_with = Commission.objects.select_related("customer", "doll", "again_of", "repair")
    commission = get_object_or_404(jobs_with, pk=job_id)
    if commission.is_for_stock:
        return redirect("stock-run", job_id)
    form = ChoiceForm(request.GET, job=commission, unit=length_unit_of(request.user))
    context = job_context(request, commission, form, request.GET)
    context["moved"] = _moved(request, form, context["worked"])
    if not request.htmx:
        context["missing_count"] = missing_count(commission)
        context["hide_missing"] = hide_missing(commission)
        context["again_key"] = random_token()
        context["end_form"] = end_form
        context["planned"] = planned_job(commission, timezone.now())
        context |= _life_context(commission, request.role)
        context["has_cut_list"] = newest_cut_list(commission) is not None
    template = "orders/_panel.html" if request.htmx else "orders/job.html"
    answer = render(request, template, context)
    if request.htmx:
        # The address brings this choice back; what was chosen before it is none of it.
        said = {name: value for name, value in request.GET.items() if value or name == "hide"}
        said.pop(WAS, None)
        said.pop(DRAW, None)
        answer["HX-Replace-Url"] = f"{request.path}?{urlencode(said)}"
    return answer


def _moved(request: HttpRequest, form: ChoiceForm, worked: Worked | None) -> Moved | None:
    """Return what the choice of just before has become; None where it is the same."""
    was = request.GET.get(WAS, "")
    if not was or len(was) > LONGEST_WAS or was == choice_query(form) or not form.is_valid():
        return None
    if worked is not None and worked.is_waiting:
        return None
    before = ChoiceForm(QueryDict(was), job=form.job)
    with_money = request.role in MONEY
    worked_before = worked_from(before, form.job, with_money=with_money, at_once=_estimates())
    return choice_moved((before, worked_before), (form, worked), back=choice_query(before))


def _life_context(commission: Commission, role: str) -> dict[str, Any]:
    """Return how far the job is, what is open of it, and what came back after it."""
    account = account_of(commission)
    return {
        "life": order_life(commission, account, role),
        "account": account if role in MONEY else None,
        "photo_count": commission.photos.count(),
        "repair": getattr(commission, "repair", None),
        "may_repair": commission.state in MAY_REPAIR,
        "later_repairs": repairs_after(commission),
    }


def job_context(
    request: HttpRequest, commission: Commission, form: ChoiceForm, query: QueryDict
) -> dict[str, Any]:
    """Return what the job's page shows for a choice."""
    may_see_money = request.role in MONEY
    at_once = _estimates() and query.get(DRAW) != "now"
    worked = worked_from(form, commission, with_money=may_see_money, at_once=at_once)
    opened = query.get("station", "pieces")
    if opened not in STATIONS or (opened == "price" and not may_see_money):
        opened = "pieces"
    style = str(form.data.get("style", ""))
    context: dict[str, Any] = {
        "commission": commission,
        "form": form,
        "worked": worked,
        "opened": opened,
        "query": choice_query(form),
        "was": choice_query(form) if form.is_valid() else query.get(WAS, "")[:LONGEST_WAS],
        "choice_pairs": list(choice_pairs(form)),
        "stations": stations_of(worked, query=choice_query(form), with_money=may_see_money),
        "quotes": quotes_listed(commission) if may_see_money else [],
        "has_earlier_quote": may_see_money and earlier_quote(commission.pk) is not None,
        "is_mended": is_mended(commission),
        "may_quote": commission.state in Commission.OPEN_TO_QUOTES,
        "may_lay_out": request.role in MAKERS,
        "next_states": _moves(commission, ends=False),
        "end_states": _moves(commission, ends=True),
        "seconds": SECONDS_TO_LAY_OUT,
        "as_drawn": (hints := as_drawn(worked, form)),
        "first_options": with_hints(form.first_options(), hints),
        "more_options": with_hints(form.more_options(), hints),
        "corrections": corrections_shown(form, commission),
        "currency": WorkshopProfile.current().currency,
        "style_changed": query.get("options_for", style) != style,
        "draws_later": query.get(DRAW) == "later",
    }
    if worked is not None and not worked.is_waiting:
        context |= _station_context(worked, opened, query)
    return context


def job_drawing(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show how far the drawing of a choice's pieces is; asked again and again while it lasts."""
    commission = get_object_or_404(Commission, pk=job_id, doll__isnull=False)
    if not request.htmx:
        return redirect(f"{reverse('job', args=[job_id])}?{request.GET.urlencode()}")
    form = ChoiceForm(request.GET, job=commission)
    worked = worked_from(form, commission, with_money=False, at_once=True)
    percent = percent_drawn(worked.asked) if worked is not None and worked.asked else 0
    context = {
        "percent": percent,
        "query": choice_query(form),
        "opened": request.GET.get("station", ""),
        "commission": commission,
    }
    return render(request, "orders/_drawing_bar.html", context)


def _estimates() -> bool:
    return bool(settings.ESTIMATE_FIRST)


def _effects(worked: Worked, hand: str) -> EffectsShown | None:
    """Return what measuring errors do; a foot known by its mesh has no tape's error."""
    if worked.asked is None or worked.asked.foot.mesh is not None or not worked.asked.is_cut:
        return None
    return effects_shown(worked.asked, hand if hand in ERRORS_MM else "own", worked.pieces)


def _station_context(worked: Worked, opened: str, query: QueryDict) -> dict[str, Any]:
    """Return the drawing of the station that is open; the others cost nothing."""
    if opened == "foot" and worked.foot is not None:
        try:
            picture = last_picture(worked.choice.foot)
        except PatternError:
            return {}  # the pieces' fault says why
        return {
            "drawing": picture.svg,
            "measures": [(row, off_words(row)) for row in picture.measures],
            "fit_words": last_words(picture.measures),
            "completed": complete_measures(worked.foot),
            "effects": _effects(worked, query.get("hand", "")),
        }
    if opened == "pieces" and worked.pieces is not None and worked.asked is not None:
        boot = shoe_svg(worked.worn) if worked.worn is not None else mark_safe("")
        picked = picked_piece(query, worked)
        return {
            "drawing": marked(pieces_svg(worked.pieces, source=worked.asked.source()), picked),
            "boot": marked(boot, picked),
            "picked": picked,
            "fit": fit_lines(worked.pieces, feet_compared(worked.choice.foot)),
            "heel_offers": [
                (offer, changed_query(query, offer.changes))
                for offer in heel_offers(worked.pieces, worked.foot)
            ],
            "stations_said": [
                (girth, station_words(girth.station), girth.pattern_mm - girth.last_mm)
                for girth in worked.pieces.girth_closure
            ],
            "stretched": [p for p in worked.pieces.pieces if p.checks is not None],
        }
    if opened == "leather":
        return _leather_context(worked, query)
    if opened == "price" and worked.breakdown is not None and worked.job is not None:
        return {
            "rows": price_rows(worked.bill, worked.breakdown),
            "totals": total_rows(worked.breakdown),
            "parts": price_parts(worked.breakdown),
            "floor": floor_price(worked.job),
            "what_ifs": what_if_rows(worked.job, worked.bill),
            "packs": pack_rows(worked),
            "promised": promise_of(worked),
        }
    return {}


def _leather_context(worked: Worked, query: QueryDict) -> dict[str, Any]:
    """Return the layout's drawing, what may be done with the hide, and what an offer ties up."""
    flesh_up = query.get("face", "") == "flesh"
    need = leather_need(worked)
    context: dict[str, Any] = {
        "need": need,
        "rubbing": rubbing_of(worked),
        "purchase": purchase_of(worked, need) if need is not None else None,
        "gaps": [(gap, GAP_WORDS[gap], gap_query(query, gap)) for gap in GAPS_MM],
        "cuttings": cuttings_of(worked.choice.commission, worked.choice.hide),
        "fixed_count": len(fixed_by_hand(worked.choice.commission, worked.layout_key)),
        "has_cut_list": newest_cut_list(worked.choice.commission) is not None,
        "flesh_up": flesh_up,
        "other_face": changed_query(query, {"face": "grain" if flesh_up else "flesh"}),
    }
    if worked.layout is not None and worked.request is not None:
        context["drawing"] = layout_svg(worked.request, worked.layout, flesh_up=flesh_up)
    return context


def _moves(commission: Commission, *, ends: bool) -> list[tuple[str, str]]:
    """Return where a job may go by a press, in words: on, or to an end without work."""
    following = NEXT_STATES.get(commission.state, ())
    return [(state, MOVES[state]) for state in following if (state in ENDS) is ends]


def job_move(request: HttpRequest, job_id: int) -> HttpResponse:
    """Move a job on: begun, finished, sent, or closed without work."""
    commission = get_object_or_404(Commission, pk=job_id, doll__isnull=False)
    form, to = EndForm(request.POST), request.POST.get("to", "")
    if not form.is_valid():
        return job(request, job_id, form)
    reason = form.cleaned_data["reason"]
    try:
        short = commission_move(commission, to=to, by=request.user, reason=reason)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("job", job_id)
    for line in short:
        messages.warning(request, short_words(line))
    return redirect("job", job_id)


def layout_begin(request: HttpRequest, job_id: int) -> HttpResponse:
    """Hand the layout of the choice to the worker."""
    commission = get_object_or_404(Commission, pk=job_id)
    form = ChoiceForm(request.POST, job=commission)
    worked = worked_from(form, commission, with_money=False)
    if worked is None:
        messages.error(request, _("Choose a foot, a style and a hide first."))
    else:
        try:
            layout_start(worked, by=request.user)
        except ValidationError as error:
            messages.error(request, " ".join(error.messages))
    return redirect(f"{reverse('job', args=[job_id])}?{choice_query(form)}&station=leather")


def effects_begin(request: HttpRequest, job_id: int) -> HttpResponse:
    """Hand the working out of which measure to take again to the worker."""
    commission = get_object_or_404(Commission, pk=job_id)
    form = ChoiceForm(request.POST, job=commission)
    worked = worked_from(form, commission, with_money=False)
    hand = request.POST.get("hand", "")
    hand = hand if hand in ERRORS_MM else "own"
    if worked is None or _effects(worked, hand) is None or worked.pieces is None:
        messages.error(request, _("Choose a foot without a mesh and a style that can be drawn."))
    else:
        effects_start(worked.asked, hand, by=request.user)
    query = f"{choice_query(form)}&station=foot&hand={hand}"
    return redirect(f"{reverse('job', args=[job_id])}?{query}#effects")


def quote_save(request: HttpRequest, job_id: int) -> HttpResponse:
    """Freeze the choice as a quote, at a price that was looked at."""
    commission = get_object_or_404(Commission.objects.select_related("customer", "doll"), pk=job_id)
    form = ChoiceForm(request.POST, job=commission)
    worked = worked_from(form, commission, with_money=True)
    back = f"{reverse('job', args=[job_id])}?{choice_query(form)}"
    if worked is None:
        messages.error(request, _("Choose a foot, a style and a hide first."))
        return _sent_to(request, back)
    seen, price = request.POST.get("price_seen"), worked.breakdown and worked.breakdown.price
    if seen and price is not None and seen != str(price):
        words = {"price": price, "currency": worked.breakdown.currency, "seen": seen}
        messages.warning(
            request,
            _(
                "With what was typed since, the price is %(price)s %(currency)s, not %(seen)s."
                " Nothing is saved yet; look at it, then save."
            )
            % words,
        )
        return _sent_to(request, f"{back}&station=price")
    try:
        quote = quote_make(worked, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return _sent_to(request, back)
    messages.success(request, _("%(quote)s is saved.") % {"quote": quote.code})
    return _sent_to(request, reverse("quote", args=[quote.pk]))


def _sent_to(request: HttpRequest, address: str) -> HttpResponse:
    """Send the reader to a whole page, also from a form that htmx sends."""
    return HttpResponseClientRedirect(address) if request.htmx else redirect(address)
