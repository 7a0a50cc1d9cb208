"""Forms for styles; a version's form is made from its pattern's parameters."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from patterns.errors import StyleError
from patterns.formula import Formula
from patterns.style import Parameter, load_style, style_names
from patterns.style import Style as Pattern
from workshop.forms.numbers import DecimalInput
from workshop.forms.seen import BegunFromForm, SeenForm
from workshop.models import Style
from workshop.selectors.styles import unit_words, value_words


class StyleForm(SeenForm):
    """A style on offer and the pattern it is drawn by."""

    file_name = forms.ChoiceField(label=gettext_lazy("Pattern"))

    class Meta:
        model = Style
        fields = ["name", "file_name", "note", "is_offered"]
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["file_name"].choices = [
            (name, _(load_style(name).label)) for name in style_names()
        ]
        if self.instance.pk is not None:
            # Another pattern has other parameters: that is another style.
            del self.fields["file_name"]


def parameter_field(parameter: Parameter) -> forms.Field:
    """Return the form field for one parameter of a pattern."""
    follows = isinstance(parameter.default, Formula)
    if parameter.kind == "flag":
        return forms.BooleanField(
            label=_(parameter.label), required=False, help_text=_(parameter.help_text)
        )
    unit = unit_words(parameter)
    label = f"{_(parameter.label)} ({unit})" if unit else _(parameter.label)
    usual = (_("Left empty: %(default)s.") if follows else _("%(default)s by default.")) % {
        "default": value_words(parameter, None)
    }
    span = _("From %(least)s to %(most)s.") % {
        "least": f"{parameter.least:g}",
        "most": f"{parameter.most:g}",
    }
    kind = forms.IntegerField if parameter.kind == "count" else forms.FloatField
    return kind(
        label=label,
        required=not follows,
        min_value=int(parameter.least) if parameter.kind == "count" else parameter.least,
        max_value=int(parameter.most) if parameter.kind == "count" else parameter.most,
        help_text=f"{_(parameter.help_text)} {usual} {span}",
        widget=forms.NumberInput() if parameter.kind == "count" else DecimalInput(),
    )


class StyleVersionForm(BegunFromForm):
    """Every parameter of a pattern, and why there is a new version."""

    def __init__(self, *args: Any, pattern: Pattern, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.pattern = pattern
        for parameter in pattern.parameters:
            self.fields[parameter.key] = parameter_field(parameter)
        self.fields["reason"] = forms.CharField(label=_("Why a new version"), max_length=200)

    def clean(self) -> dict[str, Any]:
        """Let the pattern itself look at the values."""
        data = super().clean()
        if not self.errors:
            try:
                self.pattern.values(self.values())
            except StyleError as error:
                key = error.field.removeprefix("parameters.")
                self.add_error(key if key in self.fields else None, str(error))
        return data

    def values(self) -> dict[str, float | bool]:
        """Return what was chosen; what was left empty follows the foot."""
        chosen = {p.key: self.cleaned_data.get(p.key) for p in self.pattern.parameters}
        return {key: value for key, value in chosen.items() if value is not None}
