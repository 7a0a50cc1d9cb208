"""Forms for customers, dolls, feet, and files of them."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from patterns.errors import FootError
from patterns.foot import (
    FOOT_LENGTH_LEAST_MM,
    FOOT_LENGTH_MOST_MM,
    LEVEL_GIRTHS_MOST,
    MEASURES,
    foot_problems,
)
from workshop.bridge import level_girths_of, points_of
from workshop.forms.seen import SeenForm
from workshop.lengths import (
    INCH,
    MM,
    UNITS,
    label_in,
    length_in,
    length_text,
    sentence_in,
    typed_length,
    typed_mm,
)
from workshop.models import Customer, Doll, FootVersion
from workshop.selectors.library import labels_with_unit
from workshop.services.library import field_of

CUSTOMER_CODE = re.compile(r"^[Cc]-?0*(\d{1,9})\b")
Curves = Mapping[str, list[list[float]]]


class CustomerForm(SeenForm):
    """Somebody the workshop makes for."""

    class Meta:
        model = Customer
        fields = ["name", "email", "phone", "address", "country", "note"]
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "off"}),
            "address": forms.Textarea(attrs={"rows": 3}),
            "note": forms.Textarea(attrs={"rows": 3}),
        }


class CustomerCodeField(forms.CharField):
    """A customer named by code; the page offers the newest ones in a list."""

    def clean(self, value: Any) -> Customer | None:
        """Return the customer, None when the box is empty."""
        text = super().clean(value).strip()
        if not text:
            return None
        found = CUSTOMER_CODE.match(text)
        customer = Customer.objects.filter(number=int(found.group(1))).first() if found else None
        if customer is None:
            raise ValidationError(
                _("There is no customer “%(text)s”; type a code such as C-0012."),
                params={"text": text[:60]},
                code="customer",
            )
        return customer

    def prepare_value(self, value: Any) -> Any:
        """Show a stored customer by code."""
        if isinstance(value, int):
            customer = Customer.objects.only("number").filter(pk=value).first()
            return customer.code if customer else ""
        return value


class DollForm(SeenForm):
    """A doll, or one of the workshop's house sizes."""

    customer = CustomerCodeField(
        label=_("Customer"),
        required=False,
        max_length=160,
        help_text=_("A code such as C-0012. Leave empty for one of our own house sizes."),
        widget=forms.TextInput(attrs={"list": "customers-newest", "autocomplete": "off"}),
    )

    class Meta:
        model = Doll
        fields = ["name", "customer", "material", "skin_tone", "feet_kind", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}
        help_texts = {
            "material": _("Dark leather can stain resin and vinyl; the papers will say so."),
            "skin_tone": _("Helps to judge what shows through a light lining."),
        }


class Typed(str):
    """What somebody typed into a box."""


class LengthField(forms.CharField):
    """A length in mm: kept exactly as typed, point or comma; inches are taken too."""

    unit = MM  # what its box is typed in; a form that offers inches says so by `typed_in`

    def __init__(self, *, least: Decimal | None, most: Decimal, **options: Any) -> None:
        self.least, self.most = least, most
        widget = forms.TextInput(
            attrs={"inputmode": "decimal", "autocomplete": "off", "class": "measure-box"}
        )
        super().__init__(max_length=20, widget=widget, **options)

    def clean(self, value: Any) -> Decimal | None:
        """Return the number, None when nothing was typed."""
        text = super().clean(value)
        if not text:
            return None
        try:
            number = typed_mm(text, self.unit)
        except ValueError:
            said = gettext("“%(text)s” is no number; type millimetres such as 42.5.")
            if self.unit == INCH:
                said = gettext("“%(text)s” is no length; type inches such as 3 1/4 or 3.25.")
            raise ValidationError(said % {"text": text}, code="number") from None
        self._check_range(number)
        return number

    def _check_range(self, number: Decimal) -> None:
        if number.as_tuple().exponent < -3:
            raise ValidationError(_("At most three decimals: thousandths of a mm."), code="fine")
        if self.least is not None:
            said = sentence_in(gettext("Must be %s mm or more.") % self.least, self.unit)
            MinValueValidator(self.least, said)(number)
        said = sentence_in(gettext("Must be at most %s mm.") % self.most, self.unit)
        MaxValueValidator(self.most, said)(number)

    def typed_in(self, unit: str) -> None:
        """Take and show the length in a unit."""
        self.unit = unit
        self.label = label_in(str(self.label), unit)

    def bound_data(self, data: Any, initial: Any) -> Any:
        """Return what was typed, told apart from a stored length."""
        return Typed(super().bound_data(data, initial) or "")

    def prepare_value(self, value: Any) -> Any:
        """Show a stored length in the box's unit, and what was typed as it was typed."""
        if self.unit == MM or isinstance(value, Typed) or value in (None, ""):
            return value
        return length_in(Decimal(value), self.unit)


class LevelGirthsWidget(forms.Widget):
    """Rows of two boxes; the page draws them, this reads them."""

    def value_from_datadict(self, data: Any, files: Any, name: str) -> list[tuple[str, str]]:
        """Return the typed pairs of height and girth, empty rows left out."""
        read = data.getlist if hasattr(data, "getlist") else lambda key: data.get(key, [])
        heights, girths = read(f"{name}_height"), read(f"{name}_girth")
        pairs = [(h.strip(), g.strip()) for h, g in zip(heights, girths, strict=False)]
        return [pair for pair in pairs if any(pair)]

    def use_required_attribute(self, initial: Any) -> bool:
        """Rows may always stay empty."""
        return False


