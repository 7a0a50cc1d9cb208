"""Forms of records that may change while they stand open in somebody else's browser.

A page sends along what it showed of each field. What its reader left alone is taken as the record
has it now, so that nobody's change is undone by a form that was opened before it; a field that both
changed is told beside it, and saving once more keeps what was typed.
"""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.models import ModelChoiceField
from django.utils.translation import gettext as _

from workshop.services.records import columns_changed, fields_of

LONGEST_SHOWN = 120


class SeenForm(forms.ModelForm):
    """A record's form that knows what it showed; fields without it are taken as they are sent."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        is_stored = self.instance.pk is not None
        self.loaded = fields_of(self.instance) if is_stored else {}
        self._seen: set[str] = set()
        if is_stored:
            columns = {field.name for field in self.instance._meta.concrete_fields}
            for name in columns.intersection(self.fields):
                is_sent = self.add_initial_prefix(name) in self.data
                self.fields[name].show_hidden_initial = not self.is_bound or is_sent
                if is_sent:
                    self._seen.add(name)

    @property
    def columns(self) -> list[str]:
        """Return the columns that differ from what was loaded: the only ones to be written."""
        return columns_changed(self.instance, self.loaded)

    def _clean_fields(self) -> None:
        super()._clean_fields()
        changed = set(self.changed_data)
        for name in [name for name in self.fields if name in self._seen]:
            if name not in changed and name not in self.errors:
                self.cleaned_data[name] = getattr(self.instance, name)
            elif name in changed:
                self._compare(name)

    def _compare(self, name: str) -> None:
        """Tell of a field that somebody else has changed too, to something else."""
        key, now = self.add_initial_prefix(name), self._now(name)
        if _plain(self.data.get(key, "")) == _plain(now):
            return
        self.data = self.data.copy()
        self.data[key] = now  # what is shown from now on: saving once more keeps what was typed
        value = getattr(self.instance, name)
        if name in self.errors or self.cleaned_data.get(name) == value:
            return
        shown = self._words(name, value)
        said = _("Changed meanwhile to “%(now)s”. Save again to keep yours.") % {"now": shown}
        if not shown:
            said = _("Emptied meanwhile. Save again to keep yours.")
        self.add_error(name, ValidationError(said, code="changed_meanwhile"))

    def _now(self, name: str) -> str:
        """Return what the page would show of the record as it is now."""
        field = self.fields[name]
        value = field.prepare_value(self.initial.get(name))
        return field.hidden_widget().format_value(value) or ""

    def _words(self, name: str, value: Any) -> str:
        field = self.fields[name]
        if isinstance(value, bool):
            return _("yes") if value else _("no")
        if isinstance(field, forms.ChoiceField) and not isinstance(field, ModelChoiceField):
            value = getattr(self.instance, f"get_{name}_display", lambda: value)()
        elif not isinstance(value, str | None):
            value = str(value) if hasattr(value, "pk") else self._now(name)
        text = str(value or "")
        return f"{text[:LONGEST_SHOWN]}…" if len(text) > LONGEST_SHOWN else text


def _plain(text: str) -> str:
    return text.replace("\r\n", "\n").strip()


class BegunFromForm(forms.Form):
    """A form for a new version that says which version it began with, 0 for none."""

    begun_from = forms.IntegerField(required=False, min_value=0, widget=forms.HiddenInput)

    def begin_with(self, version: int) -> None:
        """Note which version the fields show; call before the form is shown."""
        self.initial["begun_from"] = version

    def look_again(self, version: int) -> None:
        """Begin with a newer version, now that its maker has been told of it."""
        self.data = self.data.copy()
        self.data[self.add_prefix("begun_from")] = str(version)
