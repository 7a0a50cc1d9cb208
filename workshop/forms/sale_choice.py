"""How an order is sold: what the price station asks besides the rate card, all of it optional."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from costing.job import MOST_PAYMENTS
from workshop.bridge import SaleChoice

MOST_MONEY = Decimal(10_000_000)
MOST_BATCH = 1_000
WAYS = [
    ("", _("as the style")),
    ("hand stitch", _("stitched by hand")),
    ("machine", _("sewn by machine")),
    ("glue", _("glued")),
]


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


def sale_fields() -> dict[str, forms.Field]:
    """Return the fields of a sale by their names in the address.

    They stand on the price station and belong to the choice's form.
    """
    fields: dict[str, forms.Field] = {
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
        "postage_charged": _money(_("Postage charged")),
        "postage_paid": _money(_("Postage paid")),
        "tax_there": forms.DecimalField(
            label=_("Tax of the destination (%)"),
            help_text=_("Left empty: the rate card's. Look up the local law."),
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
    }
    for field in fields.values():
        field.widget.attrs["form"] = "choice"
    return fields


def sale_of(data: Mapping[str, Any]) -> SaleChoice:
    """Return what was chosen, from checked data."""
    return SaleChoice(
        is_rush=data.get("rush") == "yes",
        postage_charged=data.get("postage_charged") or Decimal(0),
        postage_paid=data.get("postage_paid") or Decimal(0),
        batch_pairs=data.get("batch"),
        payments=data.get("payments"),
        tax_percent=data.get("tax_there"),
        way=data.get("joined") or None,
        price_wanted=data.get("price_wanted"),
        profit_wanted=data.get("profit_wanted"),
    )
