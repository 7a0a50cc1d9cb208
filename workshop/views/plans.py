"""Planning by hand: a job's pieces moved on its hide, and pieces cut again given a place."""

from dataclasses import dataclass, replace
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from patterns.errors import PatternError
from patterns.layout.check import faults_found
from patterns.layout.values import Placement
from workshop.doors import MAKERS
from workshop.forms.orders import ChoiceForm
from workshop.forms.plans import CopyForm, copy_forms
from workshop.models import BackgroundJob, Commission, CutList, Hide
from workshop.pictures import layout_svg
from workshop.plan_sheet import (
    COPIES_BY_HAND_MOST,
    PlanGround,
    fault_words,
    ground_document,
    placed_words,
    plan_ground,
)
from workshop.recuts import RecutPlan, recut_plan, recut_start
from workshop.selectors.plans import fixed_by_hand, newest_on_hide
from workshop.services.cut_lists import recut_place
from workshop.services.planning import hand_fixed_save, hand_layout_save
from workshop.services.quoting import Worked, layout_start
from workshop.views.job_choice import choice_pairs, choice_query
from workshop.views.job_worked import worked_from

REST = "rest"  # the button that lays out what is left


@dataclass(slots=True)
class _Asked:
    """What a form of a plan asks for: where every copy lies, and what is wrong with that."""

    ground: PlanGround
    forms: list[CopyForm]
    faults: list[str]

    @property
    def is_faulty(self) -> bool:
        return bool(self.faults) or any(form.errors for form in self.forms)

    def rows(self) -> list[Placement]:
        return [form.placement for form in self.forms if form.placement is not None]

    def fixed(self) -> list[Placement]:
        return [f.placement for f in self.forms if f.placement is not None and f.is_fixed]


def _read(request: HttpRequest, ground: PlanGround) -> _Asked:
    """Read the form of a plan and check it exactly; every fault is told at once."""
    forms = copy_forms(request.POST, ground)
    valid = [form.is_valid() for form in forms]
    asked = _Asked(ground, forms, [])
    if not all(valid):
        return asked
    # Where the rest is laid out anew, only what stays has to lie well.
    laid = [
        (form.copy, form.placement, form)
        for form in forms
        if form.placement is not None and (form.is_fixed or REST not in request.POST)
    ]
    locked = [(copy, copy.placement, None) for copy in ground.copies if copy.is_locked]
    rows = [*locked, *laid]
    copies = [replace(copy, placement=placement) for copy, placement, _form in rows]
    faults = faults_found(ground.request, [placement for _copy, placement, _form in rows])
    for fault in faults:
        if fault.rows and max(fault.rows) < len(locked):
            continue  # what is cut already is not judged any more
        words = fault_words(ground, copies, fault)
        asked.faults.append(words)
        for row in fault.rows:
            if rows[row][2] is not None:
                rows[row][2].add_error("x_mm", words)
    return asked


