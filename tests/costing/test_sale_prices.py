"""Prices with several fees, rush, postage, endings and shared work: recomputed, and both ways."""

from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costing.errors import CostError
from costing.job_file import (
    breakdown_from_document,
    document_from_breakdown,
    document_from_job,
    job_from_document,
)
from costing.money import minor_unit
from costing.price import (
    exact_price,
    exact_profit,
    floor_price,
    price_for_profit,
    price_job,
    profit_at_price,
)
from tests.samples_jobs import DIGITS, plain_job
from tests.samples_sales import sale_documents


def half_up(amount: Fraction, scale: int) -> Fraction:
    """Round half up, away from zero, by whole numbers alone."""
    units = floor(abs(amount) * scale + Fraction(1, 2))
    return Fraction(units if amount >= 0 else -units, scale)


def recomputed(doc: dict) -> dict[str, Fraction]:
    """Return every amount of a sale worked out from the document with fractions only."""
    q, scale = doc["quantity"], 10 ** DIGITS[doc["currency"]]

    def cent(amount):
        return half_up(amount, scale)

    rate_h, exact, hours = Fraction(doc["labour_rate_per_hour"]), [], Fraction(0)
    for m in doc["materials"]:
        exact.append(
            Fraction(m["quantity"])
            * q
            * Fraction(m["unit_cost"])
            / (1 - Fraction(m["waste_pct"]) / 100)
        )
    for s in doc["steps"]:
        if s.get("passive"):
            continue
        times = {
            "order": Fraction(1),
            "pair": 1 + (q - 1) * (1 - Fraction(s.get("again_pct_less", 0)) / 100),
            "batch": Fraction(q, doc.get("batch_pairs", q)),
        }[s["per"]]
        hours += Fraction(s["minutes"]) * times / 60
        exact.append(Fraction(s["minutes"]) * times / 60 * rate_h)
    over = doc["overhead"]
    exact.append(
        hours * Fraction(over["per_active_hour"])
        + sum(exact, Fraction(0)) * Fraction(over["pct_of_direct"]) / 100
    )
    making = sum((cent(amount) for amount in exact), Fraction(0))
    post = {key: Fraction(value) for key, value in doc.get("postage", {}).items()}
    charged, sent = (
        post.get("charged", Fraction(0)),
        post.get("paid", Fraction(0)) + post.get("packing", Fraction(0)),
    )
    cost = making + sent

    tax, fees = doc["tax"], [doc["fees"], *doc.get("more_fees", [])]
    t = Fraction(tax["pct"]) / 100
    tp = t if tax.get("on_postage", True) else Fraction(0)
    net_post = charged / (1 + tp) if tax["included"] else charged
    share = fixed = post_fees = Fraction(0)
    for fee in fees:
        with_tax = fee["on"] == "price_with_tax"
        share += Fraction(fee["pct"]) / 100 * (1 + t if with_tax else 1)
        fixed += Fraction(fee["fixed"]) * fee.get("payments", 1)
        if fee.get("on_postage"):
            post_fees += Fraction(fee["pct"]) / 100 * net_post * (1 + tp if with_tax else 1)
    carried = max(Fraction(0), sent + post_fees - net_post)
    p = Fraction(doc["profit"]["pct"]) / 100
    if doc["profit"]["kind"] == "margin":
        net = (making + fixed + carried) / (1 - share - p)
    else:
        net = (making * (1 + p) + fixed + carried) / (1 - share)
    asked = net * (1 + t if tax["included"] else 1) / q
    step, end = Fraction(doc["round_up_to"]), Fraction(doc.get("round_ending", 0))
    least = Fraction(doc.get("least_price", 0))
    steps = (asked - end) / step
    steps = floor(steps + Fraction(1, 2)) if doc.get("round_way") == "nearest" else ceil(steps)
    per_pair = max(0, steps) * step + end
    if per_pair < least:
        per_pair = max(0, ceil((least - end) / step)) * step + end

    goods, hurry = per_pair * q, doc.get("rush", {"pct": 0, "fixed": 0})
    rush = cent(goods * Fraction(hurry["pct"]) / 100 + Fraction(hurry["fixed"]))
    said = goods + rush + charged
    taxed = said if tax.get("on_postage", True) else goods + rush
    if tax["included"]:
        due = cent(taxed * t / (1 + t))
        price, without = said, said - due
        post_with, post_without = charged, charged - cent(charged * tp / (1 + tp))
    else:
        due = cent(taxed * t)
        price, without = said + due, said
        post_with, post_without = charged + cent(charged * tp), charged
    taken = Fraction(0)
    for fee in fees:
        base = price if fee["on"] == "price_with_tax" else without
        if not fee.get("on_postage"):
            base -= post_with if fee["on"] == "price_with_tax" else post_without
        taken += cent(
            Fraction(fee["pct"]) / 100 * base + Fraction(fee["fixed"]) * fee.get("payments", 1)
        )
    return {
        "cost": cost,
        "price_per_pair": per_pair,
        "rush": rush,
        "postage": charged,
        "price": price,
        "price_without_tax": without,
        "tax": due,
        "fees": taken,
        "profit": price - due - taken - cost,
    }


