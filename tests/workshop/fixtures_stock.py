"""Leather, supplies, a rate card and a style version for tests; every figure is invented."""

from decimal import Decimal

import pytest


def make_lot(by=None, **changes):
    """Record a lot: 1.10 a dm², 1.2 mm thick."""
    from workshop.models import LeatherLot
    from workshop.services.records import record_save

    values = {
        "name": "Calf",
        "colour": "chestnut",
        "supplier": "the leather stall",
        "thickness_mm": Decimal("1.2"),
        "price": Decimal("1.10"),
    }
    lot = LeatherLot(**{**values, **changes})
    record_save(lot, by=by)
    return lot


def make_hide(lot, by=None, *, outline=((0, 0), (600, 0), (600, 400), (0, 400)), **changes):
    """Record a hide of a lot, 600 x 400 mm if nothing else is said, with one defect."""
    from patterns.hide import Hide as HideValue
    from patterns.hide_area import rectangle_ring
    from workshop.models import Hide
    from workshop.services.stock import hide_receive

    defects = changes.pop("defects", (rectangle_ring(100.0, 100.0, 20.0, 10.0),))
    cost = changes.pop("cost", None)
    ring = tuple((float(x), float(y)) for x, y in outline)
    hide = Hide(lot=lot, **{"thickness_mm": lot.thickness_mm, **changes})
    hide_receive(hide, value=HideValue("H", ring, tuple(defects)), cost=cost, by=by)
    return hide


# kind, name, unit, a pack holds, price of a pack, buy again below
SUPPLIES = [
    ("thread", "Waxed thread 0.6 mm", "m", "100", "9.80", "20"),
    ("lace", "Round lace 1.5 mm", "m", "25", "11.25", "5"),
    ("eyelet", "Eyelets 2.5 mm, brass", "piece", "100", "6.40", "50"),
    ("clay", "Oven clay, black", "g", "454", "8.90", "200"),
    ("sole leather", "Sole bend 2.5 mm", "dm2", "20", "39.00", "4"),
    ("lining", "Lining goat 0.6 mm", "dm2", "45", "31.50", "10"),
    ("glue", "Contact glue", "ml", "250", "12.50", "40"),
    ("card", "Insole card 1 mm", "dm2", "60", "7.20", "12"),
    ("box", "Gift box", "piece", "10", "14.00", "3"),
    ("other", "Tissue paper", "piece", "50", "4.50", "10"),
]


def make_supply(kind="thread", by=None, *, on_hand="0", **changes):
    """Record the supply of a kind, with so much bought."""
    from workshop.models import Supply
    from workshop.services.stock import stock_buy, supply_save

    row = next(row for row in SUPPLIES if row[0] == kind)
    values = {
        "name": row[1],
        "kind": kind,
        "unit": row[2],
        "pack_quantity": Decimal(row[3]),
        "pack_price": Decimal(row[4]),
        "reorder_point": Decimal(row[5]),
        "is_usual": False,
    }
    supply = Supply(**{**values, **changes})
    supply_save(supply, by=by)
    if Decimal(on_hand):
        stock_buy(supply, quantity=Decimal(on_hand), reason="opening stock", by=by)
    return supply


def rate_values(**changes):
    """Return the figures of a plausible rate card."""
    return {
        "labour_rate_per_hour": Decimal("18"),
        "overhead_per_active_hour": Decimal("4"),
        "fee_pct": Decimal("6.5"),
        "fee_fixed": Decimal("0.30"),
        "tax_pct": Decimal("21"),
        "profit_pct": Decimal("20"),
        "reason": "first card",
        **changes,
    }


def make_rate_card(by=None, **changes):
    """Make a rate card with the work steps a first card begins with."""
    from workshop.models import RateCard
    from workshop.services.rates import first_step_rows, rate_card_make

    return rate_card_make(RateCard(**rate_values(**changes)), first_step_rows(), by=by)


@pytest.fixture
def leather_lot(db):
    return make_lot()


@pytest.fixture
def hide(leather_lot):
    return make_hide(leather_lot)


@pytest.fixture
def supplies(db):
    """One supply of each kind by its kind, each with two packs bought."""
    return {row[0]: make_supply(row[0], on_hand=str(2 * Decimal(row[3]))) for row in SUPPLIES}


@pytest.fixture
def rate_card(db):
    return make_rate_card()


@pytest.fixture
def style_version(db):
    from workshop.models import Style
    from workshop.services.styles import style_make

    return style_make(Style(name="Ankle boot", file_name="lace-up-ankle-boot"), by=None)
