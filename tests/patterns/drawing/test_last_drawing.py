"""A last from four sides: each view as large as the form, girths where a tape would lie."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from patterns.drawing.drawing import box_round
from patterns.drawing.last import GIRTHS, draw_last, girth_lines
from patterns.drawing.view import NearSurface, View, shadow
from patterns.foot import Foot
from patterns.last import Last, build_last
from tests.patterns.samples_feet import sample_measures

SIDE = View("side", (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
FRONT = View("front", (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@cache
def sample_last(side: str = "left") -> Last:
    return build_last(Foot("sample", sample_measures(), foot_side=side))


def ball_last(radius_mm: float = 20.0) -> Last:
    """Return a ball as if it were a last: every view of it is a circle."""
    angle = np.linspace(0.0, np.pi, 41)
    turn = np.linspace(0.0, 2 * np.pi, 48, endpoint=False)
    x = radius_mm * np.cos(angle)[:, None] * np.ones_like(turn)
    y = radius_mm * np.sin(angle)[:, None] * np.sin(turn)
    z = radius_mm - radius_mm * np.sin(angle)[:, None] * np.cos(turn)
    return replace(sample_last(), grid_mm=np.stack([x, y, z], axis=2), measures=())


def test_a_ball_is_a_circle_from_every_side():
    # Source: area of a disc, pi r^2; a polygon of 48 corners inside it falls 0.3 % short.
    for view in (SIDE, FRONT):
        outline = shapely.Polygon(shadow(view, ball_last().grid_mm))
        assert outline.area == pytest.approx(np.pi * 20.0**2, rel=0.005)


def test_of_a_ring_round_a_ball_just_the_near_half_is_seen():
    last = ball_last()
    ring = last.grid_mm[20]  # the upright great circle, seen edge on from the side
    surface = NearSurface(SIDE, last.grid_mm)
    near = surface.seen(ring)
    towards = SIDE.nearness(ring)
    assert near[towards > 5.0].all()
    assert not near[towards < -5.0].any()


@pytest.mark.parametrize("side", ["left", "right"])
def test_girths_are_as_long_as_the_last_was_built_to(side):
    last = sample_last(side)
    built = {measure.name: measure.built_mm for measure in last.measures}
    lines = girth_lines(last)
    assert set(lines) == set(GIRTHS)
    for key, line in lines.items():
        closed = np.vstack([line, line[:1]])
        length = np.linalg.norm(np.diff(closed, axis=0), axis=1).sum()
        assert length == pytest.approx(built[key], rel=0.004), key


def test_the_four_views_have_the_size_of_the_last():
    last = sample_last()
    low, high = last.points_mm.min(axis=0), last.points_mm.max(axis=0)
    fills = [box_round(fill.ring_mm) for fill in draw_last(last).fills]
    long, wide, tall = high - low
    assert [box.width_mm for box in fills] == pytest.approx([long, wide, wide, long], abs=0.1)
    assert [box.height_mm for box in fills] == pytest.approx([tall, tall, tall, wide], abs=0.1)


def test_every_girth_is_named_with_its_figure_and_no_words_stand_in_each_other():
    drawing = draw_last(sample_last())
    texts = [words.text for words in drawing.words]
    for name, figure in (("ball", "74.2"), ("heel and instep", "99.8"), ("ankle", "61.3")):
        assert f"{name} {figure}" in texts
    boxes = [shapely.Polygon(words.ring()) for words in drawing.words]
    for k, box in enumerate(boxes):
        assert not any(box.intersects(other) for other in boxes[k + 1 :]), texts[k]


def test_a_right_foots_outer_side_is_the_left_ones_seen_in_a_mirror():
    left, right = draw_last(sample_last("left")), draw_last(sample_last("right"))
    one, other = shapely.Polygon(left.fills[0].ring_mm), shapely.Polygon(right.fills[0].ring_mm)
    mirrored = shapely.transform(other, lambda points: points * [-1.0, 1.0])
    assert one.symmetric_difference(mirrored).area < 0.01 * one.area


def test_the_same_last_is_drawn_the_same():
    assert draw_last(sample_last()) == draw_last(sample_last())
