"""The library as a file: out as CSV or JSON, in after a look at what would change."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from workshop.fault_words import fault_text
from workshop.faults import FaultyFileError
from workshop.forms.library import LibraryFileForm
from workshop.library_file import library_csv, library_json
from workshop.library_work import AT_ONCE_MOST, LIBRARY, LIBRARY_IMPORT
from workshop.models import BackgroundJob
from workshop.selectors.library_export import library_records
from workshop.services.library_import import library_plan, library_take_in
from workshop.uploads import (
    UploadError,
    held,
    hold,
    let_go,
    not_held_text,
    read_upload,
    upload_given,
)
from workshop.work import work_key, work_start

WRITERS = {"csv": (library_csv, "text/csv"), "json": (library_json, "application/json")}
CHANGES_SHOWN = 50
TAKEN_IN = gettext_lazy("The file is taken in: %(new)s new, %(changed)s changed.")


def library_export(request: HttpRequest) -> HttpResponse:
    """Send the whole library as one file; ?as=csv or ?as=json."""
    ending = request.GET.get("as", "csv")
    if ending not in WRITERS:
        raise Http404
    write, kind = WRITERS[ending]
    name = f"library-{timezone.localdate():%Y-%m-%d}.{ending}"
    return HttpResponse(
        write(library_records()),
        content_type=f"{kind}; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def library_import(request: HttpRequest) -> HttpResponse:
    """Show the form, then what a file would change, and store it after a yes."""
    if request.method == "POST" and request.POST.get("token"):
        return _store(request, request.POST["token"][:80])
    if request.method == "POST":
        return _look(request)
    work = request.GET.get("work", "")
    if work.isascii() and work.isdigit() and len(work) < 12:
        _tell_taken_in(request, int(work))
    return _page(request)


def _tell_taken_in(request: HttpRequest, work_id: int) -> None:
    """Say what a large file came to, when it has been taken in behind."""
    done = BackgroundJob.objects.filter(
        pk=work_id, kind=LIBRARY_IMPORT, state=BackgroundJob.State.DONE, made_by=request.user
    ).first()
    if done is not None:
        messages.success(request, TAKEN_IN % done.result)


def _look(request: HttpRequest) -> HttpResponse:
    try:
        upload = upload_given(request, "library_file")
        if upload is None:
            return _page(request, faults=[_("Choose a file first.")])
        rows = read_upload(upload, LIBRARY)
    except UploadError as error:
        return _page(request, faults=error.messages)
    plan = library_plan(rows)
    if plan.faults:
        return _page(request, faults=[fault_text(found) for found in plan.faults_shown()])
    return _page(
        request,
        plan=plan,
        counts=plan.counts(),
        changes=plan.changed[:CHANGES_SHOWN],
        more_changes=max(0, len(plan.changed) - CHANGES_SHOWN),
        file_name=upload.name,
        token=hold(rows, purpose=LIBRARY, user_id=request.user.pk),
    )


def _store(request: HttpRequest, token: str) -> HttpResponse:
    rows = held(token, purpose=LIBRARY, user_id=request.user.pk)
    if rows is None:
        return _page(request, faults=[not_held_text()])
    if len(rows) > AT_ONCE_MOST:
        inputs = {"token": token, "user": request.user.pk}
        key = work_key(LIBRARY_IMPORT, inputs)
        work = work_start(LIBRARY_IMPORT, inputs, key=key, by=request.user)
        back = urlencode({"back": f"{reverse('library-import')}?work={work.pk}"})
        return redirect(f"{reverse('background', args=[work.pk])}?{back}")
    try:
        plan = library_take_in(rows, by=request.user)
    except FaultyFileError as error:
        return _page(request, faults=[fault_text(found) for found in error.faults])
    let_go(token)
    new = sum(len(records) for records in plan.new.values())
    messages.success(request, TAKEN_IN % {"new": new, "changed": len(plan.changed)})
    return redirect("library-import")


def _page(request: HttpRequest, **context: object) -> HttpResponse:
    return render(request, "library/import.html", {"form": LibraryFileForm(), **context})
