"""The shoe as bodies in space: closed where they must be, and where the drawings have them."""

import numpy as np
import pytest

from patterns.drafting import draft_pieces
from patterns.drawing.solid import document_from_bodies, solid_shoe, volume_mm3
from patterns.drawing.worn_sole import sole_profile
from patterns.foot import Foot
from patterns.last import build_last
from patterns.style import load_style
from tests.patterns.samples_drafts import cut
from tests.patterns.samples_feet import sample_foot, sample_measures
from tests.shared import shared

STYLES = ("lace-up-ankle-boot", "lace-shoe", "open-sandal")


@pytest.fixture(scope="module")
def last():
    return build_last(sample_foot())


def by_name(style, last, **values):
    return {body.name: body for body in solid_shoe(cut(style=style, **values), last)}


def raised():
    """Return the bodies of a boot for a foot cast with its heel 12 mm up."""
    foot = Foot("raised", sample_measures() | {"heel_raise": 12.0})
    style = load_style("lace-up-ankle-boot")
    values = style.values({"heel_height_mm": 12.0})
    key = ("solid raised", style.sha256)
    pieces = shared("cut", key, lambda: draft_pieces(foot, style, values))
    return {body.name: body for body in solid_shoe(pieces, build_last(foot))}


def edges_of(body):
    """Return how often each directed side of a triangle occurs."""
    sides = np.vstack([body.triangles[:, pair] for pair in ([0, 1], [1, 2], [2, 0])])
    return {tuple(side) for side in sides.tolist()}, len(sides)


@pytest.mark.parametrize("style", STYLES)
def test_every_body_is_made_of_its_own_points(last, style):
    bodies = by_name(style, last)
    assert {"foot", "outsole"} < set(bodies)
    assert {body.kind for body in bodies.values()} == {"foot", "leather", "sole"}
    for body in bodies.values():
        assert np.isfinite(body.points_mm).all()
        assert 0 <= body.triangles.min() <= body.triangles.max() < len(body.points_mm)


@pytest.mark.parametrize("name", ["foot", "outsole", "heel"])
def test_what_is_solid_is_closed_and_faces_outwards(name):
    body = raised()[name]
    directed, count = edges_of(body)
    # Closed: each side of a triangle is once the side of a neighbour, the other way round.
    assert len(directed) == count
    assert {(b, a) for a, b in directed} == directed
    assert volume_mm3(body) > 0.0


def test_the_outsole_is_as_thick_as_asked_and_larger_than_the_foot(last):
    pieces = cut(style="lace-up-ankle-boot")
    body = by_name("lace-up-ankle-boot", last)["outsole"]
    outsole = next(piece for piece in pieces.pieces if piece.name == "outsole")
    ring = np.array([point for edge in outsole.edges for point in edge.points_mm])
    size = np.ptp(body.points_mm, axis=0)
    # As long and as broad as the piece that is cut for it.
    assert size[:2] == pytest.approx(np.ptp(ring, axis=0), abs=0.1)
    profile = sole_profile(pieces.parameters, last)
    thick = pieces.parameters["sole_thickness_mm"] + pieces.parameters["feather_mm"]
    assert profile.top_mm - profile.under_mm == pytest.approx(thick)


def test_a_heel_stands_on_one_level_and_meets_the_outsole():
    bodies = raised()
    heel, outsole = bodies["heel"], bodies["outsole"]
    assert np.ptp(heel.points_mm[2::4, 2]) == pytest.approx(0.0, abs=1e-9)
    assert heel.points_mm[0::4, 2].max() == pytest.approx(outsole.points_mm[2::4, 2].max())
    assert heel.points_mm[2, 2] == pytest.approx(outsole.points_mm[:, 2].min(), abs=0.01)


def test_leather_lies_outside_the_bare_foot_and_eyelets_look_outwards(last):
    bodies = by_name("lace-up-ankle-boot", last)
    side = bodies["outer side"]
    assert len(side.rings) > 0
    for ring in side.rings:
        at, facing = np.array(ring.at_mm), np.array(ring.facing)
        assert np.linalg.norm(facing) == pytest.approx(1.0)
        near = np.linalg.norm(side.points_mm - at, axis=1).min()
        assert near < 0.05 * last.foot_length_mm
        level = last.points_mm[np.abs(last.points_mm[:, 2] - at[2]) < 3.0].mean(axis=0)
        assert facing @ (at - level) > 0.0
    across = [np.abs(bodies[name].points_mm[:, 1]).max() for name in ("outer side", "inner side")]
    assert min(across) > 0.0


def test_a_wedge_inside_tilts_foot_and_leather_alike(last):
    flat = by_name("lace-up-ankle-boot", last)
    values = {"heel_height_mm": 10.0, "wedge_inside": True}
    raised = by_name("lace-up-ankle-boot", last, **values)
    heel = flat["foot"].points_mm[:, 0].argmin()
    lift = raised["foot"].points_mm[heel, 2] - flat["foot"].points_mm[heel, 2]
    assert lift == pytest.approx(10.0, abs=0.5)
    sizes = [np.ptp(bodies["foot"].points_mm @ np.eye(3), axis=0) for bodies in (flat, raised)]
    assert sizes[0][1] == pytest.approx(sizes[1][1])  # turned about y, so as broad as before


def test_as_plain_values_there_are_three_numbers_a_point(last):
    for row in document_from_bodies(solid_shoe(cut(style="lace-shoe"), last)):
        assert len(row["points"]) % 3 == len(row["triangles"]) % 3 == 0
        assert max(row["triangles"]) < len(row["points"]) // 3
