"""Jobs without a customer: started, lines and hides changed, laid out, begun and finished."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from patterns.exchange.layout_file import layout_from_document, request_from_document
from workshop.doors import MAKERS, MONEY, OWNER
from workshop.forms.stock_runs import HidesForm, LinesForm, MadeForm, PairCountForm, RunForm
from workshop.models import Commission, Hide, StockLine, StockRun
from workshop.pictures import layout_svg
from workshop.selectors.plans import newest_cut_list
from workshop.selectors.reservations import missing_count, short_words
from workshop.selectors.stock import OUTLINES
from workshop.selectors.stock_runs import (
    HideOffered,
    hides_offered,
    run_lines,
    run_work_out,
)
from workshop.services.stock_runs import (
    PLANNED,
    SECONDS_TO_LAY_OUT,
    hides_choose,
    line_change,
    line_remove,
    lines_add,
    run_begin,
    run_finish,
    run_take_in,
    run_withdraw,
    stock_layout_start,
)
from workshop.stock_plans import hides_document, parts_document, plan_of
from workshop.stock_rows import rows_laid, rows_without_money, table_of_plan
from workshop.templatetags.stock_words import dm2
from workshop.views.pages import take_errors

State = Commission.State


def stock_run_new(request: HttpRequest) -> HttpResponse:
    """Take in a job without a customer with its first lines."""
    form = RunForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            run = run_take_in(
                note=data["note"],
                form_key=data["form_key"] or None,
                style=form.style_version(),
                lot=form.lot(),
                pairs=form.pairs(),
                is_lined=form.cleaned_data["is_lined"],
                by=request.user,
            )
        except ValidationError as error:
            take_errors(form, error)
        else:
            return redirect("stock-run", run.pk)
    return render(request, "stock_runs/new.html", {"form": form})


def stock_run(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show a job without a customer: its lines, hides, layout, and what each pair costs."""
    return _page(request, _find(job_id))


def _find(job_id: int) -> StockRun:
    return get_object_or_404(StockRun.objects.select_related("commission"), pk=job_id)


def _page(
    request: HttpRequest, run: StockRun, bound: dict[str, Form] | None = None
) -> HttpResponse:
    commission = run.commission
    context: dict[str, Any] = {
        "run": run,
        "commission": commission,
        "is_planned": commission.state == PLANNED,
        "is_in_work": commission.state == State.IN_WORK,
        "may_lay_out": request.role in MAKERS,
        "missing_count": missing_count(commission),
        "has_cut_list": newest_cut_list(commission) is not None,
        "pairs": commission.finished_pairs.order_by("number"),
        "seconds": SECONDS_TO_LAY_OUT,
        "uncut": [hide.code for hide in commission.hides_reserved.defer(*OUTLINES)]
        if commission.state == State.FINISHED
        else [],
    }
    forms = bound or {}
    if run.plan is not None:
        table = table_of_plan(run.plan)
        context |= {
            **_shown(run.plan["hides"], run.plan["parts"]),
            "rows": table.rows if request.role in MONEY else rows_without_money(table.rows),
            "table": table if request.role in MONEY else None,
            "plan_lines": run.plan["lines"],
        }
        made = forms.get("made") or MadeForm(lines=run.plan["lines"])
        context["made_form"] = made if request.role == OWNER else None
    elif commission.state == PLANNED:
        context |= _planned_context(request, run, forms)
    return render(request, "stock_runs/run.html", context)


def _planned_context(request: HttpRequest, run: StockRun, forms: dict[str, Form]) -> dict[str, Any]:
    worked = run_work_out(run, with_money=request.role in MONEY)
    lines = [row.line for row in worked.lines]
    offered = hides_offered(run, lines)
    first = {"hides": [row.hide.pk for row in offered if row.is_chosen]}
    first["spacing_mm"] = run.spacing_mm
    is_waiting = worked.layout_work is not None and not worked.layout_work.is_over
    found = {
        "worked": worked,
        "lines_form": forms.get("lines") or LinesForm(),
        "lines_open": "lines" in forms or not lines,
        "count_form": forms.get("count"),
        "hides_form": forms.get("hides") or HidesForm(offered=_labels(offered), initial=first),
        "hides_offered": bool(offered),
        "is_waiting": is_waiting,
        "room": [
            (row.line, row.whole)
            for row in worked.lines
            if row.whole not in (None, row.line.pair_count)
        ],
        "can_begin": request.role == OWNER and worked.is_laid and not worked.faults,
    }
    plan = plan_of(worked)
    table = table_of_plan(plan) if plan is not None else None
    return found | {
        **_shown(hides_document(worked), parts_document(worked)),
        "rows": rows_laid(worked) if table is None else table.rows,
        "table": table,
    }


