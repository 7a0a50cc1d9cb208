"""The page a watcher asks whether the workshop is well."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from workshop.doors import OWNER
from workshop.selectors.health import signs_of_health


def health(request: HttpRequest) -> HttpResponse:
    """Answer 200 if all is well, else 503; the owner sees what was looked at, others one word."""
    signs = signs_of_health()
    status = 200 if all(sign.is_well for sign in signs) else 503
    if request.role == OWNER and "text/html" in request.headers.get("Accept", ""):
        return render(request, "settings/health.html", {"signs": signs}, status=status)
    word = "well" if status == 200 else "unwell"
    response = HttpResponse(f"{word}\n", content_type="text/plain", status=status)
    response.headers["Cache-Control"] = "no-store"
    return response
