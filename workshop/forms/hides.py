"""The form of a hide: outline, defects, graded areas, thickness by place, photograph."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from math import hypot
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from shapely.geometry import Point, Polygon

from patterns.errors import HideError
from patterns.geometry.outline import outline_area_mm2
from patterns.hide import DEFECTS_MAX, GradedArea
from patterns.hide import Hide as HideValue
from patterns.hide_area import (
    hide_along_tight_way,
    is_rectangle,
    rectangle_ring,
    ring_box,
    usable_hide_area_mm2,
)
from workshop.forms.hide_rows import (
    SIDE_MAX_MM,
    SPARE_ROWS,
    AreaRows,
    DefectForm,
    DefectRows,
    PlaceRows,
    drawn_digest,
    length_field,
    row_initial,
)
from workshop.forms.outlines import points_read, points_written
from workshop.forms.stock import RecordForm
from workshop.lengths import length_text
from workshop.models import Hide
from workshop.photo_files import photo_size_px
from workshop.services.stock import area_decimal, hide_cost

PIXELS_MOST = 5000  # kept photographs are smaller
MARKS_APART_LEAST_PX = 50  # a pixel's error is then at most 2 % of the scale
MARKS = ("mark_a_x", "mark_a_y", "mark_b_x", "mark_b_y", "marks_mm")
OTHER = Hide.DefectKind.OTHER
Points = Sequence[Sequence[float]]


def _pixel_field(label: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        max_digits=6,
        decimal_places=1,
        required=False,
        min_value=Decimal(0),
        max_value=Decimal(PIXELS_MOST),
    )


class HideForm(RecordForm):
    """A hide: its outline by two lengths or by corner points, and its own figures.

    The photograph is named by its file's sha256; two marks on it, a known distance apart, scale it.
    """

    width_mm = length_field(
        gettext_lazy("Width, along x (mm)"),
        help_text=gettext_lazy("Inches with their sign behind them: 15 1/2 in."),
    )
    height_mm = length_field(gettext_lazy("Height, along y (mm)"))
    corners = forms.CharField(
        label=gettext_lazy("Or corner points (mm)"),
        required=False,
        strip=True,
        widget=forms.Textarea(attrs={"rows": 8, "class": "points", "spellcheck": "false"}),
        help_text=gettext_lazy("One “x, y” a line, grain side up, in order round the edge."),
    )
    photo = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)
    drawn = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)
    mark_a_x = _pixel_field(gettext_lazy("First mark, from the left (pixels)"))
    mark_a_y = _pixel_field(gettext_lazy("First mark, from the top (pixels)"))
    mark_b_x = _pixel_field(gettext_lazy("Second mark, from the left (pixels)"))
    mark_b_y = _pixel_field(gettext_lazy("Second mark, from the top (pixels)"))
    marks_mm = length_field(gettext_lazy("Distance between the marks (mm)"), least=Decimal(10))
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
        if hide.pk is not None:
            self.initial["drawn"] = drawn_digest(hide)
        if hide.pk is not None and not self.is_bound:
            self.initial.update(outline_initial(hide.outline), cost=_typed_cost(hide))
            self.initial.update(_photograph_initial(hide.photograph))

    def own_fields(self) -> list[forms.BoundField]:
        """Return the visible fields but those of the photograph, which stand beside it."""
        return [field for field in self.visible_fields() if field.name not in MARKS]

    def mark_fields(self) -> list[forms.BoundField]:
        """Return the fields that scale the photograph."""
        return [self[name] for name in MARKS]

    @property
    def photograph(self) -> dict[str, Any]:
        """Return the photograph as a record keeps it, with its marks as far as they hold."""
        digest = str(self["photo"].value() or "")
        size = photo_size_px(digest)
        if size is None:
            return {}
        shown: dict[str, Any] = {"sha256": digest, "width_px": size[0], "height_px": size[1]}
        data = getattr(self, "cleaned_data", None) or self.initial
        marks = [data.get(name) for name in MARKS]
        if all(value not in (None, "") for value in marks):
            ax, ay, bx, by, apart = (float(value) for value in marks)
            shown |= {"marks_px": [[ax, ay], [bx, by]], "marks_mm": apart}
        return shown

    def clean_photo(self) -> str:
        """Take only a photograph that is there."""
        digest = str(self.cleaned_data["photo"])
        if digest and photo_size_px(digest) is None:
            raise ValidationError(_("The photograph is no longer kept here; choose it again."))
        return digest

    def _check_marks(self, data: dict[str, Any]) -> None:
        """Ask for all five figures or none, far enough apart and on the photograph."""
        given = [data.get(name) for name in MARKS]
        if set(MARKS) & set(self.errors) or not any(value is not None for value in given):
            return
        size = photo_size_px(data.get("photo") or "")
        if size is None:
            self.add_error("marks_mm", _("Marks scale a photograph; add one, or empty them."))
            return
        for name, value in zip(MARKS, given, strict=True):
            if value is None:
                self.add_error(name, _("Needed to scale the photograph."))
            elif name != "marks_mm" and value > size[name.endswith("y")]:
                self.add_error(name, _("This lies beside the photograph."))
        if None not in given and not set(MARKS) & set(self.errors):
            ax, ay, bx, by, apart = (float(value) for value in given)
            distance_px = hypot(bx - ax, by - ay)
            if distance_px < MARKS_APART_LEAST_PX:
                self.add_error(
                    "mark_b_x",
                    _("The marks are %(px)d pixels apart; at least %(least)d make a scale.")
                    % {"px": distance_px, "least": MARKS_APART_LEAST_PX},
                )
            elif max(size) * apart / distance_px > 2 * float(SIDE_MAX_MM):
                self.add_error(
                    "marks_mm",
                    _("So scaled, the photograph shows more than 6 m; check the distance."),
                )

    def clean(self) -> dict[str, Any]:
        """Take the outline from the two lengths or from the points, whichever is given."""
        data = super().clean()
        self._check_drawn(data)
        self._check_marks(data)
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

    def _check_drawn(self, data: dict[str, Any]) -> None:
        """Tell once of an outline, defects or places that somebody has changed meanwhile."""
        now = self.initial.get("drawn", "")
        if not data.get("drawn") or data["drawn"] == now:
            return
        self.data = self.data.copy()
        self.data[self.add_prefix("drawn")] = now
        said = _(
            "What is drawn of %(hide)s was changed meanwhile. Look at it in another window; save"
            " again to keep what stands here."
        )
        self.add_error(None, said % {"hide": self.instance.code})

    def _take_corners(self, data: dict[str, Any]) -> None:
        try:
            data["ring"] = points_read(data["corners"], name=_("outline of the hide"))
        except ValidationError as error:
            self.add_error("corners", error)


def _photograph_initial(photograph: dict[str, Any]) -> dict[str, Any]:
    """Return the fields of a photograph as a record keeps it."""
    if not photograph:
        return {}
    marks = [*photograph.get("marks_px", []), [photograph.get("marks_mm")]]
    figures = [value for point in marks for value in point]
    values = {"photo": photograph["sha256"]}
    if len(figures) == len(MARKS):
        values |= {name: f"{v:g}" for name, v in zip(MARKS, figures, strict=True)}
    return values


def _typed_cost(hide: Hide) -> str:
    """Return a hide's cost if somebody typed it; nothing if the lot's price still gives it."""
    ring = [(float(x), float(y)) for x, y in hide.outline]
    by_lot = hide_cost(hide.lot, area_decimal(outline_area_mm2(ring)))
    return "" if hide.cost == by_lot else length_text(hide.cost)


def outline_initial(outline: Sequence[Sequence[float]]) -> dict[str, Any]:
    """Return the fields that give an outline: two lengths if they do, else corner points."""
    ring = [(float(x), float(y)) for x, y in outline]
    left, bottom, width, height = ring_box(ring)
    if left == bottom == 0.0 and is_rectangle(ring):
        return {"width_mm": f"{width:g}", "height_mm": f"{height:g}"}
    return {"corners": points_written(ring)}


class HideEntry:
    """A hide's form with its rows of defects, graded areas and places; they hold only together."""

    def __init__(self, data: Mapping[str, Any] | None, *, hide: Hide) -> None:
        self.hide = hide
        self.form = HideForm(data, instance=hide)
        self.defects = DefectRows(
            data,
            prefix="defect",
            initial=[{"kind": row["kind"], **row_initial(row["outer"])} for row in hide.defects],
        )
        self.areas = AreaRows(
            data,
            prefix="area",
            initial=[_area_initial(area) for area in hide.areas],
        )
        self.places = PlaceRows(data, prefix="place", initial=hide.thickness_places)
        self.value: HideValue | None = None

    def is_valid(self) -> bool:
        """Return whether all parts hold by themselves and together; faults stand at the fields."""
        # Each is asked, so that every fault is told at once.
        valid = [part.is_valid() for part in (self.form, self.defects, self.areas, self.places)]
        if not all(valid):
            return False
        try:
            value = self._value()
            usable_hide_area_mm2(value)
        except HideError as error:
            self._take(error)
            return False
        if self._fits_turned(value) and self._places_hold(value):
            self.value = value
        return self.value is not None

    @property
    def rows_faulty(self) -> bool:
        """Return whether a row of defects or areas has a fault."""
        return any(
            form.errors
            for rows in (self.defects, self.areas, self.places)
            if rows.is_bound
            for form in rows
        )

    @property
    def cost(self) -> Decimal | None:
        """Return the cost typed, or None for the lot's price."""
        return self.form.cleaned_data["cost"]

    def _value(self) -> HideValue:
        name = self.hide.code if self.hide.pk is not None else _("(new)")
        defects, areas = _filled(self.defects), _filled(self.areas)
        return HideValue(
            name,
            self.form.cleaned_data["ring"],
            tuple(row.cleaned_data["ring"] for row in defects),
            tuple(_area_of(row.cleaned_data) for row in areas),
            defect_kinds=tuple(row.cleaned_data.get("kind") or OTHER for row in defects),
        )

    @property
    def columns(self) -> dict[str, Any]:
        """Return what else the record keeps: the photograph and the thickness by place."""
        places = [row.place for row in self.places]
        return {
            "photograph": self.form.photograph,
            "thickness_places": [place for place in places if place is not None],
        }

    def _places_hold(self, value: HideValue) -> bool:
        """Return whether every thickness was measured on the hide; others are told in their row."""
        outline = Polygon(value.outline_mm)
        beside = [
            row
            for row in self.places
            if row.place is not None
            and not outline.covers(Point(float(row.place["x_mm"]), float(row.place["y_mm"])))
        ]
        for row in beside:
            row.add_error("x_mm", _("This place lies beside the hide."))
        return not beside

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


