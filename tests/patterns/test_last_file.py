import json

import numpy as np
import pytest

from patterns.errors import FileError
from patterns.exchange.last_file import document_from_last, last_from_document
from patterns.last import build_last
from tests.patterns.samples_feet import sample_foot


def test_a_last_comes_back_from_its_file_to_the_last_digit():
    last = build_last(sample_foot())
    again = last_from_document(json.loads(json.dumps(document_from_last(last))))
    assert np.array_equal(again.grid_mm, last.grid_mm)
    assert np.array_equal(again.sole_mm, last.sole_mm)
    assert again.measures == last.measures
    for name in ("instep_station", "ankle_station", "foot_length_mm", "heel_raise_mm",
                 "lateral_sign", "source_kind", "thickness_mm"):  # fmt: skip
        assert getattr(again, name) == getattr(last, name)


@pytest.mark.parametrize(
    ("key", "value"),
    [("grid", [1.0, 2.0]), ("turns", "many"), ("source_kind", "guess"), ("measures", None)],
)
def test_a_faulty_file_is_refused(key, value):
    document = document_from_last(build_last(sample_foot()))
    with pytest.raises(FileError):
        last_from_document({**document, key: value})
