"""The shoe of a job on its foot: from four sides, and as a solid that turns."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from patterns.errors import PatternError
from workshop.drafting import solid_document
from workshop.forms.orders import ChoiceForm
from workshop.models import Commission
from workshop.pictures import marked, pieces_svg, shoe_svg, view_pictures
from workshop.strict_json import write_json
from workshop.views.job_choice import choice_query, picked_piece
from workshop.views.job_worked import worked_from

VIEWS = [
    ("outer", gettext_lazy("outer side")),
    ("inner", gettext_lazy("inner side")),
    ("front", gettext_lazy("front")),
    ("back", gettext_lazy("back")),
    ("top", gettext_lazy("top")),
    ("under", gettext_lazy("below")),
]


def job_solid(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show the page; what is drawn by hand's way stands there too, for who has no script."""
    commission, form = _choice(request, job_id)
    worked = worked_from(form, commission, with_money=False)
    names = []
    if worked is not None and worked.pieces is not None:
        shown = [piece for piece in worked.pieces.pieces if piece.material == "upper"]
        names = [(piece.name, piece.checks) for piece in shown]
    context = {
        "commission": commission,
        "query": choice_query(form),
        "worked": worked,
        "names": names,
        "views": VIEWS,
        "side": worked.choice.foot.foot_side if worked is not None else "left",
        "boot": shoe_svg(worked.worn) if worked is not None and worked.worn is not None else "",
        "fault": worked.faults.get("pieces", "") if worked is not None else _("Nothing is chosen."),
    }
    return render(request, "orders/solid.html", context)


def job_solid_data(request: HttpRequest, job_id: int) -> HttpResponse:
    """Send the bodies as JSON; what cannot be drawn says why."""
    commission, form = _choice(request, job_id)
    worked = worked_from(form, commission, with_money=False)
    if worked is None or worked.asked is None:
        words = worked.faults.get("pieces", "") if worked is not None else _("Nothing is chosen.")
        return HttpResponse(write_json({"fault": words}), "application/json", status=422)
    try:
        bodies = solid_document(worked.asked)
    except PatternError as error:
        return HttpResponse(write_json({"fault": str(error)}), "application/json", status=422)
    return HttpResponse(write_json({"bodies": bodies}), "application/json")


def job_views(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show the shoe on its foot from four sides, its pieces named, beside the flat pieces."""
    commission, form = _choice(request, job_id)
    worked = worked_from(form, commission, with_money=False)
    picked = picked_piece(request.GET, worked)
    context = {
        "commission": commission,
        "query": choice_query(form),
        "worked": worked,
        "picked": picked,
        "fault": worked.faults.get("pieces", "") if worked is not None else _("Nothing is chosen."),
    }
    if worked is not None and worked.asked is not None and worked.pieces is not None:
        try:
            context["views"] = view_pictures(worked.asked, picked)
        except PatternError as error:
            context["fault"] = error.text
        if not request.htmx:
            flat = pieces_svg(worked.pieces, source=worked.asked.source())
            context["drawing"] = marked(flat, picked)
    template = "orders/_views.html" if request.htmx else "orders/views.html"
    return render(request, template, context)


def _choice(request: HttpRequest, job_id: int) -> tuple[Commission, ChoiceForm]:
    jobs = Commission.objects.select_related("customer", "doll").filter(doll__isnull=False)
    commission = get_object_or_404(jobs, pk=job_id)
    return commission, ChoiceForm(request.GET, job=commission)
