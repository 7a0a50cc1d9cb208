import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing

from patterns.errors import PatternError
from patterns.geometry import flatten as flattening
from patterns.geometry.cut_surface import cut_surface
from patterns.geometry.flatten import flatten
from patterns.geometry.runs import contour_runs, run_of_points
from patterns.geometry.strain import (
    flat_areas_mm2,
    flipped_count,
    principal_stretch,
    weighted_percentile,
)
from patterns.geometry.surface import Surface, boundary_loops, part_of, side_of, slit
from tests.patterns.geometry.surfaces import (
    ball_cap,
    bumpy_ball,
    bumpy_patch,
    square_grid,
    tube_ring,
    tube_sheet,
)

SEEDS = st.integers(0, 40)
FEW = settings(max_examples=12, deadline=None)


def whole_boundary(surface):
    """Return the boundary as a closed run."""
    loop = boundary_loops(surface.triangles, surface.points_mm)[0]
    return run_of_points([*loop, loop[0]])


def halves_of(surface):
    """Return two halves of a disc and their common edge as a run of each."""
    cut = cut_surface(surface, "middle", surface.points_mm[:, 1] - surface.points_mm[:, 2] - 0.3)
    halves = []
    for side in (-1, 1):
        part = part_of(cut, side_of(cut, "middle") == side)
        (loop,) = boundary_loops(part.triangles)
        on = part.on_curve("middle")[loop]
        turn = int(np.flatnonzero(on & ~np.roll(on, 1))[0])
        halves.append((part, run_of_points(np.roll(loop, -turn)[: int(on.sum())])))
    return halves


def apart_mm(first, second):
    """Return how far two flat lays of the same points differ once turned onto each other."""
    one, other = first @ [1, 1j], second @ [1, 1j]
    one, other = one - one.mean(), other - other.mean()
    turn = np.vdot(one, other)
    return float(np.abs(one * turn / abs(turn) - other).max())


@FEW
@given(SEEDS)
def test_no_triangle_turns_over_and_the_outline_does_not_cross_itself(seed):
    patch = bumpy_patch(seed, height_mm=0.35)
    flat = flatten(patch.points_mm, patch.triangles)
    (loop,) = boundary_loops(patch.triangles)
    assert flipped_count(patch.triangles, flat) == 0
    assert LinearRing(flat[loop]).is_simple


@FEW
@given(SEEDS)
def test_both_sides_of_a_seam_have_one_length_on_the_flat(seed):
    (first, seam), (second, partner) = halves_of(bumpy_patch(seed))
    lengths = []
    for part, run in ((first, seam), (second, partner)):
        flat = flatten(part.points_mm, part.triangles, stiff_runs=[run])
        lengths.append(run.length_mm(flat))
        assert run.length_mm(flat) == pytest.approx(run.length_mm(part.points_mm), abs=0.02)
    assert lengths[0] == pytest.approx(lengths[1], abs=0.02)


@FEW
@given(SEEDS)
def test_places_along_a_seam_drift_little(seed):
    part, seam = halves_of(bumpy_patch(seed))[0]
    flat = flatten(part.points_mm, part.triangles, stiff_runs=[seam])
    drift = np.cumsum(seam.steps_mm(flat) - seam.steps_mm(part.points_mm))
    assert np.abs(drift).max() < 0.5


@FEW
@given(SEEDS)
def test_girth_lines_keep_their_length(seed):
    patch = bumpy_patch(seed)
    heights = patch.points_mm[:, 2]
    runs = [
        contour_runs(patch.points_mm, patch.triangles, heights, level)[0] for level in (5, 9, 13)
    ]
    flat = flatten(patch.points_mm, patch.triangles, girth_runs=runs)
    for run in runs:
        assert run.length_mm(flat) == pytest.approx(run.length_mm(patch.points_mm), abs=0.02)


def test_held_lines_change_what_would_happen_without():
    patch = bumpy_patch(3)
    border = whole_boundary(patch)
    free = flatten(patch.points_mm, patch.triangles)
    held = flatten(patch.points_mm, patch.triangles, stiff_runs=[border])
    length = border.length_mm(patch.points_mm)
    assert abs(border.length_mm(free) - length) > 1.0
    assert abs(border.length_mm(held) - length) < 0.02


@FEW
@given(SEEDS, st.sampled_from([0.5, 4.0, 1024.0]))
def test_a_larger_surface_gives_the_same_piece_larger(seed, factor):
    part, seam = halves_of(bumpy_patch(seed))[0]
    flat = flatten(part.points_mm, part.triangles, stiff_runs=[seam])
    larger = flatten(factor * part.points_mm, part.triangles, stiff_runs=[seam])
    assert apart_mm(larger / factor, flat) < 0.01


@FEW
@given(SEEDS)
def test_a_mirrored_surface_gives_the_mirrored_piece(seed):
    patch = bumpy_patch(seed)
    flat = flatten(patch.points_mm, patch.triangles)
    mirrored = flatten(patch.points_mm * [1, -1, 1], patch.triangles[:, ::-1])
    assert apart_mm(mirrored * [1, -1], flat) < 0.02


@FEW
@given(SEEDS)
def test_turning_the_surface_in_space_changes_nothing(seed):
    patch = bumpy_patch(seed)
    turn = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    flat = flatten(patch.points_mm, patch.triangles)
    turned = flatten(patch.points_mm @ turn.T + 7.0, patch.triangles)
    assert apart_mm(turned, flat) < 0.02


