"""Watching, stopping and repeating work in the background."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme

from workshop.models import BackgroundJob
from workshop.work import work_again, work_stop


def background(request: HttpRequest, work_id: int) -> HttpResponse:
    """Show how far a piece of work is; asked again and again while it runs."""
    work = get_object_or_404(BackgroundJob, pk=work_id)
    if request.htmx and work.is_over and "over" in request.GET:
        # What was asked for is there, or failed: the page round it shows which. It is asked for
        # once, by what took the place of the bar: one that went on asking would begin to load a
        # slow page again and again, before it came.
        response = HttpResponse(status=204)
        response.headers["HX-Refresh"] = "true"
        return response
    template = "orders/_progress.html" if request.htmx else "orders/progress.html"
    return render(request, template, {"work": work, "back": _back(request)})


def background_stop(request: HttpRequest, work_id: int) -> HttpResponse:
    """Stop a piece of work at its next step."""
    work_stop(get_object_or_404(BackgroundJob, pk=work_id))
    return redirect(_back(request))


def background_again(request: HttpRequest, work_id: int) -> HttpResponse:
    """Run a piece of work again."""
    work_again(get_object_or_404(BackgroundJob, pk=work_id), by=request.user)
    return redirect(_back(request))


def _back(request: HttpRequest) -> str:
    """Return where to go afterwards: a path of our own, or the first page."""
    wanted = request.POST.get("back") or request.GET.get("back") or "/"
    safe = url_has_allowed_host_and_scheme(wanted, allowed_hosts=None)
    return wanted if safe and wanted.startswith("/") else "/"
