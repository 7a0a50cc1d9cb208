"""The nearest feet for a doll without measures, and taking one over."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _

from patterns.foot import MEASURE_KEYS
from workshop.forms.nearest import NearestForm
from workshop.models import Doll, FootVersion
from workshop.selectors.nearest import nearest_feet, style_fit, taken_over_words
from workshop.services.library import foot_measure
from workshop.views.feet import after_measuring
from workshop.views.pages import take_errors


def doll_nearest(request: HttpRequest, doll_id: int) -> HttpResponse:
    """Show the nearest feet to what is known, and how a style fits one; POST takes one over."""
    doll = get_object_or_404(Doll, pk=doll_id)
    asked = request.GET if "foot_length" in request.GET else None
    form = NearestForm(asked)
    is_known = asked is not None and form.is_valid()
    near = nearest_feet(doll, form.measures()) if is_known else []
    if request.method == "POST" and is_known:
        version = _foot_named(request.POST.get("foot", ""))
        if version is None:
            form.add_error(None, _("Choose one of the feet below."))
        else:
            try:
                made = _take_over(request, doll, version, form)
            except ValidationError as error:
                take_errors(form, error)
            else:
                messages.success(request, _("%(foot)s is kept.") % {"foot": made})
                return after_measuring(request, made)
    looked_at = _foot_named(request.GET.get("fit", "")) if is_known else None
    style = form.cleaned_data.get("style") if is_known else None
    query = request.GET.copy()
    query.pop("fit", None)
    context = {
        "doll": doll,
        "form": form,
        "is_known": is_known,
        "near": near,
        "style": style,
        "looked_at": looked_at,
        "fit": style_fit(looked_at, style) if looked_at is not None and style else [],
        "query": query.urlencode(),
    }
    return render(request, "dolls/nearest.html", context, status=400 if form.errors else 200)


def _foot_named(text: str) -> FootVersion | None:
    if not (text.isascii() and text.isdigit() and len(text) < 12):
        return None
    return FootVersion.objects.select_related("doll").filter(pk=int(text)).first()


def _take_over(
    request: HttpRequest, doll: Doll, version: FootVersion, form: NearestForm
) -> FootVersion:
    """Keep the other doll's measures as this one's; what is known of it stands first."""
    measures = {key: getattr(version, key) for key in MEASURE_KEYS} | form.measures()
    return foot_measure(
        doll=doll,
        foot_side=version.foot_side,
        measures=measures,
        reason=taken_over_words(version)[:200],
        by=request.user,
    )
