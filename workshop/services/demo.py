"""The invented demo workshop, made through the same services as real records."""

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from patterns.foot import MEASURE_KEYS
from workshop.bridge import hide_value
from workshop.models import (
    Commission,
    Customer,
    DestinationTable,
    DestinationTax,
    Doll,
    Hide,
    LeatherLot,
    PlaceFee,
    PlaceOfSale,
    PlaceVersion,
    PostageLine,
    RateCard,
    Style,
    Supply,
    WorkshopProfile,
)
from workshop.selectors.orders import feet_of, styles_offered
from workshop.services.library import foot_measure
from workshop.services.orders import commission_take_in
from workshop.services.places import destinations_save, place_save
from workshop.services.quoting import Choice, quote_make, work_out
from workshop.services.rates import first_step_rows, rate_card_make
from workshop.services.records import record_save
from workshop.services.stock import hide_receive, stock_buy, supply_save
from workshop.services.styles import style_make

DEMO_FILE = Path(settings.BASE_DIR) / "workshop" / "data" / "demo.toml"
DECIMAL_FIELDS = frozenset(
    {
        "thickness_mm",
        "price",
        "smallest_sold_dm2",
        "whole_hide_dm2",
        "pack_quantity",
        "pack_price",
        "reorder_point",
        "deposit_pct",
    }
)
FIGURES = frozenset({"pct", "fixed", "up_to_g", "charged", "paid"})


@transaction.atomic
def demo_load() -> None:
    """Fill an empty installation with the demo; all of it or nothing."""
    data = tomllib.loads(DEMO_FILE.read_text(encoding="utf-8"))
    _load_workshop(data["workshop"])
    customers = {row["key"]: _saved(Customer(**_fields(row))) for row in data["customers"]}
    dolls = {row["key"]: _load_doll(row, customers) for row in data["dolls"]}
    for row in data["feet"]:
        _load_foot(row, dolls)
    for row in data["styles"]:
        style_make(Style(**row), by=None)
    lots = {row["key"]: _load_lot(row) for row in data["lots"]}
    hides = [_load_hide(row, lots) for row in data["hides"]]
    for row in data["supplies"]:
        _load_supply(row)
    _load_rates(data["rates"])
    for row in data["places"]:
        _load_place(row)
    _load_destinations(data["destinations"])
    for row in data["jobs"]:
        _load_job(row, customers, dolls, hides)


def _load_workshop(row: dict[str, Any]) -> None:
    profile = WorkshopProfile.current()
    for name, value in _fields(row).items():
        setattr(profile, name, value)
    profile.demo_from = timezone.now()
    record_save(profile, by=None)


def _fields(row: dict[str, Any]) -> dict[str, Any]:
    return {
        name: Decimal(value) if name in DECIMAL_FIELDS else value
        for name, value in row.items()
        if name not in ("key", "bought", "is_offer")
    }


def _saved(record: Any) -> Any:
    record_save(record, by=None)
    return record


def _load_doll(row: dict[str, Any], customers: dict[str, Customer]) -> Doll:
    return _saved(Doll(**{**_fields(row), "customer": customers.get(row.get("customer", ""))}))


def _load_foot(row: dict[str, Any], dolls: dict[str, Doll]) -> None:
    foot_measure(
        doll=dolls[row["doll"]],
        foot_side="left",
        measures={key: Decimal(row[key]) if key in row else None for key in MEASURE_KEYS},
        reason=row["reason"],
        by=None,
    )


def _load_lot(row: dict[str, Any]) -> LeatherLot:
    lot = LeatherLot(**_fields(row))
    if row.get("is_offer"):
        lot.bought_on = None
    return _saved(lot)


def _load_hide(row: dict[str, Any], lots: dict[str, LeatherLot]) -> Hide:
    lot = lots[row["lot"]]
    hide = Hide(
        lot=lot,
        thickness_mm=lot.thickness_mm,
        thickness_places=row.get("places", []),
        note=row.get("note", ""),
    )
    value = hide_value(
        "demo", row["outline"], defects=row.get("defects", []), areas=row.get("areas", [])
    )
    hide_receive(hide, value=value, cost=None, by=None)
    return hide


def _load_supply(row: dict[str, Any]) -> None:
    supply = Supply(**_fields(row))
    supply_save(supply, by=None)
    stock_buy(supply, quantity=Decimal(row["bought"]), reason="opening stock", by=None)


def _load_rates(row: dict[str, Any]) -> None:
    figures = {name: value if name == "reason" else Decimal(value) for name, value in row.items()}
    rate_card_make(RateCard(**figures), first_step_rows(), by=None)


def _load_place(row: dict[str, Any]) -> None:
    place_save(
        PlaceOfSale(name=row["name"]),
        PlaceVersion(payments=row["payments"], reason="invented fees of the demo"),
        [PlaceFee(**_figures(fee)) for fee in row["fees"]],
        by=None,
    )


def _load_destinations(row: dict[str, Any]) -> None:
    destinations_save(
        DestinationTable(
            insurance_pct=Decimal(row["insurance_pct"]),
            insurance_fixed=Decimal(row["insurance_fixed"]),
            reason="invented postage of the demo",
        ),
        [PostageLine(**_figures(line)) for line in row["postage"]],
        [DestinationTax(**_figures(tax)) for tax in row["taxes"]],
        by=None,
    )


def _figures(row: dict[str, Any]) -> dict[str, Any]:
    """Return a row with its figures as decimals."""
    return {name: Decimal(row[name]) if name in FIGURES else row[name] for name in row}


def _load_job(
    row: dict[str, Any],
    customers: dict[str, Customer],
    dolls: dict[str, Doll],
    hides: list[Hide],
) -> None:
    commission: Commission = commission_take_in(
        customer=customers[row["customer"]], doll=dolls[row["doll"]], note=row["note"], by=None
    )
    wanted = row.get("quote")
    foot = feet_of(commission.doll_id).first()
    if wanted is None or foot is None:
        return
    choice = Choice(
        commission=commission,
        foot=foot,
        style=next(v for v in styles_offered() if v.style.name == wanted["style"]),
        hide=hides[wanted["hide"]],
        pair_count=wanted["pairs"],
    )
    quote_make(work_out(choice), by=None)
