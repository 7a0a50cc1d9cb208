"""Forms of the list for sale: a style over sizes and leathers, and a printed guide."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from workshop.models import Article, FootVersion, LeatherLot, PlaceOfSale, StyleVersion
from workshop.selectors.orders import styles_offered
from workshop.selectors.sizes import house_sizes

LOTS_MOST = 60


def _style_field() -> forms.TypedChoiceField:
    return forms.TypedChoiceField(label=_("Style"), coerce=int)


def _place_field() -> forms.ModelChoiceField:
    return forms.ModelChoiceField(
        label=_("Place of sale"),
        queryset=PlaceOfSale.objects.filter(is_offered=True),
        required=False,
        empty_label=_("none: the rate card’s fees"),
    )


def lined_field() -> forms.BooleanField:
    """Return the tick that leather whose colour may rub is lined."""
    return forms.BooleanField(
        label=_("Line leather whose colour may rub"),
        required=False,
        initial=True,
        help_text=_("A light lining and a sock lining, where the style has them."),
    )


class PairsForm(forms.Form):
    """Which style in which sizes and leathers, and where it is sold."""

    style = _style_field()
    sizes = forms.TypedMultipleChoiceField(
        label=_("House sizes"), coerce=int, widget=forms.CheckboxSelectMultiple
    )
    leathers = forms.TypedMultipleChoiceField(
        label=_("Leathers"), coerce=int, widget=forms.CheckboxSelectMultiple
    )
    place = _place_field()
    is_lined = lined_field()

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        self.styles = styles_offered()
        self.house = house_sizes()
        self.lots = list(LeatherLot.objects.order_by("-number")[:LOTS_MOST])
        self.fields["style"].choices = [(v.pk, v.style.name) for v in self.styles]
        self.fields["sizes"].choices = [
            (size.version.pk, f"{size.version.doll.name} ({size.length} mm)") for size in self.house
        ]
        self.fields["leathers"].choices = [
            (lot.pk, f"{lot.name}, {lot.colour} ({lot.code})") for lot in self.lots
        ]

    def style_version(self) -> StyleVersion:
        """Return the chosen style's version."""
        return next(v for v in self.styles if v.pk == self.cleaned_data["style"])

    def feet(self) -> list[FootVersion]:
        """Return the chosen sizes by their length."""
        chosen = self.cleaned_data["sizes"]
        return [size.version for size in self.house if size.version.pk in chosen]

    def chosen_lots(self) -> list[LeatherLot]:
        """Return the chosen leathers."""
        return [lot for lot in self.lots if lot.pk in self.cleaned_data["leathers"]]


class GuideForm(forms.ModelForm):
    """A style's printed guide."""

    style = _style_field()
    place = _place_field()

    class Meta:
        model = Article
        fields = ["style", "place", "printing_cost", "minutes"]
        help_texts = {
            "printing_cost": _("Paper, ink and envelope of one."),
            "minutes": _("Paid at the rate card’s labour rate."),
        }

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, label_suffix="", **options)
        self.styles = styles_offered()
        self.fields["style"].choices = [(v.pk, v.style.name) for v in self.styles]

    def clean_style(self) -> StyleVersion:
        """Return the chosen style's version."""
        return next(v for v in self.styles if v.pk == self.cleaned_data["style"])
