"""The first page: what is on the bench and what waits for an answer."""

from pathlib import Path

from django.conf import settings
from django.http import FileResponse, HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.utils import timezone

from workshop.selectors.day_plan import days_shown
from workshop.selectors.home import bench
from workshop.selectors.work_log import running_timers


def home(request: HttpRequest) -> HttpResponse:
    """Show the bench: open jobs, quotes out, what is low in stock."""
    return render(
        request,
        "home/home.html",
        {
            "bench": bench(request.role),
            "timers": running_timers(request.user),
            "late": days_shown(timezone.now()).late,
        },
    )


def cautions(request: HttpRequest) -> HttpResponse:
    """Show the cautions in one place."""
    return render(request, "home/cautions.html")


def still_in(request: HttpRequest) -> HttpResponse:
    """Answer whoever is logged in with the token that forms must carry; see `sending.js`."""
    return HttpResponse(get_token(request), content_type="text/plain")


def favicon(request: HttpRequest) -> FileResponse:
    """Send the small picture browsers ask for at this fixed address."""
    path = Path(settings.BASE_DIR) / "workshop" / "static" / "favicon.svg"
    return FileResponse(path.open("rb"), content_type="image/svg+xml")
