"""What little is known of a doll's foot."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from patterns.foot import FOOT_LENGTH_LEAST_MM, FOOT_LENGTH_MOST_MM
from patterns.house_sizes import FITTED
from workshop.forms.library import LengthField
from workshop.lengths import typed_length
from workshop.models import StyleVersion
from workshop.selectors.library import labels_with_unit


class NearestForm(forms.Form):
    """The foot length, girths if known, and a style to see how it would fit."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        for key in FITTED:
            is_length = key == "foot_length"
            self.fields[key] = LengthField(
                label=labels_with_unit()[key],
                required=is_length,
                least=typed_length(str(FOOT_LENGTH_LEAST_MM)) if is_length else Decimal(0),
                most=typed_length(str(FOOT_LENGTH_MOST_MM)) if is_length else Decimal(1000),
            )
        self.fields["style"] = forms.ModelChoiceField(
            label=_("Style"),
            queryset=StyleVersion.objects.filter(style__is_offered=True).select_related("style"),
            required=False,
            empty_label=_("none yet"),
        )

    def measures(self) -> dict[str, Decimal]:
        """Return the measures that were typed."""
        given = ((key, self.cleaned_data.get(key)) for key in FITTED)
        return {key: value for key, value in given if value is not None}
