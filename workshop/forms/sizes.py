"""Forms for house sizes: grading from one foot, and a run of one style over many."""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from workshop.forms.library import LengthField
from workshop.models import FootVersion
from workshop.selectors.orders import number_in, styles_offered
from workshop.selectors.sizes import house_sizes
from workshop.size_runs import FEET_MOST


class GradeForm(forms.Form):
    """How much longer and wider each size is than the one before, and how many."""

    name = forms.CharField(
        label=_("Name of the sizes"), max_length=60, help_text=_("The length is added to it.")
    )
    length_step_mm = LengthField(label=_("Longer by (mm)"), least=Decimal("0.1"), most=Decimal(40))
    girth_step_mm = LengthField(
        label=_("Ball girth wider by (mm)"),
        least=Decimal(0),
        most=Decimal(40),
        help_text=_(
            "Other girths keep their proportion to the ball. A handbook of 1902 takes 9/16 of the"
            " length step, 3/4 for large sizes."
        ),
    )
    down = forms.IntegerField(label=_("Sizes smaller"), min_value=0, max_value=8)
    up = forms.IntegerField(label=_("Sizes larger"), min_value=0, max_value=8)

    def clean(self) -> dict[str, Any]:
        """Ask for at least one new size."""
        data = super().clean()
        if not self.errors and not (data["down"] or data["up"]):
            self.add_error("up", _("Say how many sizes to make, smaller or larger."))
        return data


class SizeRunForm(forms.Form):
    """Which feet and which style: the first foot is what the others are held against."""

    style = forms.TypedChoiceField(label=_("Style"), coerce=int)
    sizes = forms.TypedMultipleChoiceField(
        label=_("House sizes"),
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    others = forms.CharField(
        label=_("Other dolls, by code"),
        required=False,
        max_length=200,
        help_text=_("Such as D-0001, D-0004; the newest foot of each is taken."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        self.styles = styles_offered()
        self.house = house_sizes()
        self.fields["style"].choices = [(v.pk, v.style.name) for v in self.styles]
        self.fields["sizes"].choices = [
            (size.version.pk, f"{size.version.doll.name} ({size.length} mm)") for size in self.house
        ]

    def clean_others(self) -> list[FootVersion]:
        """Return the newest foot of every doll that is named."""
        codes = [word for word in re.split(r"[\s,;]+", self.cleaned_data["others"]) if word]
        return [_foot_of(code) for code in codes]

    def clean(self) -> dict[str, Any]:
        """Hold the number of feet against what a run takes."""
        data = super().clean()
        if not self.errors:
            count = len(self.feet())
            if count < 2:
                self.add_error(None, _("Choose at least two feet."))
            elif count > FEET_MOST:
                self.add_error(None, _("At most %(most)d feet.") % {"most": FEET_MOST})
        return data

    def feet(self) -> list[FootVersion]:
        """Return the chosen feet once each: house sizes by length, then the dolls as named."""
        chosen = self.cleaned_data.get("sizes", [])
        feet = [size.version for size in self.house if size.version.pk in chosen]
        for foot in self.cleaned_data.get("others", []):
            if foot.pk not in [each.pk for each in feet]:
                feet.append(foot)
        return feet

    def style_version(self) -> Any:
        """Return the chosen style's version."""
        return next(v for v in self.styles if v.pk == self.cleaned_data["style"])


def _foot_of(code: str) -> FootVersion:
    number = number_in(code) if code[:1].upper() == "D" else None
    feet = FootVersion.objects.filter(doll__number=number or 0).select_related("doll")
    foot = feet.order_by("-id").first()
    if foot is None:
        raise ValidationError(
            _("“%(code)s” is no doll with a measured foot; write a code such as D-0012."),
            params={"code": code[:20]},
            code="doll",
        )
    return foot
