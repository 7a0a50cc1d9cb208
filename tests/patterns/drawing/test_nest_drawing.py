"""A nest of outlines: each drawn as it is and led to its own name."""

import pytest
import shapely

from patterns.drawing.nest import NestRing, draw_nest


def square(half_mm: float):
    return ((-half_mm, -half_mm), (half_mm, -half_mm), (half_mm, half_mm), (-half_mm, half_mm))


RINGS = [NestRing(f"size {half}", square(half)) for half in (10, 12, 14, 11)]


def test_every_outline_is_drawn_as_it_is_and_named_once():
    drawing = draw_nest("toe box", RINGS)
    assert [s.points_mm for s in drawing.strokes if s.closed] == [ring.ring_mm for ring in RINGS]
    names = [words.text for words in drawing.words]
    assert sorted(names) == sorted(["toe box", *(ring.name for ring in RINGS)])


def test_each_leader_begins_on_its_own_outline_and_ends_at_its_name():
    drawing = draw_nest("toe box", RINGS)
    levels = {words.text: words.y_mm for words in drawing.words}
    leaders = [stroke for stroke in drawing.strokes if stroke.kind == "leader"]
    assert len(leaders) == len(RINGS)
    for leader in leaders:
        start, end = leader.points_mm
        name = min(levels, key=lambda text: abs(levels[text] + 1.1 - end[1]))
        ring = next(ring for ring in RINGS if ring.name == name)
        assert shapely.LinearRing(ring.ring_mm).distance(shapely.Point(start)) < 1e-9


def test_names_stand_beside_the_piece_and_apart_from_each_other():
    drawing = draw_nest("toe box", RINGS)
    boxes = [shapely.Polygon(words.ring()) for words in drawing.words]
    for k, box in enumerate(boxes):
        assert not any(box.intersects(other) for other in boxes[k + 1 :])
    named = [words for words in drawing.words if words.text.startswith("size")]
    assert all(words.x_mm > 14.0 for words in named)


@pytest.mark.parametrize("count", [1, 2])
def test_one_outline_or_two_equal_ones_are_drawn_too(count):
    drawing = draw_nest("sole", [NestRing(f"foot {k}", square(10)) for k in range(count)])
    assert sum(stroke.closed for stroke in drawing.strokes) == count
