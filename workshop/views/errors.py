"""The pages for what went wrong."""

import sys

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from workshop.disk_faults import disk_fault

AGAIN_AFTER_S = "60"


def bad_request(request: HttpRequest, exception: object = None) -> HttpResponse:
    """Answer a request that cannot be read."""
    return HttpResponse(render_to_string("errors/400.html"), status=400)


def forbidden(request: HttpRequest, exception: object = None) -> HttpResponse:
    """Answer somebody who may not."""
    return render(request, "errors/403.html", status=403)


def not_found(request: HttpRequest, exception: object = None) -> HttpResponse:
    """Answer an address that leads nowhere."""
    return render(request, "errors/404.html", status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer after a fault of ours or of the disk, without touching the database."""
    # Called while the fault is being handled, whichever layer it came up in.
    found = disk_fault(sys.exception())
    if found is not None:
        response = HttpResponse(render_to_string("errors/503.html", {"fault": found}), status=503)
        response.headers["Retry-After"] = AGAIN_AFTER_S
        return response
    return HttpResponse(render_to_string("errors/500.html"), status=500)
