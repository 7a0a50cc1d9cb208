"""How an order is sold: what the price station asks besides the rate card, all of it optional."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from costing.day_plan import LONGEST_DAYS
from costing.job import MOST_PAYMENTS
from workshop.bridge_sale import Parcel, SaleChoice
from workshop.selectors.places import (
    ANYWHERE_ELSE,
    countries_of,
    destinations_in_use,
    place_in_use,
    places_shown,
)

BY_HAND = "-"  # sent by no row of the destinations, though the job names a country with one
MOST_MONEY = Decimal(10_000_000)
MOST_BATCH = 1_000
HEAVIEST_G = Decimal(100_000)
# As they stand in an address, in the order of the page.
SALE_NAMES = (
    "place",
    "sent_to",
    "weight",
    "insured",
    "joined",
    "batch",
    "rush",
    "payments",
    "postage_charged",
    "postage_paid",
    "tax_there",
    "price_wanted",
    "profit_wanted",
    "here_by",
)
# Which of them a fault that costing names by its own word belongs to.
FIELD_OF_FAULT = {
    "country": "sent_to",
    "weight_g": "weight",
    "postage.charged": "postage_charged",
    "postage.paid": "postage_paid",
    "batch_pairs": "batch",
}
WAYS = [
    ("", _("as the style")),
    ("hand stitch", _("stitched by hand")),
    ("machine", _("sewn by machine")),
    ("glue", _("glued")),
]


class ComingDayField(forms.DateField):
    """A day that is not over yet, and not further away than a plan reaches."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def clean(self, value: Any) -> Any:
        """Refuse a day in the past or years away."""
        day = super().clean(value)
        if day is None:
            return None
        today = timezone.localdate()
        if day < today:
            raise forms.ValidationError(_("This day is over; give today or a later day."))
        if (day - today).days > LONGEST_DAYS:
            raise forms.ValidationError(_("This day is years away; look at the year."))
        return day


def _money(label: Any, help_text: Any = "", *, least: Decimal | None = Decimal(0)) -> forms.Field:
    return forms.DecimalField(
        label=label,
        help_text=help_text,
        required=False,
        min_value=least,
        max_value=MOST_MONEY,
        max_digits=12,
        decimal_places=4,
    )


def sale_fields(country: str = "") -> dict[str, forms.Field]:
    """Return the fields of a sale by their names in the address.

    They stand on the price station and belong to the choice's form. ``country`` is where the job
    goes unless it is said otherwise.
    """
    places = [(str(row.place.pk), row.place.name) for row in places_shown(offered_only=True)]
    countries = [
        (name or ANYWHERE_ELSE, name or _("anywhere else"))
        for name in countries_of(destinations_in_use())
    ]
    fields: dict[str, forms.Field] = {
        "place": forms.ChoiceField(
            label=_("Place of sale"),
            choices=[("", _("fees of the rate card")), *places],
            required=False,
        ),
        "sent_to": forms.ChoiceField(
            label=_("Sent to"),
            help_text=_("Takes the tax you set for it, and postage by the weight."),
            choices=[(BY_HAND if country else "", _("not by the table")), *countries],
            required=False,
        ),
        "weight": forms.DecimalField(
            label=_("Weight of the parcel (g)"),
            required=False,
            min_value=Decimal("0.01"),
            max_value=HEAVIEST_G,
            max_digits=9,
            decimal_places=2,
        ),
        "insured": _money(_("Value insured")),
        "joined": forms.ChoiceField(label=_("Joined"), choices=WAYS, required=False),
        "batch": forms.IntegerField(
            label=_("Pairs made together"),
            help_text=_("Setting up is shared among them, those of other jobs too."),
            min_value=1,
            max_value=MOST_BATCH,
            required=False,
        ),
        "rush": forms.ChoiceField(
            label=_("Rush"), choices=[("", _("no")), ("yes", _("yes"))], required=False
        ),
        "payments": forms.IntegerField(
            label=_("Payments"), min_value=1, max_value=MOST_PAYMENTS, required=False
        ),
        "postage_charged": _money(_("Postage charged"), _("Goes before the table.")),
        "postage_paid": _money(_("Postage paid"), _("Goes before the table.")),
        "tax_there": forms.DecimalField(
            label=_("Tax of the destination (%)"),
            help_text=_("Left empty: as set for it, else the rate card's. This is no tax advice."),
            required=False,
            min_value=Decimal(0),
            max_value=Decimal(100),
            max_digits=6,
            decimal_places=3,
        ),
        "price_wanted": _money(
            _("Price of a pair, by hand"), _("Says what it earns; a quote then takes this price.")
        ),
        "profit_wanted": _money(
            _("Or the profit wanted, in all"), _("Says which price earns it."), least=-MOST_MONEY
        ),
        "here_by": ComingDayField(
            label=_("Measures and deposit or answer here by"),
            help_text=_("Left empty: as many days from today as the settings of the days say."),
            required=False,
        ),
    }
    for field in fields.values():
        field.widget.attrs["form"] = "choice"
    return fields


def sale_of(data: Mapping[str, Any]) -> SaleChoice:
    """Return what was chosen, from checked data."""
    place = data.get("place")
    return SaleChoice(
        typed={name: str(data[name]) for name in SALE_NAMES if data.get(name) not in (None, "")},
        is_rush=data.get("rush") == "yes",
        place=place_in_use(int(place)) if place else None,
        parcel=_parcel(data),
        postage_charged=data.get("postage_charged"),
        postage_paid=data.get("postage_paid"),
        batch_pairs=data.get("batch"),
        payments=data.get("payments"),
        tax_percent=data.get("tax_there"),
        way=data.get("joined") or None,
        price_wanted=data.get("price_wanted"),
        profit_wanted=data.get("profit_wanted"),
        here_by=data.get("here_by"),
    )


def _parcel(data: Mapping[str, Any]) -> Parcel | None:
    """Return where the order is sent by the table of destinations; None where it is not."""
    country, table = data.get("sent_to"), destinations_in_use()
    if not country or country == BY_HAND or table is None:
        return None
    return Parcel(
        table=table,
        country="" if country == ANYWHERE_ELSE else country,
        weight_g=data.get("weight"),
        insured_value=data.get("insured") or Decimal(0),
    )
