"""The form a mesh is looked at by: its file, its unit, and which way it lies."""

from django import forms
from django.utils.translation import gettext_lazy as _

UNITS = [
    ("mm", _("millimetres")),
    ("cm", _("centimetres")),
    ("in", _("inches")),
    ("m", _("metres")),
]
AXES = [(f"{sign}{axis}", f"{sign}{axis}") for axis in "xyz" for sign in "+-"]


class MeshForm(forms.Form):
    """What somebody settles about a mesh that was read."""

    token = forms.CharField(required=False, max_length=80, widget=forms.HiddenInput)
    unit = forms.ChoiceField(
        label=_("The file is in"),
        choices=UNITS,
        required=False,
        help_text=_("The foot length tells: 7.5 long is a foot in centimetres."),
    )
    toes = forms.ChoiceField(
        label=_("Its toes point along"),
        choices=AXES,
        required=False,
        help_text=_("An axis of the file."),
    )
    up = forms.ChoiceField(label=_("Up is"), choices=AXES, required=False)
    # What the drawing on the page was made with: only that can be confirmed.
    seen = forms.CharField(required=False, max_length=20, widget=forms.HiddenInput)

    def settled(self) -> dict[str, str]:
        """Return unit, toes and up; empty ones are for the app to recognise."""
        return {name: self.cleaned_data.get(name) or "" for name in ("unit", "toes", "up")}

    def is_as_seen(self) -> bool:
        """Return whether the choices are those the drawing was made with."""
        return seen_text(self.settled()) == self.cleaned_data.get("seen")


def seen_text(settled: dict[str, str]) -> str:
    """Return unit, toes and up as one text."""
    return " ".join(settled[name] for name in ("unit", "toes", "up"))
