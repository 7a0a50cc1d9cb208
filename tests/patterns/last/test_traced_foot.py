"""Lasts of traced feet: the drawings give the shape, girths correct what drawings cannot show."""

from dataclasses import replace

import numpy as np
import pytest

from patterns.foot import Foot
from patterns.last import Last, build_last
from patterns.last.drawings import drawings_of
from patterns.last.measuring import GridTape
from patterns.mesh_in import mesh_side_shadow, mesh_sole_outline
from tests.patterns.samples_feet import mesh_foot, sample_measures, traced_foot

LENGTH_MM = 75.0
USUAL = 0.02  # percent, for measures that were given


def tracings_of_sample() -> dict[str, tuple[tuple[float, float], ...]]:
    """Return what a pencil would draw round the sample mesh, from above and from the side."""
    mesh = mesh_foot().mesh
    outline = mesh_sole_outline(mesh, LENGTH_MM, 0.0)
    shadow = mesh_side_shadow(mesh)
    low = [k for k, (_, z) in enumerate(shadow) if z < 0.3 * LENGTH_MM]
    start = max(low, key=lambda k: shadow[k][0])
    run = [*shadow[start:], *shadow[:start]]
    top = max(range(len(run)), key=lambda k: run[k][1])
    end = next(k for k in range(top, len(run)) if run[k][1] < 1.0)
    return {"sole_outline_mm": tuple(outline), "side_profile_mm": tuple(run[: end + 1])}


@pytest.fixture(scope="module")
def tracings():
    return tracings_of_sample()


@pytest.fixture(scope="module")
def from_tracings(tracings) -> Last:
    return build_last(Foot("traced", {"foot_length": LENGTH_MM}, **tracings))


def silhouettes(last: Last) -> tuple[np.ndarray, np.ndarray]:
    """Return half-way breadths along the sole, and heights of the ridge, at a few stations."""
    tape = GridTape(last.grid_mm)
    breadths, heights = [], []
    for share in (0.55, 0.6, 0.68, 0.75, 0.82):
        points = tape.section((share * LENGTH_MM, 0, 0), (1, 0, 0))
        breadths.append(np.ptp(points[:, 1]))
        heights.append(points[:, 2].max())
    return np.array(breadths), np.array(heights)


def test_last_follows_both_drawings(tracings, from_tracings):
    drawn = drawings_of(Foot("traced", {"foot_length": LENGTH_MM}, **tracings))
    breadths, heights = silhouettes(from_tracings)
    shares = np.array([0.55, 0.6, 0.68, 0.75, 0.82])
    outer, inner = drawn.outline.half_breadths(shares)
    assert breadths == pytest.approx((outer + inner) * LENGTH_MM, rel=0.04)
    asked = [drawn.profile.ridge_at(share) * LENGTH_MM for share in shares]
    assert heights == pytest.approx(asked, rel=0.06)


def test_girths_from_tracings_alone_are_near_those_of_the_foot(from_tracings):
    # Drawings alone would make ball, waist and instep 3 to 11 % too big; the bound is what girths
    # inferred from proportion leave on a foot of the sample's own kind.
    truth = sample_measures()
    found = {entry.name: entry.built_mm for entry in from_tracings.measures}
    for key in ("ball_girth", "instep_girth", "heel_instep_girth", "ankle_girth"):
        assert found[key] == pytest.approx(truth[key], rel=0.03), key


def test_given_girths_correct_the_drawings(tracings):
    last = build_last(Foot("traced and measured", sample_measures(), **tracings))
    assert last.source_kind == "tracing"
    assert max(abs(entry.residual_percent) for entry in last.measures) < USUAL


@pytest.mark.parametrize("left_out", ["sole_outline_mm", "side_profile_mm"])
def test_one_drawing_alone_will_do(left_out):
    last = build_last(replace(traced_foot(), **{left_out: None}))
    assert last.source_kind == "tracing"
    given = [entry for entry in last.measures if not entry.inferred]
    assert {entry.name for entry in given} == set(traced_foot().measures_mm)
    assert max(abs(entry.residual_percent) for entry in given) < USUAL


def test_toes_are_bridged(tracings, from_tracings):
    outer = from_tracings.grid_mm[2:25, from_tracings.turn_count // 4]
    steps = np.diff(outer[:, :2], axis=0)
    turn = steps[:-1, 0] * steps[1:, 1] - steps[:-1, 1] * steps[1:, 0]
    assert (turn >= -1e-3).all() or (turn <= 1e-3).all()


def test_right_foot_traced_mirrored_is_the_mirror_image():
    left = traced_foot()
    mirrored = tuple((x, -y) for x, y in left.sole_outline_mm)
    right = replace(left, foot_side="right", sole_outline_mm=mirrored)
    other = build_last(left).grid_mm * [1, -1, 1]
    assert np.allclose(build_last(right).grid_mm, other, atol=1e-6)


def test_scaled_tracing_gives_a_scaled_last():
    foot = traced_foot()
    twice = Foot(
        "twice",
        {key: 2 * value for key, value in foot.measures_mm.items()},
        sole_outline_mm=tuple((2 * x, 2 * y) for x, y in foot.sole_outline_mm),
        side_profile_mm=tuple((2 * x, 2 * z) for x, z in foot.side_profile_mm),
    )
    assert np.abs(2 * build_last(foot).grid_mm - build_last(twice).grid_mm).max() < 1e-3
