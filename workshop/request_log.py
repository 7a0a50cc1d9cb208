"""One JSON line a request, without anything personal: no path, no query, no name, no address.

Source of what must not be logged: OWASP ASVS 5.0, 16.2.5 (no credentials or tokens in logs).
"""

import json
import logging
import time
import uuid
from collections.abc import Callable

from django.conf import settings
from django.core.exceptions import MiddlewareNotUsed
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

logger = logging.getLogger("workshop.requests")
METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
NO_PAGE = "none"  # an address that leads nowhere may hold anything, such as half of a link


def page_name(request: HttpRequest) -> str:
    """Return the name of the address in the table of doors, never the address itself."""
    match = getattr(request, "resolver_match", None)
    return (match.view_name if match is not None else "") or NO_PAGE


class RequestLogMiddleware:
    """Writes the line; switched on by REQUEST_LOG."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        if not settings.REQUEST_LOG:
            raise MiddlewareNotUsed
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Time the answer; its number goes into the answer's head, to be found again."""
        number, start = uuid.uuid4().hex, time.perf_counter()
        response = self.get_response(request)
        response.headers["X-Request-Id"] = number
        line = {
            "at": timezone.now().isoformat(timespec="milliseconds"),
            "request": number,
            "method": request.method if request.method in METHODS else "other",
            "page": page_name(request),
            "status": response.status_code,
            "ms": round(1000 * (time.perf_counter() - start), 1),
            "role": getattr(request, "role", NO_PAGE),
        }
        logger.info(json.dumps(line))
        return response


class WithoutPaths(logging.Filter):
    """Takes the path out of Django's own lines: the path of a link is what opens it."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Name the page in the path's stead."""
        request = getattr(record, "request", None)
        if isinstance(request, HttpRequest) and request.path and record.args:
            page = page_name(request)
            args = record.args if isinstance(record.args, tuple) else (record.args,)
            record.args = tuple(
                page if isinstance(value, str) and request.path in value else value
                for value in args
            )
        return True
