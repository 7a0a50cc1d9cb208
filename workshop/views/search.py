"""The one search over everything a role may see."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from workshop.selectors.search import by_code, everything_found
from workshop.views.pages import search_text


def search(request: HttpRequest) -> HttpResponse:
    """Lead to the record a whole code names, or show what was found by kinds."""
    text = search_text(request)
    straight = by_code(text, request.role)
    if straight is not None:
        return redirect(straight)
    groups = everything_found(text, request.role) if text else []
    return render(request, "search/found.html", {"text": text, "groups": groups})
