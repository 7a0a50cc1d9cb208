"""Forms for leather and supplies."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from patterns.errors import HideError
from patterns.geometry.outline import outline_area_mm2
from patterns.hide import DEFECTS_MAX, HIDE_SIZE_MAX_MM, GradedArea
from patterns.hide import Hide as HideValue
from patterns.hide_area import (
    hide_along_tight_way,
    is_rectangle,
    is_round,
    rectangle_ring,
    ring_box,
    round_ring,
    usable_hide_area_mm2,
)
from workshop.forms.outlines import points_read, points_written
from workshop.lengths import length_text
from workshop.models import Hide, LeatherLot, StockMove, Supply
from workshop.services.stock import area_decimal, hide_cost

SPARE_ROWS = 5  # empty rows at the end, so that rows can be added without script
AREAS_MAX = 50
SIDE_MAX_MM = Decimal(int(HIDE_SIZE_MAX_MM))
COORDINATE_LEAST_MM = Decimal(-10_000)
COORDINATE_MOST_MM = Decimal(10_000)
GRADE_WORST = 9


class RecordForm(forms.ModelForm):
    """A record's form that shows figures as they were typed, without a database's noughts."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, value in self.initial.items():
            if isinstance(value, Decimal):
                self.initial[name] = length_text(value)


class LotForm(RecordForm):
    """A lot of leather: hides bought together."""

    class Meta:
        model = LeatherLot
        fields = [
            "name",
            "colour",
            "thickness_mm",
            "price",
            "price_unit",
            "supplier",
            "bought_on",
            "colour_may_rub",
            "note",
        ]
        widgets = {
            "bought_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "note": forms.Textarea(attrs={"rows": 3}),
        }
        help_texts = {"price": gettext_lazy("A square foot is 9.290304 dm² exactly.")}


def _length_field(label: str, **options: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        max_digits=8,
        decimal_places=3,
        required=False,
        min_value=options.pop("least", Decimal("0.1")),
        max_value=options.pop("most", SIDE_MAX_MM),
        **options,
    )


