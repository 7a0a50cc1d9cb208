from decimal import Decimal

import pytest

from costing.errors import CostError, PriceError
from costing.job_file import job_from_document
from costing.price import floor_price, price_job
from tests.samples_jobs import PLAIN_JOB, plain_job, with_value, without

DEEP: list = []
for _ in range(5000):
    DEEP = [DEEP]

BAD_NUMBERS = [
    "",
    " ",
    "-1",
    "-0.01",
    "NaN",
    "Infinity",
    "two",
    "1,5",
    "1_000",
    "１２",
    " 1 ",
    "0x10",
    "1000000001",
    "1e999",
    "1e-99",
    "1" * 5000,
    "0." + "1" * 40,
    Decimal("NaN"),
    Decimal("sNaN"),
    Decimal("Infinity"),
    Decimal("-1E+999999"),
    Decimal("1E-999999"),
    10**9 + 1,
    10**400,
    -1,
    1.5,
    float("nan"),
    True,
    False,
    None,
    [],
    {},
    DEEP,
]
NUMBER_PLACES = {
    "materials[1].quantity": ("materials", 1, "quantity"),
    "materials[1].unit_cost": ("materials", 1, "unit_cost"),
    "materials[1].waste_pct": ("materials", 1, "waste_pct"),
    "steps[0].minutes": ("steps", 0, "minutes"),
    "labour_rate_per_hour": ("labour_rate_per_hour",),
    "overhead.per_active_hour": ("overhead", "per_active_hour"),
    "overhead.pct_of_direct": ("overhead", "pct_of_direct"),
    "fees.pct": ("fees", "pct"),
    "fees.fixed": ("fees", "fixed"),
    "tax.pct": ("tax", "pct"),
    "profit.pct": ("profit", "pct"),
    "round_up_to": ("round_up_to",),
    "quantity": ("quantity",),
}


def fault_of(document) -> CostError:
    with pytest.raises(CostError) as caught:
        price_job(job_from_document(document))
    text = str(caught.value)
    assert text
    assert "\n" not in text
    assert len(text) < 300
    return caught.value


@pytest.mark.parametrize("place", NUMBER_PLACES)
def test_bad_number_is_refused_by_its_dotted_name(place):
    for value in BAD_NUMBERS:
        assert fault_of(with_value(NUMBER_PLACES[place], value)).field == place


OTHER_FAULTS = [
    (("materials", 1, "waste_pct"), "100", "materials[1].waste_pct"),
    (("materials", 1, "waste_pct"), "250", "materials[1].waste_pct"),
    (("materials", 0, "name"), "", "materials[0].name"),
    (("materials", 0, "name"), " \t", "materials[0].name"),
    (("materials", 0, "name"), "two\nlines", "materials[0].name"),
    (("materials", 0, "name"), "half\ud800", "materials[0].name"),
    (("materials", 0, "name"), "line\u2028end", "materials[0].name"),
    (("materials", 0, "name"), "x" * 5000, "materials[0].name"),
    (("materials", 0, "name"), 7, "materials[0].name"),
    (("materials", 0, "unit"), None, "materials[0].unit"),
    (("materials", 0), "kid", "materials[0]"),
    (("materials", 1), None, "materials[1]"),
    (("materials",), "kid", "materials"),
    (("materials",), {}, "materials"),
    (("materials",), DEEP, "materials[0]"),
    (("steps", 2), [], "steps[2]"),
    (("steps", 2, "per"), "shoe", "steps[2].per"),
    (("steps", 2, "per"), True, "steps[2].per"),
    (("steps", 2, "passive"), "yes", "steps[2].passive"),
    (("steps", 2, "passive"), 1, "steps[2].passive"),
    (("steps", 2, "pasive"), True, "steps[2].pasive"),
    (("steps",), None, "steps"),
    (("steps",), [{"name": "s", "minutes": "1", "per": "pair"}] * 1001, "steps"),
    (("currency",), "euro", "currency"),
    (("currency",), 978, "currency"),
    (("currency",), "", "currency"),
    (("quantity",), 0, "quantity"),
    (("quantity",), "1.5", "quantity"),
    (("quantity",), "0", "quantity"),
    (("round_up_to",), "0", "round_up_to"),
    (("round_up_to",), "0.005", "round_up_to"),
    (("round_up_to",), "0.015", "round_up_to"),
    (("overhead",), "4", "overhead"),
    (("fees",), DEEP, "fees"),
    (("fees", "on"), "price", "fees.on"),
    (("tax", "included"), "true", "tax.included"),
    (("tax", "included"), 1, "tax.included"),
    (("profit", "kind"), "profit", "profit.kind"),
    (("profit",), None, "profit"),
]


@pytest.mark.parametrize(("path", "value", "field"), OTHER_FAULTS)
def test_other_fault_is_refused_by_its_dotted_name(path, value, field):
    assert fault_of(with_value(path, value)).field == field


def every_key() -> list[tuple[str | int, ...]]:
    paths: list[tuple[str | int, ...]] = [(key,) for key in PLAIN_JOB]
    paths += [
        (key, inner) for key in ("overhead", "fees", "tax", "profit") for inner in PLAIN_JOB[key]
    ]
    paths += [("materials", 0, key) for key in PLAIN_JOB["materials"][0]]
    paths += [("steps", 0, key) for key in PLAIN_JOB["steps"][0]]
    return paths


@pytest.mark.parametrize("path", every_key())
def test_missing_value_is_named(path):
    dotted = ".".join(str(key) for key in path).replace(".0.", "[0].")
    fault = fault_of(without(path))
    assert (fault.field, fault.code) == (dotted, "missing")


@pytest.mark.parametrize("document", [{}, [], None, "job", 1, DEEP])
def test_document_that_is_no_job_is_refused(document):
    fault_of(document)


def test_smallest_step_of_a_currency_without_coins_is_one():
    fault = fault_of(plain_job(currency="JPY", round_up_to="0.5"))
    assert fault.field == "round_up_to"
    assert price_job(job_from_document(plain_job(currency="JPY", round_up_to="1"))).price > 0


NOTHING_LEFT = [
    # fee base, fee, tax, profit kind, profit
    ("price_with_tax", "0", "0", "margin", "100"),
    ("price_with_tax", "50", "20", "margin", "40"),
    ("price_without_tax", "60", "20", "margin", "40"),
    ("price_with_tax", "80", "25", "markup", "10"),
    ("price_without_tax", "100", "0", "markup", "0"),
]


@pytest.mark.parametrize(("base", "fee", "tax", "kind", "profit"), NOTHING_LEFT)
def test_price_that_leaves_nothing_is_refused_naming_fee_tax_and_profit(
    base, fee, tax, kind, profit
):
    document = plain_job(
        fees={"pct": fee, "fixed": "0", "on": base},
        tax={"pct": tax, "included": True},
        profit={"kind": kind, "pct": profit},
    )
    fault = fault_of(document)
    assert isinstance(fault, PriceError)
    for word in (f"fee {fee} %", f"tax {tax} %", f"profit {profit} %"):
        assert word in str(fault)


def test_fees_just_below_everything_still_have_a_price():
    document = plain_job(
        fees={"pct": "49.99", "fixed": "0", "on": "price_without_tax"},
        profit={"kind": "margin", "pct": "50"},
    )
    job = job_from_document(document)
    assert price_job(job).profit > 0
    assert floor_price(job) < price_job(job).price_per_pair
