from decimal import Decimal

import pytest

from costing.job_file import document_from_breakdown, document_from_job, job_from_document
from costing.price import price_job
from tests.samples_jobs import plain_job, read_price_file

BREAKDOWN_KEYS = [
    "currency",
    "quantity",
    "lines",
    "cost",
    "cost_per_pair",
    "price_per_pair",
    "price",
    "price_without_tax",
    "tax",
    "fees",
    "profit",
    "profit_pct_of_price",
    "profit_pct_of_cost",
    "active_minutes",
    "passive_minutes",
]


@pytest.mark.parametrize("name", ["a", "b", "c"])
def test_worked_file_comes_out_as_its_answer(name):
    job = job_from_document(read_price_file(f"job_{name}.json"))
    document = document_from_breakdown(price_job(job))
    answer = read_price_file(f"answer_{name}.json")
    figures = [(line["group"], line["name"], line["amount"]) for line in document["lines"]]
    assert figures == [(line["group"], line["name"], line["amount"]) for line in answer["lines"]]
    answer.pop("lines")
    assert {key: document[key] for key in answer} == answer


def test_breakdown_file_has_exactly_its_keys_in_order():
    document = document_from_breakdown(price_job(job_from_document(plain_job())))
    assert list(document) == BREAKDOWN_KEYS
    assert list(document["lines"][0]) == ["group", "name", "amount", "how"]


def test_job_file_of_a_job_reads_back_as_the_same_job():
    job = job_from_document(plain_job())
    assert job_from_document(document_from_job(job)) == job


def test_numbers_may_be_text_decimals_or_whole_numbers():
    typed = plain_job(labour_rate_per_hour="16")
    for value in (16, Decimal("16"), Decimal("1.6E+1"), "1.6e1"):
        same = price_job(job_from_document(plain_job(labour_rate_per_hour=value)))
        assert same.price == price_job(job_from_document(typed)).price


def test_passive_may_be_left_out_and_means_hands_on():
    job = job_from_document(plain_job())
    assert [step.passive for step in job.steps] == [False, False, True]


def test_notes_beside_the_job_are_ignored():
    assert job_from_document(plain_job(note="for a friend")) == job_from_document(plain_job())


def test_names_may_be_in_any_script():
    document = plain_job()
    document["materials"][0]["name"] = "chèvre 山羊\u00a0革 👢"
    assert job_from_document(document).materials[0].name == document["materials"][0]["name"]


def test_a_line_says_how_it_came_about_with_its_numbers():
    lines = price_job(job_from_document(plain_job())).lines
    assert lines[0].how == "2.8 dm2 x 2 pairs / (1 - 30 %) = 8 dm2 at 1.15 = 9.20"
    assert lines[1].how == "24 piece x 2 pairs = 48 piece at 0.05 = 2.40"
    assert lines[2].how == "30 min for the order at 16.00 an hour = 8.00"
    assert lines[3].how == "95 min x 2 pairs = 190 min at 16.00 an hour = 50.67"


def test_waiting_costs_nothing_and_is_counted_apart():
    breakdown = price_job(job_from_document(plain_job()))
    assert "drying" not in [line.name for line in breakdown.lines]
    assert (breakdown.active_min, breakdown.passive_min) == (Decimal("220.00"), Decimal("360.00"))


def test_profit_of_nothing_is_said_to_be_none():
    free = plain_job(materials=[], steps=[], fees={"pct": 0, "fixed": 0, "on": "price_with_tax"})
    document = document_from_breakdown(price_job(job_from_document(free)))
    assert document["price"] == "0.00"
    assert document["profit_pct_of_price"] is None
    assert document["profit_pct_of_cost"] is None
