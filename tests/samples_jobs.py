"""Invented jobs for tests, as documents and as strategies."""

import json
from copy import deepcopy
from decimal import Decimal
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

PRICE_FILES = Path(__file__).parent / "data" / "price"


def read_price_file(name: str) -> dict[str, Any]:
    """Return one of the worked files, numbers with a point as Decimal."""
    return json.loads((PRICE_FILES / name).read_text(), parse_float=Decimal)


PLAIN_JOB: dict[str, Any] = {
    "currency": "EUR",
    "quantity": 2,
    "materials": [
        {"name": "kid", "quantity": "2.8", "unit": "dm2", "unit_cost": "1.15", "waste_pct": "30"},
        {"name": "eyelets", "quantity": "24", "unit": "piece", "unit_cost": "0.05", "waste_pct": 0},
    ],
    "steps": [
        {"name": "drafting", "minutes": "30", "per": "order"},
        {"name": "sewing", "minutes": "95", "per": "pair", "passive": False},
        {"name": "drying", "minutes": "180", "per": "pair", "passive": True},
    ],
    "labour_rate_per_hour": "16.00",
    "overhead": {"per_active_hour": "3.50", "pct_of_direct": "5"},
    "fees": {"pct": "6.5", "fixed": "0.30", "on": "price_with_tax"},
    "tax": {"pct": "20", "included": True},
    "profit": {"kind": "margin", "pct": "25"},
    "round_up_to": "0.50",
}


def plain_job(**changes: Any) -> dict[str, Any]:
    """Return the plain job's document with some of its top values changed."""
    return deepcopy(PLAIN_JOB) | changes


def with_value(path: tuple[str | int, ...], value: Any) -> dict[str, Any]:
    """Return the plain job's document with the value at a path replaced."""
    document = deepcopy(PLAIN_JOB)
    place: Any = document
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    return document


def without(path: tuple[str | int, ...]) -> dict[str, Any]:
    """Return the plain job's document without the value at a path."""
    document = deepcopy(PLAIN_JOB)
    place: Any = document
    for key in path[:-1]:
        place = place[key]
    del place[path[-1]]
    return document


DIGITS = {"JPY": 0, "EUR": 2, "KWD": 3, "CLF": 4}


def amounts(most: int, places: int) -> st.SearchStrategy[str]:
    """Return decimal texts from 0 to `most` with so many places."""
    return st.decimals(0, most, places=places).map(str)


@st.composite
def job_documents(draw: st.DrawFn, **fixed: Any) -> dict[str, Any]:
    """Return jobs whose fee, tax and profit always leave something to pay the cost with."""
    currency = draw(st.sampled_from(sorted(DIGITS)))
    unit = Decimal(1).scaleb(-DIGITS[currency])
    kind = draw(st.sampled_from(["margin", "markup"]))
    material = st.fixed_dictionaries(
        {
            "name": st.just("kid"),
            "quantity": amounts(50, 3),
            "unit": st.just("dm2"),
            "unit_cost": amounts(90, 3),
            "waste_pct": amounts(80, 1),
        }
    )
    step = st.fixed_dictionaries(
        {
            "name": st.just("sewing"),
            "minutes": amounts(300, 1),
            "per": st.sampled_from(["order", "pair"]),
            "passive": st.booleans(),
        }
    )
    return {
        "currency": currency,
        "quantity": draw(st.integers(1, 12)),
        "materials": draw(st.lists(material, max_size=4)),
        "steps": draw(st.lists(step, max_size=4)),
        "labour_rate_per_hour": draw(amounts(60, 2)),
        "overhead": {
            "per_active_hour": draw(amounts(20, 2)),
            "pct_of_direct": draw(amounts(40, 1)),
        },
        "fees": {
            "pct": draw(amounts(20, 2)),
            "fixed": draw(amounts(2, 2)),
            "on": draw(st.sampled_from(["price_with_tax", "price_without_tax"])),
        },
        "tax": {"pct": draw(amounts(30, 2)), "included": draw(st.booleans())},
        "profit": {"kind": kind, "pct": draw(amounts(60 if kind == "margin" else 200, 1))},
        "round_up_to": str(draw(st.integers(1, 500)) * unit),
    } | fixed