TEN_QUOTES = [
    {"quantity": 1},
    {"quantity": 3, "round_ending": "0.40", "round_way": "nearest"},
    {"round_up_to": "1", "round_ending": "0.90"},
    {"round_up_to": "1", "round_way": "nearest", "profit": {"kind": "markup", "pct": "120"}},
    {"tax": {"pct": "0", "included": True, "registered": False}, "least_price": "199.00"},
    {"tax": {"pct": "25", "included": False, "on_postage": False}},
    {
        "fees": {
            "pct": "6.5",
            "fixed": "0.30",
            "on": "price_with_tax",
            "payments": 3,
            "on_postage": True,
        }
    },
    {
        "more_fees": [
            {"pct": "2.9", "fixed": "0.35", "on": "price_with_tax", "on_postage": True},
            {"pct": "1", "fixed": "0", "on": "price_without_tax"},
        ]
    },
    {"postage": {"charged": "0", "paid": "8.45", "packing": "1.20"}, "batch_pairs": 7},
    {"rush": {"pct": "15", "fixed": "5"}, "currency": "JPY", "round_up_to": "100"},
]
FULL = {
    "steps": [
        {"name": "setting up", "minutes": "25", "per": "batch"},
        {"name": "drafting", "minutes": "30", "per": "order"},
        {"name": "sewing", "minutes": "95", "per": "pair", "again_pct_less": "15"},
        {"name": "drying", "minutes": "180", "per": "pair", "passive": True},
    ],
    "rush": {"pct": "12.5", "fixed": "0"},
    "postage": {"charged": "9", "paid": "8", "packing": "1"},
}


@pytest.mark.parametrize("changes", TEN_QUOTES, ids=lambda changes: "-".join(changes))
def test_full_quote_is_what_fractions_alone_give(changes):
    doc = plain_job(**(FULL | changes))
    found = price_job(job_from_document(doc))
    wanted = recomputed(doc)
    assert {name: Fraction(getattr(found, name)) for name in wanted} == wanted


@given(sale_documents())
@settings(max_examples=60)
def test_any_sale_is_what_fractions_alone_give(doc):
    found = price_job(job_from_document(doc))
    wanted = recomputed(doc)
    assert {name: Fraction(getattr(found, name)) for name in wanted} == wanted


@given(sale_documents())
@settings(max_examples=60)
def test_shown_lines_of_a_sale_add_up_for_every_rounding(doc):
    found = price_job(job_from_document(doc))
    assert sum(line.amount for line in found.lines) == found.cost
    assert sum(line.amount for line in found.fee_lines) == found.fees
    assert found.cost + found.fees + found.profit + found.tax == found.price
    said = found.price if doc["tax"]["included"] else found.price_without_tax
    assert found.price_per_pair * found.pair_count + found.rush + found.postage == said
    for part in (*found.lines, *found.totals):
        assert part.how.endswith(f" = {part.amount:f}")


