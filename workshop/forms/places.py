"""Forms of a place of sale with its fees, and of postage and tax by destination, in rows."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from workshop.forms.seen import BegunFromForm
from workshop.forms.stock import RecordForm
from workshop.lengths import length_text
from workshop.models import (
    DestinationTable,
    DestinationTax,
    PlaceFee,
    PlaceOfSale,
    PlaceVersion,
    PostageLine,
)
from workshop.selectors.places import ANYWHERE_ELSE

SPARE_ROWS = 3
FEES_MOST = 20
ROWS_MOST = 400
FEE_VALUES = ("name", "pct", "fixed", "on", "each_payment", "on_postage")
POSTAGE_VALUES = ("country", "up_to_g", "charged", "paid")
TAX_VALUES = ("country", "pct")


class PlaceForm(forms.ModelForm):
    """What a place is called."""

    class Meta:
        model = PlaceOfSale
        fields = ["name"]


class PlaceVersionForm(BegunFromForm, forms.ModelForm):
    """How often is paid there, and why there is a new version."""

    class Meta:
        model = PlaceVersion
        fields = ["payments", "reason"]
        help_texts = {
            "payments": gettext_lazy("Two for a deposit and the rest; a job may say otherwise."),
        }


class RowForm(forms.ModelForm):
    """A row that is left out while it is empty."""

    needed: tuple[str, ...] = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.required = False

    @property
    def is_filled(self) -> bool:
        """Return whether anything that makes it a row was typed."""
        data = self.cleaned_data
        return any(data.get(name) not in (None, "") for name in self.needed)

    def clean(self) -> dict[str, Any]:
        """Ask for what a filled row lacks."""
        data = super().clean()
        if self.is_filled:
            for name in self.needed:
                if data.get(name) in (None, "") and name not in self.errors:
                    self.add_error(name, _("Fill this in, or empty the row."))
        return data

    def _get_validation_exclusions(self) -> set[str]:
        """Leave out what is given when the row is stored, and all of an empty row."""
        given = {"place_version", "table", "position"}
        # The record's own defaults stand in for amounts that were left empty.
        empty = {name for name, value in self.cleaned_data.items() if value in (None, "")}
        return {*super()._get_validation_exclusions(), *given, *empty}

    def values(self, names: tuple[str, ...]) -> dict[str, Any]:
        """Return the row's values, those left empty by the record's own defaults."""
        data = {name: self.cleaned_data.get(name) for name in names}
        return {name: value for name, value in data.items() if value not in (None, "")}


class FeeForm(RowForm):
    """One fee of a place."""

    needed = ("name",)

    class Meta:
        model = PlaceFee
        fields = list(FEE_VALUES)

    def clean(self) -> dict[str, Any]:
        """Ask for the name of a fee that takes something."""
        data = super().clean()
        if not data.get("name") and (data.get("pct") or data.get("fixed")):
            self.add_error("name", _("Give the fee a name, or empty the row."))
        return data


class PostageForm(RowForm):
    """Postage to a country up to a weight."""

    needed = ("country", "up_to_g")

    class Meta:
        model = PostageLine
        fields = list(POSTAGE_VALUES)

    def clean(self) -> dict[str, Any]:
        """Ask for the country and the weight of a row that has an amount."""
        data = super().clean()
        if not self.is_filled and (data.get("charged") or data.get("paid")):
            self.add_error("country", _("Name the country, or empty the row."))
        return data


class TaxForm(RowForm):
    """The tax on what goes to a country."""

    needed = ("country", "pct")

    class Meta:
        model = DestinationTax
        fields = list(TAX_VALUES)


class DestinationForm(BegunFromForm, RecordForm):
    """Insurance of parcels, and why there is a new version."""

    class Meta:
        model = DestinationTable
        fields = ["insurance_pct", "insurance_fixed", "reason"]
        help_texts = {
            "insurance_pct": gettext_lazy("Of the value that is insured; passed on as it is."),
        }


def _rows(form: type[RowForm], most: int) -> Any:
    return forms.formset_factory(
        form, extra=SPARE_ROWS, max_num=most + SPARE_ROWS, validate_max=True
    )


FeeRows = _rows(FeeForm, FEES_MOST)
PostageRows = _rows(PostageForm, ROWS_MOST)
TaxRows = _rows(TaxForm, ROWS_MOST)


def _as_typed(value: Any) -> Any:
    return length_text(value) if isinstance(value, Decimal) else value


def _initial(records: Any, names: tuple[str, ...]) -> list[dict[str, Any]]:
    rows = [{name: _as_typed(getattr(row, name)) for name in names} for row in records]
    for row in rows:
        if row.get("country") == "":
            row["country"] = ANYWHERE_ELSE
    return rows


def _typed_country(values: dict[str, Any]) -> dict[str, Any]:
    """Return a row's values with its country as it is stored."""
    country = " ".join(values["country"].split())
    return {**values, "country": "" if country == ANYWHERE_ELSE else country}


class PlaceEntry:
    """A place's form with its fees as rows, beginning with the version in use."""

    def __init__(
        self,
        data: Mapping[str, Any] | None,
        *,
        place: PlaceOfSale,
        newest: PlaceVersion | None,
    ) -> None:
        first = (
            {"payments": newest.payments} if newest is not None else {"reason": _("first entry")}
        )
        self.place_form = PlaceForm(data, instance=place)
        self.form = PlaceVersionForm(data, initial=first)
        self.form.begin_with(newest.version if newest is not None else 0)
        fees = newest.fees.all() if newest is not None else ()
        self.rows = FeeRows(data, prefix="fee", initial=_initial(fees, FEE_VALUES))

    def is_valid(self) -> bool:
        """Return whether the form and every row hold by themselves."""
        return all([self.place_form.is_valid(), self.form.is_valid(), self.rows.is_valid()])

    def fees(self) -> list[PlaceFee]:
        """Return the filled rows as fees, unsaved."""
        filled = [row for row in self.rows if row.is_filled]
        return [PlaceFee(**row.values(FEE_VALUES)) for row in filled]


class DestinationEntry:
    """The form of destinations with rows of postage and of tax, beginning with those in use."""

    def __init__(self, data: Mapping[str, Any] | None, *, newest: DestinationTable | None) -> None:
        first: dict[str, Any] = {"reason": _("first entry")}
        if newest is not None:
            first = {
                name: length_text(getattr(newest, name))
                for name in ("insurance_pct", "insurance_fixed")
            }
        self.form = DestinationForm(data, initial=first)
        self.form.begin_with(newest.version if newest is not None else 0)
        postage = newest.postage.all() if newest is not None else ()
        taxes = newest.taxes.all() if newest is not None else ()
        self.postage = PostageRows(
            data, prefix="postage", initial=_initial(postage, POSTAGE_VALUES)
        )
        self.taxes = TaxRows(data, prefix="tax", initial=_initial(taxes, TAX_VALUES))

    def is_valid(self) -> bool:
        """Return whether the form and every row hold by themselves."""
        return all([self.form.is_valid(), self.postage.is_valid(), self.taxes.is_valid()])

    def postage_lines(self) -> list[PostageLine]:
        """Return the filled rows of postage, unsaved."""
        filled = [row.values(POSTAGE_VALUES) for row in self.postage if row.is_filled]
        return [PostageLine(**_typed_country(values)) for values in filled]

    def tax_rows(self) -> list[DestinationTax]:
        """Return the filled rows of tax, unsaved."""
        filled = [row.values(TAX_VALUES) for row in self.taxes if row.is_filled]
        return [DestinationTax(**_typed_country(values)) for values in filled]
