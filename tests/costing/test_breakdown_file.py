import json
from decimal import Decimal

import pytest
from hypothesis import given

from costing.errors import CostError
from costing.job_file import (
    breakdown_from_document,
    document_from_breakdown,
    job_from_document,
)
from costing.price import price_job
from tests.samples_jobs import job_documents, plain_job


def plain_breakdown():
    return document_from_breakdown(price_job(job_from_document(plain_job())))


@given(job_documents())
def test_breakdown_read_from_its_file_makes_the_same_file(job_document):
    document = document_from_breakdown(price_job(job_from_document(job_document)))
    stored = json.loads(json.dumps(document))
    assert document_from_breakdown(breakdown_from_document(stored)) == document


def test_breakdown_read_from_its_file_holds_every_figure():
    priced = price_job(job_from_document(plain_job()))
    read = breakdown_from_document(plain_breakdown())
    assert [(line.name, line.amount, line.how) for line in read.lines] == [
        (line.name, line.amount, line.how) for line in priced.lines
    ]
    assert [(total.code, total.amount) for total in read.totals] == [
        (total.code, total.amount) for total in priced.totals
    ]
    assert (read.profit_percent_of_cost, read.active_min) == (
        priced.profit_percent_of_cost,
        priced.active_min,
    )


def test_sums_of_a_breakdown_read_from_its_file_say_their_parts():
    hows = {total.code: total.how for total in breakdown_from_document(plain_breakdown()).totals}
    document = plain_breakdown()
    assert hows["price"] == (
        f"{document['price_without_tax']} + tax {document['tax']} = {document['price']}"
    )
    assert hows["profit"].endswith(f"= {document['profit']}")
    assert hows["fees"] == f"{document['fees']} as agreed"


def test_loss_may_be_written_in_a_breakdown():
    document = plain_breakdown() | {"profit": "-3.50"}
    assert breakdown_from_document(document).profit == Decimal("-3.50")


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"price": "many"}, "price"),
        ({"tax": "NaN"}, "tax"),
        ({"profit_pct_of_price": True}, "profit_pct_of_price"),
        ({"lines": [{"group": "rent", "name": "a", "amount": "1", "how": ""}]}, "lines[0].group"),
        ({"lines": [{"group": "labour", "name": "a", "how": ""}]}, "lines[0].amount"),
        ({"quantity": "1.5"}, "quantity"),
        ({"currency": None}, "currency"),
    ],
)
def test_faulty_breakdown_is_refused_by_name(changes, field):
    with pytest.raises(CostError) as caught:
        breakdown_from_document(plain_breakdown() | changes)
    assert caught.value.field == field


@pytest.mark.parametrize("key", list(plain_breakdown()))
def test_breakdown_without_one_of_its_keys_is_refused(key):
    document = plain_breakdown()
    del document[key]
    with pytest.raises(CostError) as caught:
        breakdown_from_document(document)
    assert (caught.value.field, caught.value.code) == (key, "missing")
