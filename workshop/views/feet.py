"""Feet: measuring one, checks while typing, a tracing's preview, and a version's page."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from patterns.foot import MEASURE_KEYS
from workshop.forms.foot_checks import foot_checks
from workshop.forms.library import FootForm
from workshop.lengths import length_text
from workshop.models import Commission, Doll, FootVersion, MeasuringLink
from workshop.own_ways import length_unit_of
from workshop.selectors.library import (
    foot_card,
    foot_version_of,
    measure_drawing,
    tracing_preview,
)
from workshop.selectors.measuring_links import initial_of
from workshop.services.library import foot_measure, version_values
from workshop.services.measuring_links import measuring_link_keep
from workshop.uploads import (
    UploadError,
    held,
    hold,
    let_go,
    not_held_text,
    read_upload,
    unit_asked,
    upload_given,
)
from workshop.views.meshes import confirmed_mesh
from workshop.views.pages import take_errors

TRACING = "tracing"
Curves = dict[str, list[list[float]]]


def foot(request: HttpRequest, version_id: int) -> HttpResponse:
    """Show one version of a foot."""
    version = foot_version_of(version_id)
    if version is None:
        raise Http404
    return render(request, "feet/foot.html", {"card": foot_card(version)})


def foot_new(request: HttpRequest, doll_id: int) -> HttpResponse:
    """Show the measuring form, or keep what was measured as the next version."""
    doll = get_object_or_404(Doll, pk=doll_id)
    before = _version_before(request, doll)
    if request.method != "POST":
        given = confirmed_mesh(request, request.GET.get("mesh", ""))
        initial = _initial(before, given, request, doll)
        form = FootForm(doll=doll, initial=initial, unit=length_unit_of(request.user))
        return _form_page(request, form, before)
    form, curves, look_first = _bound(request, doll, before)
    if form.is_valid() and not look_first:
        try:
            version = _keep(request, form, curves, _sent(request, doll))
        except ValidationError as error:
            take_errors(form, error)
        else:
            for name in ("tracing_token", "mesh_token"):
                let_go(form.cleaned_data[name])
            messages.success(request, _("%(foot)s is kept.") % {"foot": version})
            return after_measuring(request, version)
    return _form_page(request, form, before, curves, look_first=look_first)


def foot_check(request: HttpRequest, doll_id: int) -> HttpResponse:
    """Answer with what is impossible so far, and what the empty boxes would be taken as."""
    doll = get_object_or_404(Doll, pk=doll_id)
    token = request.POST.get("tracing_token", "")
    form = FootForm(request.POST, doll=doll, curves=_held_curves(request, token) or {})
    form.is_valid()
    return render(request, "feet/_checks.html", {"checks": foot_checks(form)})


def tracing_look(request: HttpRequest, doll_id: int) -> HttpResponse:
    """Show a tracing's size on a grid; nothing is stored but the read points, for an hour."""
    doll = get_object_or_404(Doll, pk=doll_id)
    before = _version_before(request, doll)
    form, curves, _look_first = _bound(request, doll, before, check=False)
    if request.htmx:
        return render(request, "feet/_tracing.html", _tracing_context(form, curves))
    return _form_page(request, form, before, curves, look_first=True)


def after_measuring(request: HttpRequest, version: FootVersion) -> HttpResponse:
    """Go on to the foot, or back to the job named by ?job= that the foot was measured for."""
    asked = request.GET.get("job", "")
    is_number = asked.isascii() and asked.isdigit() and len(asked) < 12
    if is_number and Commission.objects.filter(pk=int(asked), doll=version.doll).exists():
        return redirect("job", int(asked))
    return redirect("foot", version.pk)


def _version_before(request: HttpRequest, doll: Doll) -> FootVersion | None:
    """Return the version named by ?from=, if it is one of this doll's."""
    asked = request.GET.get("from", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 12):
        return None
    return FootVersion.objects.select_related("doll").filter(pk=int(asked), doll=doll).first()


def _initial(
    before: FootVersion | None, given: dict[str, Any] | None, request: HttpRequest, doll: Doll
) -> dict[str, Any]:
    """Return what the boxes begin with: the last version, a mesh just read, or what a link sent."""
    initial: dict[str, Any] = {"foot_side": "left", "reason": _("first measuring")}
    if before is not None:
        values = version_values(before)
        numbers = {key: length_text(values[key]) for key in (*MEASURE_KEYS, "knee_clearance_mm")}
        initial = {**values, **numbers, "reason": ""}
    if given is not None:
        initial |= {key: length_text(value) for key, value in given["measures"].items()}
        initial |= {
            "foot_side": given["foot_side"] or initial["foot_side"],
            "reason": _("read off a mesh"),
            "mesh_token": request.GET["mesh"][:80],
        }
    sent = _sent(request, doll)
    return initial if sent is None else initial | initial_of(sent)


