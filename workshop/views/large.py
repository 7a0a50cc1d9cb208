"""Forms that may be sent far more text than any outline needs."""

from collections.abc import Callable
from functools import wraps

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, QueryDict
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt, csrf_protect

READ_AT_ONCE = 64 * 1024
READ_MOST = 64 * 1024 * 1024
LOOKED_THROUGH_MOST = 16 * 1024 * 1024  # longer ones are dropped without a look
KEPT_MOST = 8_000  # signs of a field that was typed beside the one that is too long

View = Callable[..., HttpResponse]


def answers_too_much(answer: View) -> Callable[[View], View]:
    """Return a decorator: `answer` makes the page when more is sent than a form may hold.

    The ordinary check of the form's token would read what was sent and end in a bare refusal.
    Here the length is looked at first; what is too long is never read as a form and changes
    nothing, everything else goes through that check as on any page. The short fields of a plain
    form are handed on as ``request.typed``, so that nobody types them again.
    """

    def decorate(view: View) -> View:
        checked = csrf_protect(view)

        @csrf_exempt
        @wraps(view)
        def sized(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
            if request.content_type == "multipart/form-data":
                try:
                    # Its files are bound by the one way in for files, its text by Django.
                    return checked(request, *args, **kwargs)
                except RequestDataTooBig:
                    pass
            elif _length(request) <= settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
                return checked(request, *args, **kwargs)
            request.typed = _short_fields(request)
            return answer(request, *args, **kwargs)

        return sized

    return decorate


def too_long_words(most: int) -> str:
    """Return what stands beside a field into which far too much was pasted."""
    return _(
        "What was pasted is far too long to be taken; at most %(most)d signs. Nothing was changed:"
        " paste the message alone."
    ) % {"most": most}


def told_too_long(form: BaseForm, field: str, most: int) -> BaseForm:
    """Return a form that says beside one field, and nowhere else, that far too much was pasted."""
    form.full_clean()
    form.errors.clear()
    form.add_error(field, too_long_words(most))
    return form


def _length(request: HttpRequest) -> int:
    text = request.META.get("CONTENT_LENGTH") or "0"
    return int(text) if text.isascii() and text.isdigit() else 0


def _short_fields(request: HttpRequest) -> QueryDict:
    """Read what was sent to its end, or the browser would lose the answer; keep the short fields.

    Of a form with files nothing is kept.
    """
    is_plain = request.content_type == "application/x-www-form-urlencoded"
    is_kept = is_plain and _length(request) <= LOOKED_THROUGH_MOST
    read, left = bytearray(), READ_MOST
    while left > 0 and (part := request.read(READ_AT_ONCE)):
        left -= len(part)
        if is_kept:
            read += part
    fields = [field for field in bytes(read).split(b"&") if len(field) <= KEPT_MOST]
    return QueryDict(b"&".join(fields[: settings.DATA_UPLOAD_MAX_NUMBER_FIELDS]))
