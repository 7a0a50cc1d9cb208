import numpy as np
import pytest
from shapely import LinearRing, Polygon

from patterns.geometry.curves import polyline_length_mm
from tests.patterns.samples_drafts import cut

# Figures to hold on the sample foot, 75 mm long. They are this project's own aims: no published
# limits for doll footwear are known.
SEAM_MM, DRIFT_MM, CLOSURE_MM = 0.05, 0.2, 0.3
SIDE_STRETCH_PCT, TOE_STRETCH_PCT = (6.5, 9.0), (10.0, 14.0)
OUTLINE_MM = 0.02
SURFACE_PIECES = {
    "toe box", "outer side", "inner side", "back stay", "outer side lining",
    "inner side lining", "heel stiffener",
}  # fmt: skip
FLAT_PIECES = {
    "tongue", "facing tape outer", "facing tape inner", "insole", "filler", "sock lining",
    "outsole", "toe form",
}  # fmt: skip


def test_a_pair_has_every_piece_it_needs():
    pieces = cut()
    with_mesh = {piece.name for piece in pieces.pieces if piece.mesh is not None}
    assert with_mesh == SURFACE_PIECES
    assert {piece.name for piece in pieces.pieces} - with_mesh == FLAT_PIECES
    assert {piece.material for piece in pieces.pieces} == {"upper", "lining", "card", "sole"}


def test_partners_know_each_other():
    edges = {(p.name, e.name): e.partner for p in cut().pieces for e in p.edges}
    joined = {own: (e.piece, e.edge) for own, e in edges.items() if e is not None}
    assert len(joined) == 8  # heel seam and its lining, the toe line on both sides
    assert all(joined[other] == own for own, other in joined.items())


@pytest.mark.parametrize("foot", ["measures", "mesh", "tracing"])
def test_seams_have_equal_length_from_end_to_end_and_between(foot):
    seams = cut(foot).seams
    assert len(seams) == 4
    for seam in seams:
        assert seam.mismatch_mm <= SEAM_MM, seam
        assert seam.drift_mm <= DRIFT_MM, seam


@pytest.mark.parametrize("foot", ["measures", "mesh", "tracing"])
def test_every_girth_closes_round_the_last(foot):
    closures = cut(foot).girth_closure
    assert {c.station for c in closures} >= {"ball", "instep", "heel_instep", "ankle", "shaft top"}
    for closure in closures:
        assert abs(closure.pattern_mm - closure.last_mm) <= CLOSURE_MM, closure


@pytest.mark.parametrize("foot", ["measures", "mesh", "tracing"])
def test_leather_stretches_no_more_than_it_may(foot):
    for piece in cut(foot).pieces:
        if piece.checks is None:
            continue
        p95, p99 = TOE_STRETCH_PCT if piece.name == "toe box" else SIDE_STRETCH_PCT
        assert piece.checks.flips == 0
        assert piece.checks.stretch_p95_pct <= p95, piece.name
        assert piece.checks.stretch_p99_pct <= p99, piece.name


def test_net_outlines_are_the_border_of_the_flat_surface():
    for piece in cut().pieces:
        if piece.mesh is None:
            continue
        border = [k for _, ids in piece.mesh.edge_points for k in ids[:-1]]
        ring = LinearRing(piece.mesh.flat_mm[border])
        off = ring.hausdorff_distance(LinearRing(piece.net_mm))
        assert off <= OUTLINE_MM, piece.name


def test_edges_go_round_without_a_gap():
    for piece in cut().pieces:
        for edge, after in zip(piece.edges, [*piece.edges[1:], piece.edges[0]], strict=True):
            assert edge.points_mm[-1] == pytest.approx(after.points_mm[0], abs=1e-9)


def test_both_sides_carry_as_many_eyelets_and_none_closer_than_the_pitch():
    pieces = cut()
    rows = [pieces.piece(name).holes for name in ("outer side", "inner side")]
    assert len(rows[0]) == len(rows[1]) >= 3
    for row in rows:
        places = np.array([(hole.x_mm, hole.y_mm) for hole in row])
        steps = np.linalg.norm(np.diff(places, axis=0), axis=1)
        assert steps.min() >= 8.0 - 1e-6
        assert np.ptp(steps) < 1e-4


def test_eyelets_stand_as_far_from_the_lace_edge_as_asked():
    pieces = cut()
    asked = pieces.parameters["eyelet_edge_mm"]
    for name in ("outer side", "inner side"):
        piece = pieces.piece(name)
        lace = next(edge for edge in piece.edges if edge.name == "lace edge")
        for hole in piece.holes:
            away = np.hypot(*(np.array(lace.points_mm) - (hole.x_mm, hole.y_mm)).T).min()
            assert away == pytest.approx(asked, abs=0.02)


def test_lasting_margins_of_two_sides_never_meet_under_the_insole():
    pieces = cut()
    insole = Polygon(pieces.piece("insole").net_mm)
    margin = {entry.piece: entry.margin_mm for entry in pieces.lasting}
    heel = insole.bounds[0] + 0.15 * (insole.bounds[2] - insole.bounds[0])
    low, high = 1e9, -1e9
    for x, y in pieces.piece("insole").net_mm:
        if abs(x - heel) < 1.0:
            low, high = min(low, y), max(high, y)
    assert margin["outer side"] + margin["inner side"] < high - low


def test_linings_are_smaller_than_the_upper_by_their_own_layer():
    pieces = cut()
    for side in ("outer side", "inner side"):
        upper, lining = pieces.piece(side), pieces.piece(f"{side} lining")
        seams = [
            next(polyline_length_mm(e.points_mm) for e in p.edges if e.name == "lasting")
            for p in (upper, lining)
        ]
        assert seams[1] < seams[0]
        assert Polygon(lining.net_mm).area < Polygon(upper.net_mm).area


def test_seam_notches_of_partners_meet_at_the_same_place_of_the_last():
    pieces = cut(boot_height_mm=72.0)
    outer, inner = pieces.piece("outer side"), pieces.piece("inner side")
    counts = [sum(n.edge == "heel seam" for n in p.notches) for p in (outer, inner)]
    assert counts[0] == counts[1] >= 1
    shares = [sorted(n.t for n in p.notches if n.edge == "heel seam") for p in (outer, inner)]
    assert shares[0] == pytest.approx(sorted(1 - t for t in shares[1]), abs=1e-3)
