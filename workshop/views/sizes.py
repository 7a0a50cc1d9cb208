"""House sizes: what each fits, grading new ones, and one style drafted over many feet."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from patterns.drawing.nest import NestRing, draw_nest
from patterns.errors import PatternError
from workshop.forms.sizes import GradeForm, SizeRunForm
from workshop.models import BackgroundJob, FootVersion
from workshop.pictures import svg
from workshop.selectors.sizes import (
    NEAREST_SHOWN,
    WITHIN_MM,
    foot_fit,
    house_sizes,
    nearest_to,
    size_rows,
)
from workshop.services.sizes import size_run_start, sizes_grade
from workshop.views.pages import take_errors
from workshop.work import SIZE_RUN

GRADE_OF_LENGTH = 0.08  # of the foot length: a length step to begin with
GIRTH_SHARE = 9 / 16  # of the length step; the source stands beside the field


def sizes(request: HttpRequest) -> HttpResponse:
    """Show each house size with the feet it fits; ?foot= holds one foot against all sizes."""
    house = house_sizes()
    version = _foot_asked(request)
    nearest: list[tuple[Any, Any]] = []
    if version is not None:
        others = [size for size in house if size.version.pk != version.pk]
        nearest = [
            (size, foot_fit(version, fit))
            for size, fit in nearest_to(version, others)[:NEAREST_SHOWN]
        ]
    context = {
        "rows": size_rows(house),
        "within_mm": WITHIN_MM,
        "asked": version,
        "nearest": nearest,
    }
    return render(request, "sizes/sizes.html", context)


def _foot_asked(request: HttpRequest) -> FootVersion | None:
    asked = request.GET.get("foot", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 12):
        return None
    return FootVersion.objects.select_related("doll").filter(pk=int(asked)).first()


def size_grade(request: HttpRequest, version_id: int) -> HttpResponse:
    """Ask for the steps, and make house sizes from one foot."""
    version = get_object_or_404(FootVersion.objects.select_related("doll"), pk=version_id)
    length = float(version.foot_length)
    step = round(GRADE_OF_LENGTH * length * 2) / 2
    initial = {
        "name": _("House size"),
        "length_step_mm": f"{step:g}",
        "girth_step_mm": f"{round(GIRTH_SHARE * step, 1):g}",
        "down": 1,
        "up": 1,
    }
    form = GradeForm(request.POST or None, initial=initial, label_suffix="")
    if request.method == "POST" and form.is_valid():
        try:
            made = sizes_grade(version, **form.cleaned_data, by=request.user)
        except PatternError as error:
            form.add_error(None, error.text)
        except ValidationError as error:
            take_errors(form, error)
        else:
            said = ngettext("%(n)d house size is made.", "%(n)d house sizes are made.", len(made))
            messages.success(request, said % {"n": len(made)})
            return redirect("sizes")
    return render(request, "sizes/grade.html", {"form": form, "version": version})


def size_run(request: HttpRequest) -> HttpResponse:
    """Ask for feet and a style, and hand the run to the worker."""
    if request.method == "POST":
        form = SizeRunForm(request.POST)
        if form.is_valid():
            try:
                work = size_run_start(form.style_version(), form.feet(), by=request.user)
            except PatternError as error:
                form.add_error(None, error.text)
            else:
                return redirect("size-run-shown", work.pk)
    else:
        initial = {
            "sizes": [int(n) for n in request.GET.getlist("size") if n.isdigit() and len(n) < 12],
            "others": request.GET.get("others", "")[:200],
        }
        form = SizeRunForm(initial=initial)
    return render(request, "sizes/run.html", {"form": form})


def size_run_shown(request: HttpRequest, work_id: int) -> HttpResponse:
    """Show a size run: how far it is, then every piece's nest and its figures."""
    work = get_object_or_404(BackgroundJob, pk=work_id, kind=SIZE_RUN)
    context: dict[str, Any] = {"work": work, "title": work.inputs["title"]}
    if work.result is not None:
        context |= _shown(work.result)
    return render(request, "sizes/run_shown.html", context)


def _shown(result: dict[str, Any]) -> dict[str, Any]:
    names = result["feet"]
    pieces = []
    for piece in result["pieces"]:
        rings = [
            NestRing(names[row["foot"]], tuple((x, y) for x, y in row["ring"]))
            for row in piece["outlines"]
        ]
        title = _("%(piece)s, laid over one another") % {"piece": piece["name"]}
        by_foot = {row["foot"]: row for row in piece["outlines"]}
        pieces.append(
            {
                "name": piece["name"],
                "nest": svg(draw_nest(piece["name"], rings), title=title),
                "cells": [by_foot.get(number) for number in range(1, len(names))],
            }
        )
    return {
        "names": names,
        "others": names[1:],
        "pieces": pieces,
        "faults": [(names[row["foot"]], row["text"]) for row in result["faults"]],
    }
