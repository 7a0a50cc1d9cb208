from decimal import Decimal

import pytest

from patterns.errors import HideError
from patterns.hide import DEFECTS_MAX, HIDE_SIZE_MAX_MM, GradedArea, Hide
from tests.samples_layouts import rectangle

SQUARE = rectangle(100, 100)
SPOT = rectangle(5, 5, 20, 20)
CROSSED = ((0, 0), (10, 10), (10, 0), (0, 10))


@pytest.mark.parametrize(
    ("make", "code", "field"),
    [
        (lambda: Hide("", SQUARE), "no_name", "id"),
        (lambda: Hide("H-1", CROSSED), "self_crossing", "outer"),
        (lambda: Hide("H-1", SQUARE, (SPOT, CROSSED)), "self_crossing", "holes.1"),
        (lambda: Hide("H-1", SQUARE, (SPOT,) * (DEFECTS_MAX + 1)), "too_many_defects", "holes"),
        (lambda: Hide("H-1", rectangle(3001, 10)), "hide_too_large", "outer"),
        (lambda: Hide("H-1", SQUARE, cost=Decimal("-1")), "cost_out_of_range", "cost"),
        (lambda: Hide("H-1", SQUARE, cost=Decimal("NaN")), "cost_out_of_range", "cost"),
        (lambda: Hide("H-1", SQUARE, cost=Decimal("1e10")), "cost_out_of_range", "cost"),
        (lambda: GradedArea(0, SPOT), "grade_too_low", "grade"),
        (lambda: GradedArea(2, CROSSED), "self_crossing", "outer"),
    ],
)
def test_an_unusable_hide_is_refused_by_field(make, code, field):
    with pytest.raises(HideError) as caught:
        make()
    assert (caught.value.code, caught.value.field) == (code, field)


def test_the_largest_hide_and_the_most_defects_pass():
    size = HIDE_SIZE_MAX_MM
    hide = Hide("H-1", rectangle(size, size), (SPOT,) * DEFECTS_MAX, cost=Decimal("120.00"))
    assert len(hide.defects_mm) == DEFECTS_MAX