class LevelGirthsField(forms.Field):
    """Girths of the leg at heights from the ground, for shafts."""

    widget = LevelGirthsWidget
    unit = MM

    def clean(self, value: Any) -> list[dict[str, str]]:
        """Return the rows with exact numbers as text."""
        if len(value) > LEVEL_GIRTHS_MOST:
            raise ValidationError(
                _("At most %(most)s rows."), params={"most": LEVEL_GIRTHS_MOST}, code="many"
            )
        return [self._row(number, pair) for number, pair in enumerate(value, 1)]

    def _row(self, number: int, pair: tuple[str, str]) -> dict[str, str]:
        try:
            height, girth = (typed_mm(text, self.unit) for text in pair)
            if not 0 < min(height, girth) <= max(height, girth) <= 1000:
                raise ValueError(pair)
        except ValueError:
            said = _("Row %(row)s: type a height and a girth in mm, both above zero.")
            if self.unit == INCH:
                said = _("Row %(row)s: type a height and a girth in inches, both above zero.")
            raise ValidationError(said, params={"row": number}, code="row") from None
        return {"height_mm": length_text(height), "girth_mm": length_text(girth)}


class FootForm(forms.Form):
    """Thirteen measures of a foot, all but the length optional, and what goes with them."""

    foot_side = forms.ChoiceField(
        label=_("Foot"), choices=FootVersion.Side.choices, widget=forms.RadioSelect
    )
    knee_clearance_mm = LengthField(
        label=_("Knee clearance (mm)"),
        least=Decimal(0),
        most=Decimal(1000),
        required=False,
        help_text=_("Height from the ground that a tall shaft must not pass."),
    )
    level_girths = LevelGirthsField(label=_("Level girths (mm)"), required=False)
    keep_tracing = forms.BooleanField(
        label=_("Keep the tracing of the last version"), required=False, initial=True
    )
    keep_mesh = forms.BooleanField(
        label=_("Keep the mesh of the last version"), required=False, initial=True
    )
    mesh_token = forms.CharField(required=False, max_length=80, widget=forms.HiddenInput)
    tracing_token = forms.CharField(required=False, max_length=80, widget=forms.HiddenInput)
    reason = forms.CharField(
        label=_("Why"),
        max_length=200,
        help_text=_("Such as: first measuring; the calf was read wrongly."),
    )
    # The unit the boxes were shown in comes along: a choice changed meanwhile changes no length.
    typed_in = forms.ChoiceField(
        choices=[(unit, unit) for unit in UNITS], required=False, widget=forms.HiddenInput
    )

    def __init__(
        self,
        *args: Any,
        doll: Doll,
        curves: Curves | None = None,
        unit: str = MM,
        **options: Any,
    ):
        super().__init__(*args, label_suffix="", **options)
        self.unit = unit
        if self.is_bound:
            sent = self.data.get("typed_in")
            self.unit = sent if sent in UNITS else MM
        self.initial["typed_in"] = self.unit
        self.doll = doll
        self.curves: Curves = curves or {}
        self.mesh: dict[str, Any] = {}
        words = labels_with_unit()
        for measure in MEASURES:
            first = measure.key == "foot_length"
            self.fields[measure.key] = LengthField(
                label=words[measure.key],
                help_text=gettext(measure.help_text),
                required=first,
                least=typed_length(str(FOOT_LENGTH_LEAST_MM)) if first else Decimal(0),
                most=typed_length(str(FOOT_LENGTH_MOST_MM)) if first else Decimal(1000),
            )
            # The note changes while one types; a reader hears it with the box.
            described = f"id_{measure.key}_helptext note-{measure.key}"
            self.fields[measure.key].widget.attrs["aria-describedby"] = described
        self.fields["level_girths"].unit = self.unit
        for field in self.fields.values():
            if isinstance(field, LengthField):
                field.typed_in(self.unit)

    def clean(self) -> dict[str, Any]:
        """Hold the whole set against what one foot can be."""
        data = super().clean()
        for problem in self.problems():
            name = field_of(problem)
            # A tracing has no box of its own once it is read.
            said = sentence_in(problem.text, self.unit)
            self.add_error(name if name in self.fields else None, said)
        return data

    def problems(self) -> list[FootError]:
        """Return what the core finds impossible, going by the boxes that hold good numbers."""
        measures = self.measures_mm()
        if "foot_length" not in measures:
            return []
        knee = self.cleaned_data.get("knee_clearance_mm")
        return foot_problems(
            self.doll.name,
            measures,
            foot_side=self.cleaned_data.get("foot_side", "left"),
            level_girths=level_girths_of(self.cleaned_data.get("level_girths") or []),
            knee_clearance_mm=None if knee is None else float(knee),
            sole_outline_mm=points_of(self.curves.get("sole_outline", [])),
            side_profile_mm=points_of(self.curves.get("side_profile", [])),
        )

    def measures_mm(self) -> dict[str, float]:
        """Return the measures that were typed and are numbers in range."""
        typed = ((measure.key, self.cleaned_data.get(measure.key)) for measure in MEASURES)
        return {key: float(value) for key, value in typed if value is not None}

    def level_rows(self) -> list[tuple[str, str]]:
        """Return what the rows of level girths show, three empty ones at the end."""
        value = self["level_girths"].value() or []
        pairs = [
            tuple(length_in(Decimal(row[name]), self.unit) for name in ("height_mm", "girth_mm"))
            if isinstance(row, dict)
            else row
            for row in value
        ]
        return [*pairs, *[("", "")] * 3]


class LibraryFileForm(forms.Form):
    """A library file somebody wants to take in."""

    library_file = forms.FileField(
        label=_("Library file (.csv or .json)"),
        help_text=_("At most 20 MB. Nothing is stored before you have seen what would change."),
        widget=forms.FileInput(attrs={"accept": ".csv,.json"}),
        required=False,
    )