class HideForm(RecordForm):
    """A hide: its outline by two lengths or by corner points, and its own figures."""

    width_mm = _length_field(gettext_lazy("Width, along x (mm)"))
    height_mm = _length_field(gettext_lazy("Height, along y (mm)"))
    corners = forms.CharField(
        label=gettext_lazy("Or corner points (mm)"),
        required=False,
        strip=True,
        widget=forms.Textarea(attrs={"rows": 8, "class": "points", "spellcheck": "false"}),
        help_text=gettext_lazy("One “x, y” a line, grain side up, in order round the edge."),
    )
    cost = forms.DecimalField(
        label=gettext_lazy("Cost of the hide"),
        max_digits=12,
        decimal_places=4,
        min_value=Decimal(0),
        required=False,
        help_text=gettext_lazy("Left empty, the lot's price and the whole area say."),
    )

    class Meta:
        model = Hide
        fields = ["thickness_mm", "tight_way_deg", "state", "remnant_of", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}
        help_texts = {
            "tight_way_deg": gettext_lazy("0 runs along x; 90 along y, counter-clockwise."),
        }

    field_order = ["width_mm", "height_mm", "corners"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        hide = self.instance
        siblings = Hide.objects.filter(lot_id=hide.lot_id).exclude(pk=hide.pk)
        self.fields["remnant_of"].queryset = siblings.select_related("lot").defer(
            "outline", "defects", "areas"
        )
        if hide.pk is not None and not self.is_bound:
            self.initial.update(_outline_initial(hide.outline), cost=_typed_cost(hide))

    def clean(self) -> dict[str, Any]:
        """Take the outline from the two lengths or from the points, whichever is given."""
        data = super().clean()
        lengths = [data.get("width_mm"), data.get("height_mm")]
        faulty = {"width_mm", "height_mm", "corners"} & set(self.errors)
        if faulty:
            return data
        if data.get("corners") and any(lengths):
            self.add_error("corners", _("Give width and height or points, not both."))
        elif data.get("corners"):
            self._take_corners(data)
        elif all(lengths):
            data["ring"] = rectangle_ring(0.0, 0.0, float(lengths[0]), float(lengths[1]))
        else:
            missing = "height_mm" if lengths[0] else "width_mm"
            self.add_error(missing, _("Give width and height, or corner points."))
        return data

    def _take_corners(self, data: dict[str, Any]) -> None:
        try:
            data["ring"] = points_read(data["corners"], name=_("outline of the hide"))
        except ValidationError as error:
            self.add_error("corners", error)


def _typed_cost(hide: Hide) -> str:
    """Return a hide's cost if somebody typed it; nothing if the lot's price still gives it."""
    ring = [(float(x), float(y)) for x, y in hide.outline]
    by_lot = hide_cost(hide.lot, area_decimal(outline_area_mm2(ring)))
    return "" if hide.cost == by_lot else length_text(hide.cost)


def _outline_initial(outline: Sequence[Sequence[float]]) -> dict[str, Any]:
    ring = [(float(x), float(y)) for x, y in outline]
    left, bottom, width, height = ring_box(ring)
    if left == bottom == 0.0 and is_rectangle(ring):
        return {"width_mm": f"{width:g}", "height_mm": f"{height:g}"}
    return {"corners": points_written(ring)}


SHAPES = [
    ("", gettext_lazy("none")),
    ("round", gettext_lazy("round")),
    ("rectangle", gettext_lazy("rectangle")),
    ("corners", gettext_lazy("corner points")),
]


class DefectForm(forms.Form):
    """One defect: round or rectangular in a box, or by corner points; a row may stay empty."""

    ring_name = gettext_lazy("defect")

    shape = forms.ChoiceField(label=gettext_lazy("Shape"), choices=SHAPES, required=False)
    x_mm = _length_field(
        gettext_lazy("Left edge x (mm)"), least=COORDINATE_LEAST_MM, most=COORDINATE_MOST_MM
    )
    y_mm = _length_field(
        gettext_lazy("Lower edge y (mm)"), least=COORDINATE_LEAST_MM, most=COORDINATE_MOST_MM
    )
    width_mm = _length_field(gettext_lazy("Width (mm)"))
    height_mm = _length_field(gettext_lazy("Height (mm)"))
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

    grade = forms.IntegerField(
        label=gettext_lazy("Grade"), min_value=1, max_value=GRADE_WORST, required=False
    )
    field_order = ["grade", "shape"]

    def clean(self) -> dict[str, Any]:
        """Ask for the grade of every shape given."""
        data = super().clean()
        if not self.errors and data["ring"] is not None and data.get("grade") is None:
            self.add_error("grade", _("Say which grade this part has; 1 is the best."))
        return data


def _rows(form: type[DefectForm], most: int) -> type[forms.BaseFormSet]:
    return forms.formset_factory(form, extra=SPARE_ROWS, max_num=most, validate_max=True)


DefectRows = _rows(DefectForm, DEFECTS_MAX)
AreaRows = _rows(AreaForm, AREAS_MAX)


def _row_initial(ring_points: Sequence[Sequence[float]]) -> dict[str, Any]:
    ring = [(float(x), float(y)) for x, y in ring_points]
    if is_rectangle(ring) or is_round(ring):
        names = ("x_mm", "y_mm", "width_mm", "height_mm")
        box = {name: f"{round(v, 3):g}" for name, v in zip(names, ring_box(ring), strict=True)}
        return {"shape": "rectangle" if is_rectangle(ring) else "round", **box}
    return {"shape": "corners", "corners": points_written(ring, between="; ")}


class HideEntry:
    """A hide's form with its rows of defects and graded areas; they hold only together."""

    def __init__(self, data: Mapping[str, Any] | None, *, hide: Hide) -> None:
        self.hide = hide
        self.form = HideForm(data, instance=hide)
        self.defects = DefectRows(
            data, prefix="defect", initial=[_row_initial(ring) for ring in hide.defects]
        )
        self.areas = AreaRows(
            data,
            prefix="area",
            initial=[
                {"grade": area["grade"], **_row_initial(area["outer"])} for area in hide.areas
            ],
        )
        self.value: HideValue | None = None

    def is_valid(self) -> bool:
        """Return whether all parts hold by themselves and together; faults stand at the fields."""
        parts = [self.form.is_valid(), self.defects.is_valid(), self.areas.is_valid()]
        if not all(parts):
            return False
        try:
            value = self._value()
            usable_hide_area_mm2(value)
        except HideError as error:
            self._take(error)
            return False
        if self._fits_turned(value):
            self.value = value
        return self.value is not None

    @property
    def rows_faulty(self) -> bool:
        """Return whether a row of defects or areas has a fault."""
        return any(
            form.errors for rows in (self.defects, self.areas) if rows.is_bound for form in rows
        )

    @property
    def cost(self) -> Decimal | None:
        """Return the cost typed, or None for the lot's price."""
        return self.form.cleaned_data["cost"]

    def _value(self) -> HideValue:
        name = self.hide.code if self.hide.pk is not None else _("(new)")
        return HideValue(
            name,
            self.form.cleaned_data["ring"],
            tuple(row.cleaned_data["ring"] for row in _filled(self.defects)),
            tuple(
                GradedArea(row.cleaned_data["grade"], row.cleaned_data["ring"])
                for row in _filled(self.areas)
            ),
        )

    def _fits_turned(self, value: HideValue) -> bool:
        try:
            hide_along_tight_way(value, float(self.form.cleaned_data["tight_way_deg"]))
        except HideError as error:
            self.form.add_error("tight_way_deg", str(error))
            return False
        return True

    def _take(self, error: HideError) -> None:
        """Put a fault of the whole beside the row or field it names."""
        for prefix, rows in (("holes[", self.defects), ("areas[", self.areas)):
            if error.field.startswith(prefix):
                index = int(error.field[len(prefix) :].split("]")[0])
                _filled(rows)[index].add_error("shape", str(error))
                return
        is_corners = bool(self.form.cleaned_data.get("corners"))
        outline = "corners" if is_corners else "width_mm"
        self.form.add_error(outline if error.field in ("outer", "holes") else None, str(error))


def _filled(rows: forms.BaseFormSet) -> list[DefectForm]:
    return [row for row in rows if row.cleaned_data.get("ring") is not None]


class SupplyForm(RecordForm):
    """A supply: what it is, how it is counted and what a pack costs."""

    class Meta:
        model = Supply
        fields = [
            "name",
            "kind",
            "unit",
            "pack_quantity",
            "pack_price",
            "reorder_point",
            "is_usual",
            "note",
        ]
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}
        help_texts = {
            "pack_quantity": gettext_lazy("In the unit: 25 for a reel of 25 m."),
            "reorder_point": gettext_lazy("In the unit; 0 for no reminder."),
            "is_usual": gettext_lazy(
                "Used when a job names none. Only one of a kind is; the first of a kind always."
            ),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk is None:
            self.initial["is_usual"] = False


class MoveForm(forms.Form):
    """One line for the ledger."""

    kind = forms.ChoiceField(label=gettext_lazy("What happened"))
    quantity = forms.DecimalField(
        label=gettext_lazy("Quantity"),
        max_digits=10,
        decimal_places=3,
        min_value=Decimal(0),
        max_value=Decimal(1_000_000),
    )
    reason = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=200,
        help_text=gettext_lazy("Such as “for job O-0012” or “yearly count”."),
    )

    def __init__(self, *args: Any, unit: str, may_buy: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = StockMove.Kind
        choices = [(kinds.USED, _("used up")), (kinds.COUNTED, _("counted on the shelf"))]
        if may_buy:
            choices.insert(0, (kinds.BOUGHT, _("bought")))
        self.fields["kind"].choices = choices
        self.fields["quantity"].label = _("Quantity (%(unit)s)") % {"unit": unit}