@given(sale_documents())
@settings(max_examples=60)
def test_price_is_on_its_grid_and_not_below_the_least(doc):
    price = price_job(job_from_document(doc)).price_per_pair
    assert (Fraction(price) - Fraction(doc["round_ending"])) % Fraction(doc["round_up_to"]) == 0
    assert price >= Decimal(doc["least_price"])


@given(sale_documents(), st.integers(0, 10**5))
@settings(max_examples=60)
def test_price_gives_profit_and_profit_gives_the_price_back_exactly(doc, units):
    job = job_from_document(doc)
    price = units * minor_unit(job.currency)
    assert exact_price(job, exact_profit(job, price)) == price


@given(sale_documents())
@settings(max_examples=60)
def test_profit_as_shown_gives_a_price_back_that_earns_it(doc):
    job = job_from_document(doc)
    at = profit_at_price(job, price_job(job).price_per_pair)
    back = price_for_profit(job, at.profit)
    assert at.profit <= back.profit
    assert back.price_per_pair <= at.price_per_pair
    # Steps of more than rounding can move: the very price comes back, to the cent.
    kept = exact_profit(job, Fraction(1)) - exact_profit(job, Fraction(0))
    doubt = minor_unit(job.currency) * (8 + len(job.all_fees))
    if Fraction(doc["round_up_to"]) * kept > doubt:
        assert back.price_per_pair == at.price_per_pair


@given(sale_documents())
@settings(max_examples=40)
def test_floor_of_a_sale_makes_no_loss(doc):
    job = job_from_document(doc)
    assert profit_at_price(job, floor_price(job)).profit >= 0


@given(sale_documents())
@settings(max_examples=40)
def test_sale_goes_through_its_file_unchanged(doc):
    job = job_from_document(doc)
    assert job_from_document(document_from_job(job)) == job
    written = document_from_breakdown(price_job(job))
    assert document_from_breakdown(breakdown_from_document(written)) == written


def test_plain_job_is_written_without_the_values_it_does_not_use():
    document = plain_job()
    assert set(document_from_job(job_from_document(document))) == set(document)
    written = document_from_breakdown(price_job(job_from_document(document)))
    assert not {"rush", "postage", "fee_lines"} & set(written)


@pytest.mark.parametrize(
    # Source: arithmetic by hand; asked 130.60 comes from a cost of 130.60 with nothing else.
    ("step", "ending", "way", "price"),
    [
        ("0.50", "0", "up", "131.00"),
        ("0.50", "0", "nearest", "130.50"),
        ("1", "0", "up", "131.00"),
        ("1", "0", "nearest", "131.00"),
        ("1", "0.90", "up", "130.90"),
        ("1", "0.90", "nearest", "130.90"),
        ("1", "0.50", "up", "131.50"),
        ("1", "0.50", "nearest", "130.50"),
        ("10", "9.90", "up", "139.90"),
        ("10", "9.90", "nearest", "129.90"),
    ],
)
def test_price_ends_as_it_is_asked_to(step, ending, way, price):
    doc = plain_job(
        quantity=1,
        materials=[],
        steps=[{"name": "all", "minutes": "60", "per": "order"}],
        labour_rate_per_hour="130.60",
        overhead={"per_active_hour": "0", "pct_of_direct": "0"},
        fees={"pct": "0", "fixed": "0", "on": "price_with_tax"},
        tax={"pct": "0", "included": True},
        profit={"kind": "markup", "pct": "0"},
        round_up_to=step,
        round_ending=ending,
        round_way=way,
    )
    assert price_job(job_from_document(doc)).price_per_pair == Decimal(price)