def plan(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show a job's pieces on its hide to be moved by hand, or keep where they lie now."""
    found = Commission.objects.select_related("customer", "doll")
    commission = get_object_or_404(found, pk=job_id)
    given = request.POST if request.method == "POST" else request.GET
    form = ChoiceForm(given, job=commission)
    worked = worked_from(form, commission, with_money=False)
    query = choice_query(form)
    station = f"{reverse('job', args=[job_id])}?{query}&station=leather"
    refused = _not_by_hand(worked)
    if refused:
        messages.error(request, refused)
        return redirect(station)
    assert worked is not None
    assert worked.request is not None
    ground = _job_ground(worked)
    asked = None
    if request.method == "POST":
        asked = _read(request, ground)
        if not asked.is_faulty and _kept(request, worked, asked):
            return redirect(f"{reverse('plan', args=[job_id])}?{query}")
    still = None
    if worked.layout is not None:
        still = layout_svg(worked.request, worked.layout)
    context = {
        "commission": commission,
        "title": _("Plan by hand on %(hide)s") % {"hide": worked.choice.hide.code},
        "back_to": station,
        "back_words": f"{commission.code} {commission.doll.name}",
        "choice_pairs": list(choice_pairs(form)),
        "still": still,
        "is_recut": False,
        "is_from_before": worked.layout is None and ground.placed > 0,
        **_context(request, ground, asked, worked.layout_work),
    }
    return render(request, "orders/plan.html", context)


def _job_ground(worked: Worked) -> PlanGround:
    """Return the job's copies where its layout has them, or where the fixed ones wait for it."""
    assert worked.request is not None
    fixed = fixed_by_hand(worked.choice.commission, worked.layout_key)
    laid = worked.layout.placements if worked.layout is not None else ()
    if worked.layout is None and not fixed:
        laid = before_the_change(worked)
    return plan_ground(
        worked.request,
        laid if all(row in laid for row in fixed) else fixed,
        fixed=fixed,
        drawn_foot=worked.choice.foot.foot_side,
    )


def before_the_change(worked: Worked) -> tuple[Placement, ...]:
    """Return where the pieces lay by hand before the hide, the pieces or the gap changed."""
    assert worked.request is not None
    return newest_on_hide(worked.choice.commission, worked.request.hides[0].id)


def _not_by_hand(worked: Worked | None) -> str:
    """Return why there is nothing to plan by hand; empty when there is."""
    if worked is None or worked.choice.hide is None:
        return _("Choose a foot, a style and a hide first; then its pieces can be laid by hand.")
    if worked.request is None:
        return "; ".join(worked.faults.values()) or _("Nothing can be laid out yet.")
    count = sum(piece.quantity for piece in worked.request.pieces)
    if count > COPIES_BY_HAND_MOST:
        return _("%(count)d pieces are more than the %(most)d that are planned by hand.") % {
            "count": count, "most": COPIES_BY_HAND_MOST,
        }  # fmt: skip
    return ""


def _kept(request: HttpRequest, worked: Worked, asked: _Asked) -> bool:
    """Keep a plan that holds, and lay out the rest where that is asked; tell whether it was."""
    is_rest = REST in request.POST
    try:
        if is_rest:
            hand_fixed_save(worked, asked.fixed(), by=request.user)
            layout_start(worked, by=request.user)
        else:
            hand_layout_save(worked, asked.rows(), fixed=asked.fixed(), by=request.user)
    except (PatternError, ValidationError) as error:
        asked.faults += error.messages if isinstance(error, ValidationError) else [str(error)]
        return False
    if not is_rest:
        messages.success(request, _("The plan is kept: price, sheet and cutting go by it."))
    return True


def recut(request: HttpRequest, list_id: int, hide_id: int) -> HttpResponse:
    """Show where the pieces to cut again could lie on a hide, or keep where they lie now."""
    found = CutList.objects.select_related("commission__doll")
    cut_list = get_object_or_404(found, pk=list_id)
    hide = get_object_or_404(Hide.objects.select_related("lot"), pk=hide_id)
    back = reverse("cut-list", args=[cut_list.commission_id])
    planned = recut_plan(cut_list, hide)
    if planned is None or hide.state == Hide.State.CUT:
        messages.error(request, _("Nothing of this list is to be placed on %(hide)s.")
                       % {"hide": hide.code})  # fmt: skip
        return redirect(back)
    asked = None
    if request.method == "POST":
        asked = _read(request, planned.ground)
        if not asked.is_faulty and _recut_kept(request, planned, asked):
            here = reverse("cut-list-place", args=[list_id, hide_id])
            return redirect(here if REST in request.POST else back)
    context = {
        "commission": cut_list.commission,
        "title": _("Cut again from %(hide)s") % {"hide": hide.code},
        "back_to": back,
        "back_words": _("Cut list of %(job)s") % {"job": cut_list.commission.code},
        "choice_pairs": [],
        "still": layout_svg(planned.ground.request, planned.layout),
        "is_recut": True,
        **_context(request, planned.ground, asked, planned.work),
    }
    return render(request, "orders/plan.html", context)


def _recut_kept(request: HttpRequest, planned: RecutPlan, asked: _Asked) -> bool:
    try:
        if REST in request.POST:
            recut_start(planned, asked.fixed(), by=request.user)
        else:
            places = {
                form.copy.number: form.placement
                for form in asked.forms
                if form.placement is not None
            }
            recut_place(planned.cut_list, planned.hide, places, by=request.user)
    except (PatternError, ValidationError) as error:
        asked.faults += error.messages if isinstance(error, ValidationError) else [str(error)]
        return False
    return True


def _context(
    request: HttpRequest,
    ground: PlanGround,
    asked: _Asked | None,
    work: BackgroundJob | None,
) -> dict[str, Any]:
    forms = asked.forms if asked is not None else copy_forms(None, ground)
    numbers = {copy.number: place for place, copy in enumerate(ground.copies, 1)}
    return {
        "ground": ground,
        "document": ground_document(ground),
        "rows": [(numbers[form.copy.number], form) for form in forms],
        "locked": [copy for copy in ground.copies if copy.is_locked],
        "faults": asked.faults if asked is not None else [],
        "is_faulty": asked is not None and asked.is_faulty,
        "placed": placed_words(ground),
        "may_move": request.role in MAKERS and (work is None or work.is_over),
        "has_mirrors": any(copy.piece.mirror_free for copy in ground.copies),
        "work": work,
        "gap_mm": ground.request.spacing_mm,
    }
