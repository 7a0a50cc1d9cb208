"""Papers in the background: all of an order as one file, the cutting sheets of many as one."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from workshop.doors import MONEY
from workshop.forms.sheets import SheetsForm
from workshop.kept_files import file_content
from workshop.models import BackgroundJob, Commission
from workshop.paper_work import FOLDER, PDF, ZIP
from workshop.views.papers import paper_asked, pdf_answer
from workshop.work import ORDER_PAPERS, SHEETS, work_key, work_latest, work_start

QUERY_MOST = 4000


def job_bundle(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show how far an order's one file is, or begin it by POST with the page's choices."""
    commission = get_object_or_404(Commission.objects.select_related("customer", "doll"), pk=job_id)
    if commission.doll is None:
        raise Http404
    key = _bundle_key(request, commission)
    if request.method == "POST":
        inputs = {
            "job": commission.pk,
            "query": request.POST.get("query", "").replace("\0", "")[:QUERY_MOST],
            "paper": paper_asked(request),
            "language": get_language() or "en",
            "money": request.role in MONEY,
        }
        work_start(ORDER_PAPERS, inputs, key=key, by=request.user)
        return redirect("job-bundle", commission.pk)
    work = work_latest(ORDER_PAPERS, key)
    back = f"{reverse('job', args=[commission.pk])}?station=paper"
    context = {"commission": commission, "work": work, "back": back}
    return render(request, "orders/bundle.html", context)


def _bundle_key(request: HttpRequest, commission: Commission) -> str:
    """Return whose file it is: one with money in it is never shown to who may see none."""
    return work_key(ORDER_PAPERS, {"job": commission.pk, "money": request.role in MONEY})


def job_bundle_file(request: HttpRequest, job_id: int) -> HttpResponse:
    """Send an order's one file."""
    commission = get_object_or_404(Commission, pk=job_id)
    work = work_latest(ORDER_PAPERS, _bundle_key(request, commission))
    content = _content(work, ZIP)
    if content is None:
        messages.error(request, _("The file is not there any more; make it again."))
        return redirect("job-bundle", job_id)
    response = HttpResponse(content, content_type="application/zip")
    response.headers["Content-Disposition"] = f'attachment; filename="{commission.code}.zip"'
    return response


def sheets(request: HttpRequest) -> HttpResponse:
    """Ask for which jobs in work cutting sheets are wanted, and hand them to the worker."""
    form = SheetsForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        inputs = {
            "quotes": form.quote_ids(),
            "paper": paper_asked(request),
            "language": get_language() or "en",
        }
        work = work_start(SHEETS, inputs, key=work_key(SHEETS, inputs), by=request.user)
        return redirect("sheets-shown", work.pk)
    return render(request, "orders/sheets.html", {"form": form})


def sheets_shown(request: HttpRequest, work_id: int) -> HttpResponse:
    """Show how far the sheets are, then where they are."""
    work = get_object_or_404(BackgroundJob, pk=work_id, kind=SHEETS)
    context: dict[str, Any] = {"work": work, "back": reverse("sheets-shown", args=[work.pk])}
    return render(request, "orders/sheets_shown.html", context)


def sheets_file(request: HttpRequest, work_id: int) -> HttpResponse:
    """Send the sheets as one PDF."""
    work = get_object_or_404(BackgroundJob, pk=work_id, kind=SHEETS)
    content = _content(work, PDF)
    if content is None:
        messages.error(request, _("The file is not there any more; make it again."))
        return redirect("sheets-shown", work_id)
    return pdf_answer(content, f"cutting-sheets-{work.pk}")


def _content(work: BackgroundJob | None, ending: str) -> bytes | None:
    if work is None or work.result is None:
        return None
    return file_content(FOLDER, ending, work.result["file"])
