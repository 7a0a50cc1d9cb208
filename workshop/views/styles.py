"""Styles on offer, and the values each version has."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from patterns.errors import StyleError
from patterns.style import Style as Pattern
from workshop.drafting import style_picture
from workshop.forms.styles import StyleForm, StyleVersionForm
from workshop.lengths import length_text
from workshop.models import Style
from workshop.selectors.styles import pattern_of, patterns_unused, styles_page, versions_shown
from workshop.services.styles import style_make, style_version_make
from workshop.views.pages import record_form_page, search_text, take_errors


def styles(request: HttpRequest) -> HttpResponse:
    """Show the styles."""
    text = search_text(request)
    page = styles_page(text=text, before=request.GET.get("before", ""))
    context = {"page": page, "text": text, "unused": patterns_unused()}
    return render(request, "styles/styles.html", context)


def style_new(request: HttpRequest) -> HttpResponse:
    """Ask for a new style; its first version has the pattern's own values."""
    form = StyleForm(request.POST or None, initial=_pattern_asked(request))
    if request.method == "POST" and form.is_valid():
        record = form.save(commit=False)
        try:
            style_make(record, by=request.user)
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("%(record)s is saved.") % {"record": record})
            return redirect("style", record.pk)
    return render(request, "styles/style_form.html", {"form": form, "title": _("New style")})


def _pattern_asked(request: HttpRequest) -> dict[str, str]:
    """Return what the form begins with when ?pattern= names a pattern there is."""
    found = next((p for p in patterns_unused() if p.name == request.GET.get("pattern")), None)
    return {} if found is None else {"name": _(found.label), "file_name": found.name}


def style_change(request: HttpRequest, style_id: int) -> HttpResponse:
    """Change a style's name, note, or whether it is offered."""
    record = get_object_or_404(Style, pk=style_id)
    return record_form_page(
        request,
        StyleForm(request.POST or None, instance=record),
        template="styles/style_form.html",
        then=reverse("style", args=[record.pk]),
        context={"title": _("Change %(style)s") % {"style": record}},
    )


def style(request: HttpRequest, style_id: int) -> HttpResponse:
    """Show a style with its versions and their values."""
    record = get_object_or_404(Style, pk=style_id)
    pattern, versions = pattern_of(record), versions_shown(record)
    context = {
        "style": record,
        "pattern": pattern,
        "versions": versions,
        "picture": style_picture(pattern, versions[0].record.values)
        if pattern and versions
        else None,
    }
    return render(request, "styles/style.html", context)


def style_version_new(request: HttpRequest, style_id: int) -> HttpResponse:
    """Ask for the values of a new version, beginning with the newest one's."""
    record = get_object_or_404(Style, pk=style_id)
    pattern = pattern_of(record)
    if pattern is None:
        raise Http404(_("The pattern of this style is there no more."))
    form = StyleVersionForm(
        request.POST or None, pattern=pattern, initial=_newest_values(record, pattern)
    )
    newest = record.versions.order_by("-version").first()
    form.begin_with(newest.version if newest is not None else 0)
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["reason"]
        try:
            version = style_version_make(
                record,
                values=form.values(),
                reason=reason,
                by=request.user,
                begun_from=form.cleaned_data["begun_from"],
            )
        except StyleError as error:
            form.add_error(None, str(error))
        except ValidationError as error:
            take_errors(form, error)
        else:
            messages.success(request, _("%(version)s is saved.") % {"version": version})
            return redirect("style", record.pk)
    return render(request, "styles/version_form.html", {"form": form, "style": record})


def _newest_values(record: Style, pattern: Pattern) -> dict[str, object]:
    newest = record.versions.order_by("-version").first()
    known = {parameter.key for parameter in pattern.parameters}
    stored = newest.values if newest is not None else {}
    values = {**pattern.values(), **{k: v for k, v in stored.items() if k in known}}
    return {k: v if isinstance(v, bool) else length_text(v) for k, v in values.items()}