def test_fixed_fee_falls_once_with_each_payment():
    once = price_job(job_from_document(plain_job()))
    fees = plain_job()["fees"] | {"payments": 3}
    thrice = profit_at_price(job_from_document(plain_job(fees=fees)), once.price_per_pair)
    assert thrice.fees - once.fees == Decimal("0.60")


def test_fee_on_postage_takes_its_share_of_it_and_no_other_does():
    postage = {"charged": "10.00", "paid": "0", "packing": "0"}
    with_it = plain_job()["fees"] | {"on_postage": True}
    price = Decimal("200.00")
    off = profit_at_price(job_from_document(plain_job(postage=postage)), price)
    on = profit_at_price(job_from_document(plain_job(postage=postage, fees=with_it)), price)
    bare = profit_at_price(job_from_document(plain_job()), price)
    assert (off.fees, on.fees) == (bare.fees, bare.fees + Decimal("0.65"))


def test_profit_on_cost_may_be_more_than_all_of_it_and_of_the_price_may_not():
    markup = plain_job(profit={"kind": "markup", "pct": "150"})
    assert price_job(job_from_document(markup)).profit_percent_of_cost >= 150
    for percent in ("100", "120"):
        with pytest.raises(CostError) as caught:
            price_job(job_from_document(plain_job(profit={"kind": "margin", "pct": percent})))
        assert (caught.value.field, caught.value.code) == ("profit.pct", "nothing_left")


def test_labour_rate_of_a_job_may_be_zero():
    lines = price_job(job_from_document(plain_job(labour_rate_per_hour="0"))).lines
    assert all(line.amount == 0 for line in lines if line.group == "labour")


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"tax": {"pct": "20", "included": True, "registered": False}}, "tax.pct"),
        ({"tax": {"pct": "20", "included": True, "registered": "no"}}, "tax.registered"),
        ({"round_way": "down"}, "round_way"),
        ({"round_ending": "0.50"}, "round_ending"),
        ({"round_ending": "0.001"}, "round_ending"),
        ({"round_ending": "NaN"}, "round_ending"),
        ({"least_price": "-1"}, "least_price"),
        ({"least_price": "1e30"}, "least_price"),
        ({"rush": {"pct": "-1"}}, "rush.pct"),
        ({"rush": {"fixed": "0.001"}}, "rush.fixed"),
        ({"rush": {"percent": "1"}}, "rush.percent"),
        ({"postage": {"charged": "Infinity"}}, "postage.charged"),
        ({"postage": {"paid": "1e30"}}, "postage.paid"),
        ({"postage": []}, "postage"),
        ({"batch_pairs": 1}, "batch_pairs"),
        ({"batch_pairs": "2.5"}, "batch_pairs"),
        ({"more_fees": {}}, "more_fees"),
        ({"more_fees": [{"pct": "1", "fixed": "0", "on": "it"}]}, "more_fees[0].on"),
        (
            {"fees": {"pct": "1", "fixed": "0", "on": "price_with_tax", "payments": 0}},
            "fees.payments",
        ),
        (
            {"steps": [{"name": "a", "minutes": "-1", "per": "pair"}]},
            "steps[0].minutes",
        ),
        (
            {"steps": [{"name": "a", "minutes": "1", "per": "pair", "again_pct_less": "101"}]},
            "steps[0].again_pct_less",
        ),
    ],
    ids=str,
)
def test_faulty_sale_is_refused_by_name(changes, field):
    with pytest.raises(CostError) as caught:
        job_from_document(plain_job(**changes))
    assert caught.value.field == field
    assert caught.value.code


@pytest.mark.parametrize("profit", ["NaN", "Infinity", "1e30", "0.001"])
def test_profit_wanted_wrongly_is_refused_by_name(profit):
    with pytest.raises(CostError) as caught:
        price_for_profit(job_from_document(plain_job()), Decimal(profit))
    assert caught.value.field == "profit_wanted"