def _sent(request: HttpRequest, doll: Doll) -> MeasuringLink | None:
    """Return the answer named by ?sent=, if it is one of this doll's and not dealt with."""
    asked = request.GET.get("sent", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 12):
        return None
    answered = doll.measuring_links.filter(state=MeasuringLink.State.ANSWERED)
    return answered.select_related("before").filter(pk=int(asked)).first()


def _bound(
    request: HttpRequest, doll: Doll, before: FootVersion | None, *, check: bool = True
) -> tuple[FootForm, Curves, bool]:
    """Return the form as sent, the curves that go with it, and whether they were not seen yet."""
    data = request.POST.copy()
    curves = _held_curves(request, data.get("tracing_token", ""))
    faults, looked = [], True
    if curves is None and data.get("tracing_token"):
        faults, data["tracing_token"] = [not_held_text()], ""
    try:
        upload = upload_given(request, "tracing_file")
        if upload is not None:
            read = read_upload(upload, TRACING, unit=unit_asked(data, "tracing_unit"))
            # The same file comes along again when the form is sent after the look at it.
            looked = curves is not None and curves == {**curves, **read}
            if not looked:
                curves = {**(curves or {}), **read}
                data["tracing_token"] = hold(curves, purpose=TRACING, user_id=request.user.pk)
    except UploadError as error:
        faults = error.messages
    kept = _kept_curves(before) if data.get("keep_tracing") else {}
    curves = {**kept, **(curves or {})}
    form = FootForm(data, doll=doll, curves=curves)
    form.mesh = _mesh_given(request, form, before)
    if data.get("mesh_token") and not form.mesh:
        data["mesh_token"] = ""
        faults = [*faults, not_held_text()]
    form.tracing_faults = faults
    if check:
        form.is_valid()
    return form, curves, not looked or bool(faults)


def _mesh_given(request: HttpRequest, form: FootForm, before: FootVersion | None) -> dict[str, Any]:
    """Return the mesh that goes with the measures: a new one, else the last version's if kept."""
    token = form.data.get("mesh_token", "")
    given = confirmed_mesh(request, token)
    if given is not None:
        return dict(given["mesh"])
    keeps = before is not None and form.data.get("keep_mesh") and not token
    return dict(before.mesh) if keeps else {}


def _held_curves(request: HttpRequest, token: str) -> Curves | None:
    return held(token[:80], purpose=TRACING, user_id=request.user.pk) if token else None


def _kept_curves(before: FootVersion | None) -> Curves:
    if before is None:
        return {}
    both = {"sole_outline": before.sole_outline, "side_profile": before.side_profile}
    return {name: points for name, points in both.items() if points}


@transaction.atomic
def _keep(
    request: HttpRequest, form: FootForm, curves: Curves, sent: MeasuringLink | None
) -> FootVersion:
    data = form.cleaned_data
    version = foot_measure(
        doll=form.doll,
        foot_side=data["foot_side"],
        measures={key: data[key] for key in MEASURE_KEYS},
        knee_clearance_mm=data["knee_clearance_mm"],
        level_girths=data["level_girths"],
        sole_outline=curves.get("sole_outline"),
        side_profile=curves.get("side_profile"),
        mesh=form.mesh,
        reason=data["reason"],
        by=request.user,
    )
    if sent is not None:
        measuring_link_keep(sent, version, by=request.user)
    return version


def _tracing_context(form: FootForm, curves: Curves) -> dict[str, Any]:
    preview = ""
    if curves:
        preview = tracing_preview(curves.get("sole_outline", []), curves.get("side_profile", []))
    return {
        "preview": preview,
        "token": form.data.get("tracing_token", "") if form.is_bound else "",
        "faults": getattr(form, "tracing_faults", []),
    }


def _form_page(
    request: HttpRequest,
    form: FootForm,
    before: FootVersion | None,
    curves: Curves | None = None,
    *,
    look_first: bool = False,
) -> HttpResponse:
    if not form.is_bound:
        curves = _kept_curves(before)
    query = request.GET.urlencode()
    return render(
        request,
        "feet/foot_form.html",
        {
            "form": form,
            "doll": form.doll,
            "before": before,
            "measures": [(form[key], measure_drawing(key)) for key in MEASURE_KEYS],
            "look_first": look_first,
            "query": f"?{query}" if query else "",
            "has_kept_tracing": bool(_kept_curves(before)),
            "has_kept_mesh": before is not None and bool(before.mesh),
            "mesh_given": confirmed_mesh(request, form["mesh_token"].value() or ""),
            **_tracing_context(form, curves or {}),
        },
    )