def _labels(offered: list[HideOffered]) -> dict[int, str]:
    """Return the hides by their ids in words; one that is taken says by whom."""
    labels = {}
    for row in offered:
        words = f"{row.hide.code} {row.hide.lot.name}, {row.hide.lot.colour}"
        kind = _("remnant") if row.hide.remnant_of_id is not None else _("hide")
        labels[row.hide.pk] = f"{words}, {dm2(row.hide.area_mm2)} dm² ({kind})"
        if row.taken_by:
            labels[row.hide.pk] += f" – {row.taken_by}"
    return labels


def _shown(hides: list[dict[str, Any]], parts: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the layout's drawings, and what is taken of each hide."""
    drawings = [
        (
            part["leather"],
            layout_svg(
                request_from_document(part["instance"]), layout_from_document(part["layout"])
            ),
        )
        for part in parts
    ]
    return {"hides": hides, "drawings": drawings}


def stock_lines(request: HttpRequest, job_id: int) -> HttpResponse:
    """Add lines to a job that is not begun."""
    run = _find(job_id)
    form = LinesForm(request.POST)
    if form.is_valid():
        try:
            lines_add(
                run,
                style=form.style_version(),
                lot=form.lot(),
                pairs=form.pairs(),
                is_lined=form.cleaned_data["is_lined"],
                by=request.user,
            )
        except ValidationError as error:
            take_errors(form, error)
        else:
            return redirect("stock-run", job_id)
    return _page(request, run, {"lines": form})


def stock_line(request: HttpRequest, line_id: int) -> HttpResponse:
    """Change how many pairs a line has, or take it out."""
    found = StockLine.objects.select_related("run__commission", "style__style", "foot__doll")
    line = get_object_or_404(found, pk=line_id)
    form = PairCountForm(request.POST)
    form.line_id = line_id
    try:
        if "remove" in request.POST:
            line_remove(line, by=request.user)
            return redirect("stock-run", line.run_id)
        if form.is_valid():
            line_change(line, pair_count=form.cleaned_data["pairs"], by=request.user)
            return redirect("stock-run", line.run_id)
    except ValidationError as error:
        take_errors(form, error)
    return _page(request, line.run, {"count": form})


def stock_hides(request: HttpRequest, job_id: int) -> HttpResponse:
    """Say which hides a job is cut from, and how far apart the pieces lie."""
    run = _find(job_id)
    offered = hides_offered(run, run_lines(run))
    form = HidesForm(request.POST, offered=_labels(offered))
    if form.is_valid():
        chosen = Hide.objects.filter(pk__in=form.cleaned_data["hides"])
        spacing = form.cleaned_data["spacing_mm"]
        try:
            hides_choose(run, chosen, spacing_mm=spacing, by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            return redirect("stock-run", job_id)
    return _page(request, run, {"hides": form})


def stock_layout(request: HttpRequest, job_id: int) -> HttpResponse:
    """Hand the layout of all lines to the worker."""
    run = _find(job_id)
    try:
        if run.commission.state != PLANNED:
            raise ValidationError(_("The work has begun; its layout stays as it is."))
        stock_layout_start(run_work_out(run, with_money=False), by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("stock-run", job_id)


def stock_begin(request: HttpRequest, job_id: int) -> HttpResponse:
    """Begin the work: hides and supplies are kept, and the cut list is made."""
    run = _find(job_id)
    try:
        run_begin(run_work_out(run), by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("The hides are kept for it, and its cut list is made."))
    return redirect("stock-run", job_id)


def stock_finish(request: HttpRequest, job_id: int) -> HttpResponse:
    """Put the pairs that were made on the shelf."""
    run = _find(job_id)
    if run.plan is None:
        messages.error(request, _("The work has not begun."))
        return redirect("stock-run", job_id)
    form = MadeForm(request.POST, lines=run.plan["lines"])
    if form.is_valid():
        try:
            made, short = run_finish(run, form.made(), by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            said = ngettext(
                "%(n)d pair is on the shelf.", "%(n)d pairs are on the shelf.", len(made)
            )
            messages.success(request, said % {"n": len(made)})
            for line in short:
                messages.warning(request, short_words(line))
            return redirect("stock-run", job_id)
    return _page(request, _find(job_id), {"made": form})


def stock_withdraw(request: HttpRequest, job_id: int) -> HttpResponse:
    """End a job without pairs."""
    try:
        run_withdraw(_find(job_id), by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("stock-run", job_id)
