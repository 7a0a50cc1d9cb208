from math import cos, dist, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patterns.pieces.eyelets import eyelet_row


@given(st.floats(0, 200), st.floats(2, 20), st.integers(0, 12))
def test_eyelets_are_even_and_never_closer_than_the_pitch(length, pitch, asked):
    row = eyelet_row([(0.0, 0.0), (length / 2, 0.0), (length + 1e-6, 0.0)], pitch, asked)
    gaps = [dist(a, b) for a, b in zip(row.centres_mm, row.centres_mm[1:], strict=False)]
    assert all(gap >= pitch - 1e-3 for gap in gaps)
    assert max(gaps, default=0) - min(gaps, default=0) < 1e-6
    if asked:
        assert len(row.centres_mm) == min(asked, row.most)
    if row.most > 1 and len(row.centres_mm) > 1:
        assert row.centres_mm[-1][0] == pytest.approx(length, abs=1e-3)


def test_round_a_bend_the_straight_distance_counts():
    arc = [(10 * cos(k * pi / 200), 10 * sin(k * pi / 200)) for k in range(201)]  # 31.4 mm long
    row = eyelet_row(arc, 7.8)
    gaps = [dist(a, b) for a, b in zip(row.centres_mm, row.centres_mm[1:], strict=False)]
    assert len(row.centres_mm) == 4  # five would fit along the bend, but 7.65 mm apart
    assert min(gaps) >= 7.8
