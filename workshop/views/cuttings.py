"""What is left of a cut hide: looked at, redrawn, kept or binned; and labels for what is kept."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from patterns.errors import HideError
from workshop.documents.hide_label import HideLabel, hide_labels_pdf
from workshop.doors import MAKERS
from workshop.forms.leather_choice import piece_forms
from workshop.models import Cutting, Hide, WorkshopProfile
from workshop.selectors.cuttings import cutting_shown, label_values
from workshop.services.cuttings import cutting_settle, cutting_undo
from workshop.views.large import answers_too_much
from workshop.views.papers import pdf_answer


def _cutting(cutting_id: int) -> Cutting:
    found = Cutting.objects.select_related("hide__lot", "commission")
    return get_object_or_404(found, pk=cutting_id)


def _too_much(request: HttpRequest, cutting_id: int) -> HttpResponse:
    messages.error(request, _("That is far more than 5000 points; draw it with fewer."))
    return redirect("cutting", cutting_id)


@answers_too_much(_too_much)
def cutting(request: HttpRequest, cutting_id: int) -> HttpResponse:
    """Show what a cutting left, or take the maker's decision about each piece."""
    record = _cutting(cutting_id)
    pieces = list(record.left_pieces.select_related("hide", "cutting__hide"))
    forms = piece_forms(request.POST if request.method == "POST" else None, pieces)
    top_faults: list[str] = []
    # Each is asked, so that every fault is told at once.
    if request.method == "POST" and all([form.is_valid() for form in forms]):  # noqa: C419
        try:
            kept = cutting_settle(
                record, {form.piece.position: form.decision for form in forms}, by=request.user
            )
        except ValidationError as error:
            top_faults = _take(forms, error)
        except HideError as error:
            top_faults = [str(error)]
        else:
            said = ngettext(
                "%(n)d remnant joins the stock.", "%(n)d remnants join the stock.", len(kept)
            )
            messages.success(request, said % {"n": len(kept)})
            return redirect("cutting", record.pk)
    shown = cutting_shown(record, pieces, request.role)
    context = {
        "cutting": record,
        "shown": shown,
        "rows": list(zip(shown.pieces, forms, strict=True)),
        "top_faults": top_faults,
        "may_decide": request.role in MAKERS and not record.is_settled,
        "currency": WorkshopProfile.current().currency,
    }
    return render(request, "leather/cutting.html", context)


def _take(forms: list, error: ValidationError) -> list[str]:
    """Put each fault beside the outline it is about; return those that belong to none."""
    if not hasattr(error, "error_dict"):
        return list(error.messages)
    left = []
    for name, errors in error.error_dict.items():
        form = next((form for form in forms if f"{form.prefix}-corners" == name), None)
        if form is None:
            left += [said for one in errors for said in one.messages]
        else:
            form.add_error("corners", errors)
    return left


def cutting_take_back(request: HttpRequest, cutting_id: int) -> HttpResponse:
    """Take back that a hide was cut, while nothing of it was decided."""
    record = _cutting(cutting_id)
    try:
        hide = cutting_undo(record, by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("cutting", cutting_id)
    messages.success(request, _("%(hide)s is on the shelf again.") % {"hide": hide.code})
    return redirect("hide", hide.pk)


def hide_label(request: HttpRequest, hide_id: int) -> HttpResponse:
    """Send the label of a hide: its code, its figures, and a code to scan that opens its page."""
    hide = get_object_or_404(Hide.objects.select_related("lot", "remnant_of"), pk=hide_id)
    return _labels(request, [hide], f"{hide.code}-label")


def cutting_labels(request: HttpRequest, cutting_id: int) -> HttpResponse:
    """Send the labels of everything that was kept of a cutting."""
    record = _cutting(cutting_id)
    kept = Hide.objects.filter(left_from__cutting=record).select_related("lot", "remnant_of")
    hides = list(kept.order_by("number"))
    if not hides:
        raise Http404(_("Nothing was kept of this hide."))
    return _labels(request, hides, f"{record.hide.code}-labels")


def _labels(request: HttpRequest, hides: list[Hide], name: str) -> HttpResponse:
    labels: list[HideLabel] = [
        label_values(hide, request.build_absolute_uri(reverse("hide", args=[hide.pk])))
        for hide in hides
    ]
    content = hide_labels_pdf(
        labels, workshop=WorkshopProfile.current().name, made_on=timezone.localdate()
    )
    return pdf_answer(content, name)