def _area_initial(area: Mapping[str, Any]) -> dict[str, Any]:
    worth = area.get("worth_percent")
    shown = {"worth_percent": "" if worth is None else f"{worth:g}"}
    return {
        "name": area.get("name", ""),
        "grade": area["grade"],
        **row_initial(area["outer"]),
        **shown,
    }


def _area_of(data: Mapping[str, Any]) -> GradedArea:
    worth = data.get("worth_percent")
    return GradedArea(
        data["grade"], data["ring"], data["name"], None if worth is None else float(worth) / 100.0
    )


def _filled(rows: forms.BaseFormSet) -> list[DefectForm]:
    return [row for row in rows if row.cleaned_data.get("ring") is not None]


def take_outline(data: QueryDict, outline: Points, defects: Sequence[Points]) -> None:
    """Put outlines that were read from a file into a hide's form as it was sent.

    The outline takes the place of what was typed; the defects are added to those there are.
    """
    data["width_mm"] = data["height_mm"] = ""
    data["corners"] = points_written(outline)
    rows = [
        row
        for row in (_row_sent(data, number) for number in range(_rows_sent(data)))
        if row["shape"]
    ]
    rows += [
        {"shape": "corners", "corners": points_written(ring, between="; ")} for ring in defects
    ]
    data["defect-TOTAL_FORMS"] = str(min(len(rows) + SPARE_ROWS, DEFECTS_MAX))
    data["defect-INITIAL_FORMS"] = "0"
    for number in range(len(rows) + SPARE_ROWS):
        row = rows[number] if number < len(rows) else {}
        for name in DefectForm.base_fields:
            data[f"defect-{number}-{name}"] = row.get(name, "")


def _rows_sent(data: QueryDict) -> int:
    text = data.get("defect-TOTAL_FORMS", "")
    return min(int(text), DEFECTS_MAX) if text.isascii() and text.isdigit() else 0


def _row_sent(data: QueryDict, number: int) -> dict[str, str]:
    return {name: data.get(f"defect-{number}-{name}", "") for name in DefectForm.base_fields}
