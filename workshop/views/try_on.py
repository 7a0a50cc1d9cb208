"""The try-on sheet of a job, and what came of it: the foot's next version."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from patterns.errors import PatternError
from patterns.foot import MEASURE_KEYS, Foot
from patterns.try_on import corrected_foot, strips_of
from workshop.bridge import foot_by_measures
from workshop.forms.try_on import TryOnForm
from workshop.lengths import length_text, typed_length
from workshop.models import FootVersion
from workshop.order_papers import topline_mm
from workshop.selectors.library import foot_version_of
from workshop.services.library import foot_measure
from workshop.views.feet import after_measuring
from workshop.views.pages import take_errors
from workshop.views.papers import back_to_job, worked_of


def job_try_on_answer(request: HttpRequest, job_id: int) -> HttpResponse:
    """Go on to the page where the answer to a job's try-on sheet is typed in."""
    commission, worked = worked_of(request, job_id)
    if worked is None or worked.pieces is None:
        return back_to_job(request, job_id)
    topline = topline_mm(worked.pieces)
    asked = {"job": commission.pk} | ({} if topline is None else {"topline": f"{topline:g}"})
    page = reverse("foot-try-on", args=[worked.choice.foot.pk])
    return redirect(f"{page}?{urlencode(asked)}")


def foot_try_on(request: HttpRequest, version_id: int) -> HttpResponse:
    """Show the boxes for a try-on sheet's answer, or make the foot's next version of it."""
    version = foot_version_of(version_id)
    if version is None:
        raise Http404
    try:
        foot = foot_by_measures(version)
        strips = strips_of(foot, topline_mm=_typed_topline(request))
    except PatternError as error:
        messages.error(request, str(error))
        return redirect("foot", version.pk)
    form = TryOnForm(request.POST if request.method == "POST" else None, strips=strips)
    if request.method == "POST" and form.is_valid():
        try:
            made = _keep(request, version, corrected_foot(foot, strips, form.larger_mm()), form)
        except PatternError as error:
            form.add_error(None, str(error))
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("%(foot)s is kept, as it was tried on.") % {"foot": made})
            return after_measuring(request, made)
    return render(
        request,
        "feet/try_on.html",
        {"version": version, "form": form, "strips": strips},
        status=400 if form.errors else 200,
    )


def _typed_topline(request: HttpRequest) -> float | None:
    text = request.GET.get("topline", "")
    try:
        return float(typed_length(text)) if text else None
    except ValueError:
        return None


def _keep(request: HttpRequest, version: FootVersion, tried: Foot, form: TryOnForm) -> FootVersion:
    """Keep the corrected foot with the tracing or mesh it had."""
    return foot_measure(
        doll=version.doll,
        foot_side=version.foot_side,
        measures={
            key: typed_length(f"{tried.measures_mm[key]:.3f}")
            for key in MEASURE_KEYS
            if key in tried.measures_mm
        },
        knee_clearance_mm=version.knee_clearance_mm,
        level_girths=[
            {
                "height_mm": length_text(typed_length(f"{row.height_mm:.3f}")),
                "girth_mm": length_text(typed_length(f"{row.girth_mm:.3f}")),
            }
            for row in tried.level_girths
        ],
        sole_outline=version.sole_outline,
        side_profile=version.side_profile,
        mesh=version.mesh,
        reason=form.words()[:200],
        by=request.user,
    )
