"""What is asked for again and again while one page is shown is read from the database once.

Only pages that are asked for (GET, HEAD) remember, and the first record saved or deleted on the
way makes them forget all; whatever changes records (POST), and commands and background work, read
afresh each time.
"""

from collections.abc import Callable, Hashable
from contextvars import ContextVar
from functools import wraps
from typing import Any, ParamSpec, TypeVar

from django.db.models.signals import post_delete, post_save
from django.http import HttpRequest, HttpResponse

Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")

_kept: ContextVar[dict[Hashable, Any] | None] = ContextVar("read_once", default=None)
READING = ("GET", "HEAD")


def read_once(reads: Callable[Asked, Answer]) -> Callable[Asked, Answer]:
    """Let a function that reads keep its answers until the page is done.

    Its arguments must be hashable, and nobody may change what it returns.
    """

    @wraps(reads)
    def read(*args: Asked.args, **kwargs: Asked.kwargs) -> Answer:
        kept = _kept.get()
        if kept is None:
            return reads(*args, **kwargs)
        key = (reads, args, tuple(sorted(kwargs.items())))
        if key not in kept:
            kept[key] = reads(*args, **kwargs)
        return kept[key]

    return read


class ReadOnceMiddleware:
    """Begin remembering with a page that is asked for, and end with it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer one request."""
        if request.method not in READING:
            return self.get_response(request)
        token = _kept.set({})
        try:
            return self.get_response(request)
        finally:
            _kept.reset(token)


def forget(**_signal: Any) -> None:
    """Forget all that was read."""
    kept = _kept.get()
    if kept is not None:
        kept.clear()


post_save.connect(forget, dispatch_uid="read_once")
post_delete.connect(forget, dispatch_uid="read_once")
