import numpy as np
import pytest

from patterns.geometry.curves import polyline_length_mm
from tests.patterns.samples_drafts import cut


def dart_edges(piece):
    return [edge for edge in piece.edges if edge.name.startswith("dart")]


@pytest.mark.parametrize(
    ("style", "name"), [("lace-up-ankle-boot", "toe box"), ("slip-on", "vamp")]
)
def test_a_dart_has_two_edges_that_fit_each_other(style, name):
    piece = cut("measures", style, toe_dart=True).piece(name)
    one, other = dart_edges(piece)
    assert (one.partner.piece, one.partner.edge) == (name, other.name)
    assert (other.partner.piece, other.partner.edge) == (name, one.name)
    lengths = [polyline_length_mm(edge.points_mm) for edge in (one, other)]
    assert lengths[0] == pytest.approx(lengths[1], abs=0.05)
    assert {edge.name for edge in piece.edges if edge.kind == "lasting"} == {
        "lasting outer", "lasting inner"}  # fmt: skip


@pytest.mark.parametrize(
    ("foot", "style"),
    [("measures", "lace-up-ankle-boot"), ("measures", "slip-on"), ("mesh", "lace-shoe")],
)
def test_edges_round_a_dart_follow_each_other_and_every_point_is_on_one(foot, style):
    drafted = cut(foot, style, toe_dart=True)
    piece = next(p for p in drafted.pieces if dart_edges(p))
    runs = [ids for _, ids in piece.mesh.edge_points]
    for run, following in zip(runs, [*runs[1:], runs[0]], strict=True):
        assert run[-1] == following[0]
    assert len({k for run in runs for k in run}) == sum(len(run) - 1 for run in runs)


def test_a_dart_is_as_long_as_asked_and_closes_on_the_last():
    piece = cut("measures", "lace-shoe", toe_dart=True).piece("vamp")
    runs = dict(piece.mesh.edge_points)
    one, other = (piece.mesh.points_mm[list(runs[f"dart {side}"])] for side in ("outer", "inner"))
    assert np.allclose(one, other[::-1], atol=1e-9)
    length = np.linalg.norm(np.diff(one, axis=0), axis=1).sum()
    assert 0.16 * 75.0 <= length < 0.16 * 75.0 + 2.0


def test_a_dart_spares_the_leather():
    plain = cut("measures", "lace-up-ankle-boot").piece("toe box").checks
    darted = cut("measures", "lace-up-ankle-boot", toe_dart=True).piece("toe box").checks
    assert darted.stretch_p99_pct < 0.8 * plain.stretch_p99_pct


def test_a_split_toe_has_no_dart():
    pieces = cut("measures", "lace-shoe", toe_dart=True, toe_split=True)
    assert not [edge for piece in pieces.pieces for edge in dart_edges(piece)]
