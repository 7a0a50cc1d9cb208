"""The short way in: all that a first price needs, asked on one page with answers filled in."""

import tomllib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from patterns.style import load_style, style_names
from workshop.forms.account import WorkshopForm
from workshop.forms.hide_rows import length_field
from workshop.models import LeatherLot, RateCard, Supply, WorkshopProfile

FIRST_SUPPLIES = Path(__file__).resolve().parent.parent / "data" / "first_supplies.toml"
# Common practice, no source: what the five questions stand at until they are answered.
FIRST_ANSWERS = {
    "labour_rate_per_hour": Decimal(18),
    "overhead_per_active_hour": Decimal(4),
    "fee_pct": Decimal(7),
    "tax_pct": Decimal(0),
    "profit_pct": Decimal(20),
}
QUESTIONS = {
    "labour_rate_per_hour": gettext_lazy("What shall an hour of your work earn?"),
    "overhead_per_active_hour": gettext_lazy("Rent, tools and power for such an hour?"),
    "fee_pct": gettext_lazy("What does the place you sell at keep of the price (%)?"),
    "tax_pct": gettext_lazy("Tax in your prices (%); 0 if you are not registered?"),
    "profit_pct": gettext_lazy("What shall be left as profit (% of the price)?"),
}
LEATHER = ("leather_name", "colour", "thickness_mm", "length_mm", "width_mm", "paid")
LEAST_PIECE_MM = Decimal(10)


@cache
def first_supplies() -> tuple[Mapping[str, str], ...]:
    """Return the supplies a workshop without any begins with."""
    table = tomllib.loads(FIRST_SUPPLIES.read_text(encoding="utf-8"))
    return tuple(table["supplies"])


class ProfileForm(WorkshopForm):
    """Of the workshop's own settings what stands on every paper."""

    class Meta(WorkshopForm.Meta):
        fields = ["name", "currency", "paper"]


class QuestionsForm(forms.ModelForm):
    """The five figures that make most of a price; all others stay at a first card's own."""

    class Meta:
        model = RateCard
        fields = list(QUESTIONS)
        labels = QUESTIONS

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, initial=FIRST_ANSWERS, **kwargs)

    def _get_validation_exclusions(self) -> set[str]:
        """Leave out what is not asked."""
        return {*super()._get_validation_exclusions(), "reason", "version"}


class FirstStylesForm(forms.Form):
    """Which patterns are offered; all of them unless some are unticked."""

    styles = forms.MultipleChoiceField(
        label=gettext_lazy("Styles to offer"), widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        names = style_names()
        self.fields["styles"].choices = [(name, _(load_style(name).label)) for name in names]
        self.fields["styles"].initial = list(names)


class FirstLeatherForm(forms.Form):
    """A piece of leather that is there, by its two lengths; left empty, there is none yet."""

    leather_name = forms.CharField(
        label=gettext_lazy("Kind, such as goat"), max_length=80, required=False
    )
    colour = forms.CharField(label=gettext_lazy("Colour"), max_length=40, required=False)
    thickness_mm = LeatherLot._meta.get_field("thickness_mm").formfield(required=False)
    length_mm = length_field(gettext_lazy("Length (mm)"), least=LEAST_PIECE_MM)
    width_mm = length_field(gettext_lazy("Width (mm)"), least=LEAST_PIECE_MM)
    paid = LeatherLot._meta.get_field("price").formfield(
        required=False, label=gettext_lazy("Paid for it")
    )

    def clean(self) -> dict[str, Any]:
        """Ask for all of it or for none."""
        data = super().clean()
        if self.is_given:
            for name in LEATHER:
                if data.get(name) in (None, "") and name not in self.errors:
                    self.add_error(name, _("Needed with the others, or leave all of them empty."))
        return data

    @property
    def is_given(self) -> bool:
        """Return whether there is a piece."""
        return any(str(self[name].value() or "").strip() for name in LEATHER)


class FirstSuppliesForm(forms.Form):
    """A few supplies with a pack and its price each; only what is ticked is taken."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number, row in enumerate(first_supplies()):
            self.fields[f"take-{number}"] = forms.BooleanField(
                label=_("Take %(name)s") % {"name": row["name"]}, required=False, initial=True
            )
            for name in ("name", "pack_quantity", "pack_price"):
                field = Supply._meta.get_field(name).formfield(initial=row[name])
                field.label = f"{field.label}: {row['name']}"
                self.fields[f"{name}-{number}"] = field

    def rows(self) -> Iterator[tuple[str, str, list[forms.BoundField]]]:
        """Yield what each row is for, its unit, and its four fields."""
        for number, row in enumerate(first_supplies()):
            fields = [
                self[f"{name}-{number}"] for name in ("take", "name", "pack_quantity", "pack_price")
            ]
            kind, unit = Supply.Kind(row["kind"]).label, Supply.Unit(row["unit"]).label
            yield str(kind), str(unit), fields

    def supplies(self) -> list[Supply]:
        """Return the supplies that were ticked, unsaved."""
        data = self.cleaned_data
        return [
            Supply(
                kind=row["kind"],
                unit=row["unit"],
                name=data[f"name-{number}"],
                pack_quantity=data[f"pack_quantity-{number}"],
                pack_price=data[f"pack_price-{number}"],
            )
            for number, row in enumerate(first_supplies())
            if data[f"take-{number}"]
        ]


class DemoRemovalForm(forms.Form):
    """The one tick that the removal of the demo asks for."""

    is_sure = forms.BooleanField(
        label=gettext_lazy("All of this may go, and what was tried out in it"),
        error_messages={"required": gettext_lazy("Tick it first; nothing was removed.")},
    )


class Beginning:
    """The forms of the short way in, of what the workshop has none yet."""

    def __init__(self, missing: frozenset[str], data: Mapping[str, Any] | None = None) -> None:
        self.profile = ProfileForm(data, instance=WorkshopProfile.current())
        self.rates = QuestionsForm(data) if "rates" in missing else None
        self.styles = FirstStylesForm(data) if "styles" in missing else None
        self.leather = FirstLeatherForm(data) if "leather" in missing else None
        self.supplies = FirstSuppliesForm(data) if "supplies" in missing else None

    @property
    def parts(self) -> list[forms.BaseForm]:
        """Return the forms that are asked."""
        every = (self.profile, self.rates, self.styles, self.leather, self.supplies)
        return [form for form in every if form is not None]

    def is_valid(self) -> bool:
        """Return whether all of them hold; `faults` tells those of each."""
        return all(form.is_valid() for form in self.parts)

    def faults(self) -> Iterator[tuple[forms.BoundField | None, str]]:
        """Yield every fault with its field; None for those of a whole form."""
        for form in self.parts:
            for fault in form.non_field_errors():
                yield None, fault
            for field in form:
                for fault in field.errors:
                    yield field, fault
