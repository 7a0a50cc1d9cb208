"""Outlines of a boot drafted on a foot's mesh are curves that a knife can follow."""

import numpy as np
import pytest
from shapely import LinearRing, Polygon

from patterns.drafting import draft_pieces
from patterns.drafting.calm import calm_ring
from patterns.foot import Foot
from patterns.last import build_last, wrapped
from patterns.pieces.piece import PieceSet
from patterns.style import load_style
from tests.samples_meshes import sample_mesh

DRAFTED: list[PieceSet] = []


def drafted() -> PieceSet:
    if not DRAFTED:
        foot = Foot("sample", {"foot_length": 75.0}, mesh=sample_mesh())
        DRAFTED.append(draft_pieces(foot, load_style("lace-up-ankle-boot"), {}))
    return DRAFTED[0]


def run_of(piece_name: str, edge_name: str) -> np.ndarray:
    piece = next(piece for piece in drafted().pieces if piece.name == piece_name)
    return np.array(next(edge.points_mm for edge in piece.edges if edge.name == edge_name))


def turning_deg(run: np.ndarray, step_mm: float) -> np.ndarray:
    """How much a run turns from one step to the next, counter-clockwise positive."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(run, axis=0).T))])
    places = np.arange(0.0, along[-1], step_mm)
    even = np.column_stack([np.interp(places, along, run[:, k]) for k in (0, 1)])
    heading = np.unwrap(np.arctan2(*np.diff(even, axis=0).T[::-1]))
    return np.degrees(np.diff(heading))


@pytest.mark.parametrize("piece", ["outer side", "inner side"])
def test_the_lace_edge_bends_one_way_and_nowhere_sharply(piece):
    run = run_of(piece, "lace edge")
    if run[0, 1] > run[-1, 1]:
        run = run[::-1]
    turned = turning_deg(run[len(run) // 8 :], 1.5)  # the round corner at the toe line left out
    assert np.abs(turned).max() < 20.0
    against = turned[np.sign(turned) != np.sign(turned.sum())]
    assert np.abs(against).sum() < 0.25 * np.abs(turned.sum())


def test_the_heel_seam_and_back_stay_do_not_wander():
    # Waves, not the heel's own round, would turn to and fro.
    for edge in ("edge inner", "edge outer"):
        turned = turning_deg(run_of("back stay", edge)[1:-1], 2.0)
        assert np.abs(turned).max() < 12.0


def test_the_insole_bridges_the_hollow_beside_the_small_toe():
    insole = next(piece for piece in drafted().pieces if piece.name == "insole")
    start = max(insole.net_mm, key=lambda point: point[1])[0]  # the outer ball of a left foot
    outer = Polygon([point for point in insole.net_mm if point[0] >= start and point[1] > 0.0])
    assert outer.convex_hull.area - outer.area < 0.5


@pytest.mark.parametrize(
    "measures",
    [{"foot_length": 75.0}, {"foot_length": 42.0}, {"foot_length": 75.0, "ball_width": 35.0}],
)
def test_a_drawn_foots_insole_stays_as_it_is(measures):
    last = wrapped(build_last(Foot("drawn", measures)), 0.6)
    round_mm = last.grid_mm[1 : last.instep_station]
    outer = np.column_stack([round_mm[:, 0, 0], round_mm[..., 1].max(axis=1)])
    inner = np.column_stack([round_mm[:, 0, 0], round_mm[..., 1].min(axis=1)])
    heel = 0.2 * measures["foot_length"]
    outline = Polygon(np.vstack([outer, [[heel, outer[-1, 1]], [heel, inner[-1, 1]]], inner[::-1]]))
    calm = calm_ring(outline, measures["foot_length"], from_mesh=False)
    apart = LinearRing(calm).hausdorff_distance(LinearRing(outline.exterior.coords))
    assert apart < 0.05
