"""The price worked out a second time, by other means: whole minor units and integer division."""

import random
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given

from costing.job_file import document_from_breakdown, job_from_document
from costing.price import price_job
from tests.samples_jobs import DIGITS, job_documents


def units(amount: Fraction, scale: int) -> int:
    """Half up for amounts of zero or more, by integer division alone."""
    numerator, denominator = (amount * scale).as_integer_ratio()
    return (2 * numerator + denominator) // (2 * denominator)


def recomputed(doc: dict) -> dict[str, int]:
    """Return the amounts of a job in minor units, straight from the five steps."""
    scale, pairs = 10 ** DIGITS[doc["currency"]], doc["quantity"]
    exact = [
        Fraction(m["quantity"])
        * pairs
        * Fraction(m["unit_cost"])
        * 100
        / (100 - Fraction(m["waste_pct"]))
        for m in doc["materials"]
    ]
    hours = Fraction(0)
    for step in doc["steps"]:
        if not step["passive"]:
            step_hours = Fraction(step["minutes"]) * (pairs if step["per"] == "pair" else 1) / 60
            hours += step_hours
            exact.append(step_hours * Fraction(doc["labour_rate_per_hour"]))
    overhead = doc["overhead"]
    exact.append(
        hours * Fraction(overhead["per_active_hour"])
        + sum(exact) * Fraction(overhead["pct_of_direct"]) / 100
    )
    lines = [units(amount, scale) for amount in exact]
    cost = sum(lines)

    r, f = Fraction(doc["fees"]["pct"]) / 100, Fraction(doc["fees"]["fixed"]) * scale
    t, m = Fraction(doc["tax"]["pct"]) / 100, Fraction(doc["profit"]["pct"]) / 100
    fee_on_net = r * (1 + t) if doc["fees"]["on"] == "price_with_tax" else r
    if doc["profit"]["kind"] == "margin":
        net = (cost + f) / (1 - fee_on_net - m)
    else:
        net = (cost * (1 + m) + f) / (1 - fee_on_net)
    included = doc["tax"]["included"]
    step = Fraction(doc["round_up_to"]) * scale
    per_pair = -(-(net * (1 + t if included else 1) / pairs) // step) * step
    said = per_pair * pairs
    tax = units(said * t / (1 + t) if included else said * t, 1)
    price, price_without_tax = (said, said - tax) if included else (said + tax, said)
    base = price if doc["fees"]["on"] == "price_with_tax" else price_without_tax
    fees = units(r * base + f, 1)
    return {
        "lines": lines,
        "cost": cost,
        "price_per_pair": int(per_pair),
        "price": int(price),
        "price_without_tax": int(price_without_tax),
        "tax": tax,
        "fees": fees,
        "profit": int(price - tax - fees - cost),
    }


def as_units(doc: dict) -> dict[str, int]:
    """Return the product's own amounts in minor units."""
    shown = document_from_breakdown(price_job(job_from_document(doc)))
    scale = 10 ** DIGITS[doc["currency"]]
    names = [name for name in recomputed(doc) if name != "lines"]
    amounts = {name: Fraction(shown[name]) * scale for name in names}
    return {"lines": [Fraction(line["amount"]) * scale for line in shown["lines"]]} | amounts


@given(job_documents())
def test_price_is_what_an_independent_recomputation_gives(doc):
    assert as_units(doc) == recomputed(doc)


def full_job(seed: int) -> dict:
    """Return a full job drawn with a seed: many lines, every rate in use."""
    draw = random.Random(seed)

    def number(most: int, places: int) -> str:
        return f"{draw.randint(1, most * 10**places) / 10**places:.{places}f}"

    return {
        "currency": draw.choice(sorted(DIGITS)),
        "quantity": draw.randint(1, 40),
        "materials": [
            {
                "name": f"material {place}",
                "quantity": number(30, 3),
                "unit": "dm2",
                "unit_cost": number(40, 3),
                "waste_pct": number(60, 2),
            }
            for place in range(9)
        ],
        "steps": [
            {
                "name": f"step {place}",
                "minutes": number(200, 1),
                "per": draw.choice(["order", "pair"]),
                "passive": draw.random() < 0.2,
            }
            for place in range(12)
        ],
        "labour_rate_per_hour": number(50, 2),
        "overhead": {"per_active_hour": number(9, 2), "pct_of_direct": number(12, 1)},
        "fees": {
            "pct": number(12, 2),
            "fixed": number(1, 2),
            "on": draw.choice(["price_with_tax", "price_without_tax"]),
        },
        "tax": {"pct": number(25, 1), "included": draw.random() < 0.5},
        "profit": {"kind": draw.choice(["margin", "markup"]), "pct": number(50, 1)},
        "round_up_to": str(draw.choice([1, 5, 10, 25])),
    }


@pytest.mark.parametrize("seed", range(10))
def test_full_job_is_what_an_independent_recomputation_gives(seed):
    doc = full_job(seed)
    assert as_units(doc) == recomputed(doc)


# Exact prices on a step that plain decimal arithmetic of 28 figures puts just above it, so that
# rounding up would ask a whole step more; found by trying 6,775 jobs in both ways.
ON_A_STEP = [
    # tax, profit of the price, pairs, cost, price of a pair
    ("14", "24", 3, "131", "65.50"),
    ("14", "43", 1, "235", "470.00"),
    ("17", "22", 1, "27", "40.50"),
    ("18", "41", 1, "222", "444.00"),
    ("19", "58", 1, "144", "408.00"),
    ("23", "18", 1, "326", "489.00"),
]


@pytest.mark.parametrize(("tax", "profit", "pairs", "cost", "per_pair"), ON_A_STEP)
def test_price_on_a_step_stays_there(tax, profit, pairs, cost, per_pair):
    doc = full_job(0) | {
        "currency": "EUR",
        "quantity": pairs,
        "materials": [],
        "steps": [{"name": "all", "minutes": "60", "per": "order", "passive": False}],
        "labour_rate_per_hour": cost,
        "overhead": {"per_active_hour": "0", "pct_of_direct": "0"},
        "fees": {"pct": "0", "fixed": "0", "on": "price_with_tax"},
        "tax": {"pct": tax, "included": True},
        "profit": {"kind": "margin", "pct": profit},
        "round_up_to": "0.50",
    }
    assert price_job(job_from_document(doc)).price_per_pair == Decimal(per_pair)
    assert as_units(doc) == recomputed(doc)
