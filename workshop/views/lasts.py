"""A foot's last as files: closed bodies for a printer, slotted cards to cut out."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _

from patterns.errors import PatternError
from patterns.last.solid import last_obj, last_stl
from workshop.documents.heading import SheetHeading
from workshop.documents.last_sheet import last_sheet_pdf
from workshop.drafting import last_file
from workshop.forms.lasts import LastForm
from workshop.models import FootVersion, WorkshopProfile
from workshop.selectors.printers import printer_in_use

WRITERS = {"stl": (last_stl, "model/stl"), "obj": (last_obj, "model/obj")}


def foot_last(request: HttpRequest, version_id: int) -> HttpResponse:
    """Send the last as STL or OBJ, or its cards as PDF; a bad value is told beside its box."""
    version = get_object_or_404(FootVersion.objects.select_related("doll"), pk=version_id)
    form = LastForm(request.GET or None, version=version)
    fault = ""
    if request.GET and form.is_valid():
        try:
            return _file(version, form)
        except PatternError as error:
            fault = error.text
    context = {"version": version, "form": form, "fault": fault}
    return render(request, "feet/last.html", context)


def _file(version: FootVersion, form: LastForm) -> HttpResponse:
    data = form.cleaned_data
    last = last_file(
        version,
        foot_side=data["side"],
        wrap_mm=form.wrap_added_mm(),
        top_mm=None if data["top_mm"] is None else float(data["top_mm"]),
    )
    wrap = _("wrapped") if last.thickness_mm > 0 else _("bare")
    name = f"{version.doll.code}-{data['side']}-{version.version}-last-{wrap}"
    if data["kind"] == "cards":
        content = last_sheet_pdf(
            last,
            card_thickness_mm=float(data["card_mm"]),
            spacing_mm=float(data["spacing_mm"]),
            heading=SheetHeading(
                workshop=WorkshopProfile.current().name,
                doll=f"{version.doll.name} {version.doll.code}",
                foot_version=f"{data['side']} {version.version}",
                printer=printer_in_use(),
            ),
            made_on=timezone.localdate(),
            paper=WorkshopProfile.current().paper,
        )
        response = HttpResponse(content, content_type="application/pdf")
        response.headers["Content-Disposition"] = f'inline; filename="{name}-cards.pdf"'
        return response
    write, content_type = WRITERS[data["kind"]]
    response = HttpResponse(write(last), content_type=content_type)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}.{data["kind"]}"'
    return response
