"""Leather for a pair without a hide: checked against sheets whose waste is known exactly."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patterns.errors import LayoutError
from patterns.layout.estimate import (
    DEFAULT_SAMPLES,
    MEASURED_BY_ENGINE,
    WasteSample,
    leather_estimate,
)

STYLE = "lace-shoe"


def sample(used: float, taken: float, **more) -> WasteSample:
    return replace(WasteSample(STYLE, 75.0, 1, used, taken), **more)


def estimate(samples, net: float = 1000.0, style: str = STYLE, length: float = 75.0):
    return leather_estimate(net, style=style, foot_length_mm=length, samples=samples)


@pytest.mark.external
@pytest.mark.parametrize(
    ("used", "taken", "waste"),
    [
        # Source: rectangles tile, and so does a triangle with its half-turned copy: waste 0.
        (200.0, 200.0, 0.0),
        # Source: pi / sqrt 12 is the best of all disc packings,
        # math.stonybrook.edu/~tony/whatsnew/column/pennies-1200/cass2.html: waste 9.31 %.
        (math.pi, math.sqrt(12.0), 0.0931),
    ],
)
def test_the_waste_of_a_lattice_comes_back(used, taken, waste):
    found = estimate([sample(used, taken), sample(3 * used, 3 * taken)])
    assert found.waste_share == pytest.approx(waste, abs=5e-5)
    assert found.area_mm2 == pytest.approx(1000.0 * taken / used)


def test_layouts_of_the_style_and_size_count_more_than_others():
    mine, other = sample(80, 100), sample(50, 100, style="slip-on")
    assert estimate([mine, other]).waste_share < 0.35
    far = sample(50, 100, foot_length_mm=150.0)
    assert estimate([mine, far]).waste_share == pytest.approx(0.2, abs=0.01)


def test_real_layouts_take_over_from_the_default_ones():
    real = [sample(80 + n % 3, 100, style="lace-up-ankle-boot") for n in range(12)]
    before = leather_estimate(1000, style="lace-up-ankle-boot", foot_length_mm=75)
    after = estimate([*DEFAULT_SAMPLES, *real], style="lace-up-ankle-boot")
    assert (before.own_samples, after.own_samples) == (0, 12)
    assert after.waste_share < before.waste_share
    assert after.high_mm2 - after.low_mm2 < before.high_mm2 - before.low_mm2 + 500


def test_default_samples_are_marked_as_measured_by_the_engine():
    assert {row.measured for row in DEFAULT_SAMPLES} == {MEASURED_BY_ENGINE}


@given(
    st.lists(st.floats(0.4, 1.0), min_size=1, max_size=8),
    st.floats(1, 1e6),
    st.floats(20, 200),
)
def test_the_likely_area_lies_between_low_and_high_and_is_never_below_net(shares, net, length):
    found = estimate([sample(100 * share, 100) for share in shares], net, length=length)
    assert net <= found.low_mm2 * (1 + 1e-9)
    assert found.low_mm2 <= found.area_mm2 <= found.high_mm2
    assert 1 - max(shares) - 1e-9 <= found.waste_share <= 1 - min(shares) + 1e-9


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: estimate([]), "no_samples"),
        (lambda: estimate([sample(1, 2)], net=0.0), "out_of_range"),
        (lambda: estimate([sample(1, 2)], length=math.nan), "out_of_range"),
        (lambda: sample(2, 1), "bad_sample"),
        (lambda: sample(math.nan, 1), "bad_sample"),
    ],
)
def test_what_cannot_be_estimated_is_refused(call, code):
    with pytest.raises(LayoutError) as caught:
        call()
    assert caught.value.code == code
