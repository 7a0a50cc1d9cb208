"""The form of a rub test."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from workshop.models import RubTest


class RubTestForm(forms.ModelForm):
    """What a white cloth showed after rubbing, dry and damp."""

    class Meta:
        model = RubTest
        fields = ["dry", "damp", "note"]
        help_texts = {"note": _("Where it was rubbed, how often, how long it had dried.")}

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
