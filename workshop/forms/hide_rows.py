"""Rows of a hide's form: its defects, areas by grade, and thickness by place."""

import hashlib
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from patterns.hide import DEFECTS_MAX, HIDE_SIZE_MAX_MM
from patterns.hide_area import is_rectangle, is_round, rectangle_ring, ring_box, round_ring
from workshop.forms.numbers import MmField
from workshop.forms.outlines import points_read, points_written
from workshop.lengths import length_text
from workshop.models import Hide
from workshop.strict_json import write_json

SPARE_ROWS = 5  # empty rows at the end, so that rows can be added without script
AREAS_MAX = 50
PLACES_MAX = 60
SIDE_MAX_MM = Decimal(int(HIDE_SIZE_MAX_MM))
COORDINATE_LEAST_MM = Decimal(-10_000)
COORDINATE_MOST_MM = Decimal(10_000)
GRADE_WORST = 9


def length_field(label: str, **options: Any) -> MmField:
    """Return a field for a length in mm; `least` and `most` among the options bound it."""
    return MmField(
        label=label,
        max_digits=8,
        decimal_places=3,
        required=False,
        min_value=options.pop("least", Decimal("0.1")),
        max_value=options.pop("most", SIDE_MAX_MM),
        **options,
    )


SHAPES = [
    ("", gettext_lazy("none")),
    ("round", gettext_lazy("round")),
    ("rectangle", gettext_lazy("rectangle")),
    ("corners", gettext_lazy("corner points")),
]


class DefectForm(forms.Form):
    """One defect: round or rectangular in a box, or by corner points; a row may stay empty."""

    ring_name = gettext_lazy("defect")

    kind = forms.ChoiceField(
        label=gettext_lazy("Kind"),
        choices=[("", gettext_lazy("not said")), *Hide.DefectKind.choices],
        required=False,
    )
    shape = forms.ChoiceField(label=gettext_lazy("Shape"), choices=SHAPES, required=False)
    x_mm = length_field(
        gettext_lazy("Left edge x (mm)"), least=COORDINATE_LEAST_MM, most=COORDINATE_MOST_MM
    )
    y_mm = length_field(
        gettext_lazy("Lower edge y (mm)"), least=COORDINATE_LEAST_MM, most=COORDINATE_MOST_MM
    )
    width_mm = length_field(gettext_lazy("Width (mm)"))
    height_mm = length_field(gettext_lazy("Height (mm)"))
    corners = forms.CharField(
        label=gettext_lazy("Corner points: x, y; x, y; …"), required=False, max_length=100_000
    )

    def clean(self) -> dict[str, Any]:
        """Make the outline the row describes; None for an empty row."""
        data = super().clean()
        data["ring"] = None
        box = [data.get(name) for name in ("x_mm", "y_mm", "width_mm", "height_mm")]
        if self.errors:
            return data
        if not data.get("shape"):
            if data.get("corners") or any(value is not None for value in box):
                self.add_error("shape", _("Choose a shape, or empty the row."))
        elif data["shape"] == "corners":
            self._take_corners(data)
        else:
            self._take_box(data, box)
        return data

    def _take_corners(self, data: dict[str, Any]) -> None:
        try:
            data["ring"] = points_read(data.get("corners", ""), name=str(self.ring_name))
        except ValidationError as error:
            self.add_error("corners", error)

    def _take_box(self, data: dict[str, Any], box: list[Decimal | None]) -> None:
        names = ("x_mm", "y_mm", "width_mm", "height_mm")
        for name, value in zip(names, box, strict=True):
            if value is None:
                self.add_error(name, _("Needed for this shape."))
        if None not in box:
            make = round_ring if data["shape"] == "round" else rectangle_ring
            data["ring"] = make(*(float(value) for value in box))


class AreaForm(DefectForm):
    """A part of the hide of a lesser grade."""

    ring_name = gettext_lazy("graded area")

    kind = None
    name = forms.CharField(
        label=gettext_lazy("Part"),
        max_length=30,
        required=False,
        widget=forms.TextInput(attrs={"list": "hide-parts", "autocomplete": "off"}),
    )
    grade = forms.IntegerField(
        label=gettext_lazy("Grade"), min_value=1, max_value=GRADE_WORST, required=False
    )
    worth_percent = forms.DecimalField(
        label=gettext_lazy("Worth (% of the best)"),
        min_value=Decimal(0),
        max_value=Decimal(100),
        max_digits=5,
        decimal_places=2,
        required=False,
    )
    field_order = ["name", "grade", "worth_percent", "shape"]

    def clean(self) -> dict[str, Any]:
        """Ask for the grade of every shape given."""
        data = super().clean()
        if not self.errors and data["ring"] is not None and data.get("grade") is None:
            self.add_error("grade", _("Say which grade this part has; 1 is the best."))
        return data


def _rows(form: type[forms.Form], most: int, spare: int = SPARE_ROWS) -> type[forms.BaseFormSet]:
    return forms.formset_factory(form, extra=spare, max_num=most, validate_max=True)


class PlaceForm(forms.Form):
    """The thickness measured at one place; a row may stay empty."""

    x_mm = length_field(gettext_lazy("x (mm)"), least=COORDINATE_LEAST_MM, most=COORDINATE_MOST_MM)
    y_mm = length_field(gettext_lazy("y (mm)"), least=COORDINATE_LEAST_MM, most=COORDINATE_MOST_MM)
    thickness_mm = forms.DecimalField(
        label=gettext_lazy("Thickness (mm)"),
        max_digits=4,
        decimal_places=2,
        min_value=Decimal("0.2"),
        max_value=Decimal(6),
        required=False,
    )

    def clean(self) -> dict[str, Any]:
        """Ask for all three figures, or none."""
        data = super().clean()
        figures = {name: data.get(name) for name in self.fields}
        if not self.errors and any(value is not None for value in figures.values()):
            for name, value in figures.items():
                if value is None:
                    self.add_error(name, _("Give the place and the thickness."))
        return data

    @property
    def place(self) -> dict[str, str] | None:
        """Return the place as records keep it, None for an empty row."""
        if self.cleaned_data.get("thickness_mm") is None:
            return None
        return {name: length_text(self.cleaned_data[name]) for name in self.fields}


DefectRows = _rows(DefectForm, DEFECTS_MAX)
AreaRows = _rows(AreaForm, AREAS_MAX, spare=3)
PlaceRows = _rows(PlaceForm, PLACES_MAX, spare=3)


def row_initial(ring_points: Sequence[Sequence[float]]) -> dict[str, Any]:
    """Return the fields of a row that give a ring, as plainly as it can be said."""
    ring = [(float(x), float(y)) for x, y in ring_points]
    if is_rectangle(ring) or is_round(ring):
        names = ("x_mm", "y_mm", "width_mm", "height_mm")
        box = {name: f"{round(v, 3):g}" for name, v in zip(names, ring_box(ring), strict=True)}
        return {"shape": "rectangle" if is_rectangle(ring) else "round", **box}
    return {"shape": "corners", "corners": points_written(ring, between="; ")}


def drawn_digest(hide: Hide) -> str:
    """Return the sha256 of all that is drawn of a hide."""
    drawn = [hide.outline, hide.defects, hide.areas, hide.thickness_places, hide.photograph]
    return hashlib.sha256(write_json(drawn, sort_keys=True)).hexdigest()
