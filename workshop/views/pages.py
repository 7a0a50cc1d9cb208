"""Small helpers that views share."""

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import Form, ModelForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from workshop.forms.seen import BegunFromForm, SeenForm
from workshop.services.records import NEWER, record_save


def search_text(request: HttpRequest) -> str:
    """Return what was typed to be found, short and without what no database takes."""
    return request.GET.get("q", "").replace("\0", " ").strip()[:100]


def take_errors(form: Form, error: ValidationError) -> None:
    """Show what a service refused beside the fields it names, or at the top of the form."""
    if hasattr(error, "error_dict"):
        for name, errors in error.error_dict.items():
            form.add_error(name if name in form.fields else None, errors)
    else:
        form.add_error(None, error)
        if isinstance(form, BegunFromForm) and error.code == NEWER:
            form.look_again(error.params["version"])


def changes_of(form: ModelForm) -> dict[str, Any]:
    """Return what `record_save` is to write of a form's record, and what it was when read."""
    return {"columns": form.columns, "loaded": form.loaded} if isinstance(form, SeenForm) else {}


def record_form_page(
    request: HttpRequest,
    form: ModelForm,
    *,
    template: str,
    then: object = None,
    context: dict[str, object] | None = None,
    said: str = "",
    columns: Sequence[str] | None = None,
) -> HttpResponse:
    """Show a record's form, or save it and go to the record's page.

    `then` is what to redirect to: a URL, or a function from the saved record to one. `columns` are
    the only ones written, for a record that moves on by itself while its form is open; a form
    that knows what it showed (`SeenForm`) says itself which.
    """
    if request.method == "POST" and form.is_valid():
        record = form.save(commit=False)
        try:
            record_save(record, by=request.user, **{"columns": columns, **changes_of(form)})
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, said or _("%(record)s is saved.") % {"record": record})
            return redirect(then(record) if callable(then) else then)
    return render(request, template, {"form": form, **(context or {})})