def test_the_same_input_gives_the_same_places():
    patch = bumpy_patch(5)
    assert (
        flatten(patch.points_mm, patch.triangles) == flatten(patch.points_mm, patch.triangles)
    ).all()


def test_piece_is_seen_from_outside():
    cap = ball_cap(40, 5)  # seen from above
    flat = flatten(cap.points_mm, cap.triangles)
    assert (flat_areas_mm2(cap.triangles, flat) > 0).all()
    assert apart_mm(flat, cap.points_mm[:, :2]) < 3.0


@pytest.mark.parametrize("degrees", [150, 170])
def test_nearly_a_whole_ball_is_laid_flat_without_folds(degrees):
    ball = ball_cap(degrees, 12)
    flat = flatten(ball.points_mm, ball.triangles)
    assert flipped_count(ball.triangles, flat) == 0


def test_a_long_bent_strap_keeps_its_length():
    places, triangles = square_grid(121, 5)
    angle = 1.6 * np.pi * places[:, 0]
    points = [25 * np.cos(angle), 25 * np.sin(angle), 6 * places[:, 1] + 8 * np.sin(angle)]
    points = np.column_stack(points)
    middle = run_of_points(np.flatnonzero(np.isclose(places[:, 1], 0.5)))
    flat = flatten(points, triangles, girth_runs=[middle])
    major, _, area = principal_stretch(points, triangles, flat)
    assert middle.length_mm(flat) == pytest.approx(middle.length_mm(points), abs=0.02)
    assert weighted_percentile(major, area, 99) < 1.05


def test_a_dart_takes_stretch_away():
    cap = ball_cap(60, 10)
    spoke = np.flatnonzero(np.isclose(cap.points_mm[:, 1], 0) & (cap.points_mm[:, 0] >= 0))
    run = spoke[np.argsort(cap.points_mm[spoke, 0])][3:]
    opened = slit(cap, run)
    greatest = []
    for surface in (cap, opened):
        flat = flatten(surface.points_mm, surface.triangles)
        major, _, area = principal_stretch(surface.points_mm, surface.triangles, flat)
        greatest.append(weighted_percentile(major, area, 95) - 1)
    assert greatest[1] < 0.85 * greatest[0]


def test_slivers_left_by_several_cuts_do_not_fold():
    ball = bumpy_ball(7)
    cut = ball
    for number, level in enumerate((2.0, 2.4, 2.9, 3.0)):
        cut = cut_surface(cut, f"level {number}", cut.points_mm[:, 2] - level, snap=0.02)
    cut = cut_surface(cut, "upright", cut.points_mm[:, 0] - 1.0, snap=0.02)
    part = part_of(cut, (side_of(cut, "upright") > 0) & (side_of(cut, "level 0") > 0))
    flat = flatten(part.points_mm, part.triangles)
    assert flipped_count(part.triangles, flat) == 0


def test_a_single_triangle_lies_as_it_is():
    points = np.array([[0.0, 0.0, 0.0], [0.0, 4.0, 3.0], [0.0, 0.0, 7.0]])
    flat = flatten(points, np.array([[0, 1, 2]]))
    for a, b in ((0, 1), (1, 2), (2, 0)):
        assert np.linalg.norm(flat[a] - flat[b]) == pytest.approx(
            np.linalg.norm(points[a] - points[b])
        )


@pytest.mark.parametrize("shape", [tube_ring(), bumpy_ball(1)], ids=["ring", "closed"])
def test_parts_that_are_no_disc_are_refused(shape):
    with pytest.raises(PatternError) as fault:
        flatten(shape.points_mm, shape.triangles)
    assert fault.value.code == "part_not_a_disc"


def test_two_parts_at_once_are_refused():
    sheet = tube_sheet()
    middles = sheet.points_mm[sheet.triangles].mean(axis=1)[:, 2]
    both = part_of(sheet, (middles < 8) | (middles > 22))
    assert isinstance(both, Surface)
    with pytest.raises(PatternError, match="one patch"):
        flatten(both.points_mm, both.triangles)


@FEW
@given(SEEDS)
def test_a_convex_start_leads_to_the_same_piece(seed):
    patch = bumpy_patch(seed)
    flat = flatten(patch.points_mm, patch.triangles)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(flattening, "_conformal", lambda points, *_: np.zeros((len(points), 2)))
        again = flatten(patch.points_mm, patch.triangles)
    assert apart_mm(again, flat) < 0.02


@pytest.mark.parametrize("fault", ["folded", "not a number"])
def test_triangles_without_area_are_refused(fault):
    sheet = tube_sheet()
    points = sheet.points_mm.copy()
    points[40] = points[41] if fault == "folded" else np.nan
    with pytest.raises(PatternError) as raised:
        flatten(points, sheet.triangles)
    assert raised.value.code == "part_without_area"


def test_a_spiral_that_would_lie_over_itself_is_refused():
    places, triangles = square_grid(200, 4)
    angle, down = 2.4 * np.pi * places[:, 0], 8.0 * places[:, 0]
    radius = 20.0 + 4.0 * places[:, 1]
    points = np.column_stack([radius * np.cos(angle), radius * np.sin(angle), down])
    with pytest.raises(PatternError) as raised:
        flatten(points, triangles[:, ::-1])
    assert raised.value.code == "part_overlaps"
