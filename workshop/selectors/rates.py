"""A rate card's figures in groups, each with its unit."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from workshop.models import RateCard
from workshop.templatetags.stock_words import figure, unit_price

GROUPS = [
    (
        gettext_lazy("Labour and overhead"),
        ["labour_rate_per_hour", "overhead_per_active_hour", "overhead_pct_of_direct"],
    ),
    (
        gettext_lazy("Place of sale"),
        [
            "fee_pct",
            "fee_fixed",
            "fee_on",
            "fee_payments",
            "fee_on_postage",
            "payment_fee_pct",
            "payment_fee_fixed",
        ],
    ),
    (gettext_lazy("Tax"), ["tax_pct", "tax_included", "tax_exempt", "tax_spares_postage"]),
    (
        gettext_lazy("Profit and rounding"),
        [
            "profit_kind",
            "profit_pct",
            "round_up_to",
            "round_ending",
            "round_way",
            "least_price",
        ],
    ),
    (gettext_lazy("Rush and packing"), ["rush_pct", "rush_fixed", "packing_cost"]),
    (
        gettext_lazy("Shares and spares of material"),
        [
            "leather_waste_pct",
            "lining_waste_pct",
            "card_waste_pct",
            "thread_waste_pct",
            "eyelet_spare_pct",
            "lace_tying_mm",
            "lace_tip_mm",
            "lacing",
            "glue_per_pair",
            "clay_density_g_per_cm3",
            "clay_shrinkage_pct",
        ],
    ),
]
MONEY_FIELDS = frozenset(
    {
        "labour_rate_per_hour",
        "overhead_per_active_hour",
        "fee_fixed",
        "payment_fee_fixed",
        "round_up_to",
        "round_ending",
        "least_price",
        "rush_fixed",
        "packing_cost",
    }
)


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One figure of a rate card in words."""

    label: str
    value: str


def card_groups(card: RateCard, currency: str) -> list[tuple[str, list[FigureRow]]]:
    """Return every figure of a card under its heading."""
    return [
        (str(words), [_figure_row(card, name, currency) for name in names])
        for words, names in GROUPS
    ]


def _figure_row(card: RateCard, name: str, currency: str) -> FigureRow:
    field = card._meta.get_field(name)
    value = getattr(card, name)
    if field.choices:
        words = str(getattr(card, f"get_{name}_display")())
    elif isinstance(value, bool):
        words = _("yes") if value else _("no")
    else:
        words = _with_unit(name, value, currency)
    # The label names a unit for the form; here the value carries it.
    return FigureRow(str(field.verbose_name).removesuffix(" (%)").removesuffix(" (mm)"), words)


def _with_unit(name: str, value: Decimal | int, currency: str) -> str:
    if isinstance(value, int):
        return str(value)
    if name in MONEY_FIELDS:
        return f"{unit_price(value, currency)}\u00a0{currency}"
    if name.endswith("_pct") or "_pct_" in name:
        return f"{figure(value)}\u00a0%"
    if name.endswith("_mm"):
        return f"{figure(value)}\u00a0mm"
    return figure(value)
