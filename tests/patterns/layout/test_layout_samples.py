import json

import pytest

from patterns.exchange.layout_file import document_from_layout
from patterns.layout import lay_out
from tests.samples_layouts import SAMPLES, sample_document, sample_request
from tests.verify_layout import check

STEPS = 12


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_is_laid_validly_and_well_in_a_few_steps(name):
    layout = lay_out(sample_request(name), seed=7, steps=STEPS)
    answer = check(sample_document(name), document_from_layout(layout))
    assert answer["errors"] == []
    assert answer["complete_sets"] == layout.complete_sets >= 1
    assert answer["placed_area_mm2"] == pytest.approx(layout.used_area_mm2, abs=0.01)
    assert layout.steps == STEPS
    # Measured with other seeds: 0.65 to 0.74; half is what careless laying reaches.
    assert layout.density > 0.5


def test_the_same_seed_and_steps_give_the_same_bytes_and_another_seed_does_not():
    request = sample_request("remnant_300x200")
    texts = [
        json.dumps(document_from_layout(lay_out(request, seed=seed, steps=6))) for seed in (5, 5, 6)
    ]
    assert texts[0] == texts[1] != texts[2]


def test_every_layout_shown_on_the_way_is_valid_and_none_is_worse_than_the_last():
    request = sample_request("remnant_300x200")
    seen = []
    lay_out(request, seed=3, steps=30, on_progress=seen.append)
    assert [progress.step for progress in seen] == list(range(1, 31))
    instance = sample_document("remnant_300x200")
    for progress in seen:
        assert check(instance, document_from_layout(progress.layout))["errors"] == []
    worth = [(p.layout.complete_sets, p.layout.used_area_mm2) for p in seen]
    assert worth == sorted(worth)
    assert worth[-1] > worth[0]


@pytest.mark.parametrize("after", [1, 2, 9])
def test_cancelling_at_any_time_leaves_a_valid_layout(after):
    asked = []

    def is_cancelled() -> bool:
        asked.append(True)
        return len(asked) >= after

    layout = lay_out(sample_request("remnant_300x200"), seed=2, is_cancelled=is_cancelled)
    answer = check(sample_document("remnant_300x200"), document_from_layout(layout))
    assert answer["errors"] == []
    assert layout.steps == after
    assert layout.placed > 0


def test_seconds_end_the_search_by_the_clock_given():
    ticks = iter(range(1000))
    layout = lay_out(
        sample_request("remnant_300x200"), seed=2, seconds=10.0, clock=lambda: float(next(ticks))
    )
    # The clock moves by one second a look: one look to start with, then one a step.
    assert layout.steps == 9
