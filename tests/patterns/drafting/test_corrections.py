import numpy as np
import pytest

from patterns.drafting import draft_pieces
from patterns.errors import StyleError
from patterns.style import load_style
from tests.patterns.samples_drafts import cut
from tests.patterns.samples_feet import mesh_foot, sample_foot

BOOT = load_style("lace-up-ankle-boot")


def corrected(key, change_mm):
    return draft_pieces(sample_foot(), BOOT, {}, corrections={key: change_mm})


def girth(pieces, station):
    return next(c.last_mm for c in pieces.girth_closure if c.station == station)


def test_a_girth_corrected_by_two_mm_is_two_mm_longer_on_the_last():
    wider = corrected("girth:ankle_girth", 2.0)
    assert girth(wider, "ankle") - girth(cut(), "ankle") == pytest.approx(2.0, abs=0.1)
    assert wider.corrections == {"girth:ankle_girth": 2.0}


def test_a_line_moved_by_two_mm_moves_by_two_mm_of_leather():
    higher = corrected("curve:topline", 2.0)
    for name in ("outer side", "inner side", "back stay"):
        before, after = (p.piece(name).mesh.points_mm[:, 2].max() for p in (cut(), higher))
        assert after - before == pytest.approx(2.0, abs=0.2), name


def test_the_lining_s_edge_moves_with_the_upper_s():
    higher = corrected("curve:topline", 2.0)
    tops = [p.piece("outer side lining").mesh.points_mm[:, 2].max() for p in (cut(), higher)]
    assert np.diff(tops)[0] == pytest.approx(2.0, abs=0.2)


def test_partners_stay_equal_when_their_line_is_moved():
    for seam in corrected("curve:toe line", -2.0).seams:
        assert seam.mismatch_mm < 0.05


@pytest.mark.parametrize(
    ("corrections", "code"),
    [
        ({"girth:collar": 1.0}, "correction-unknown"),
        ({"curve:no such line": 1.0}, "correction-unknown"),
        ({"wish:topline": 1.0}, "correction-unknown"),
        ({"girth:ankle_girth": 40.0}, "correction-range"),
        ({"curve:topline": float("nan")}, "correction-range"),
    ],
)
def test_a_correction_of_nothing_or_out_of_proportion_is_refused(corrections, code):
    with pytest.raises(StyleError) as refused:
        draft_pieces(sample_foot(), BOOT, {}, corrections=corrections)
    assert refused.value.code == code
    assert refused.value.field.startswith("corrections.")


@pytest.mark.parametrize(
    ("measure", "station"), [("ankle_girth", "ankle"), ("instep_girth", "instep")]
)
def test_a_girth_of_a_mesh_is_changed_on_its_last(measure, station):
    wider = draft_pieces(mesh_foot(), BOOT, {}, corrections={f"girth:{measure}": 2.0})
    assert girth(wider, station) - girth(cut("mesh"), station) == pytest.approx(2.0, abs=0.25)
    assert girth(wider, "ball") - girth(cut("mesh"), "ball") == pytest.approx(0.0, abs=0.4)


def test_a_mesh_has_its_own_lengths():
    with pytest.raises(StyleError) as refused:
        draft_pieces(mesh_foot(), BOOT, {}, corrections={"girth:instep_height": 1.0})
    assert refused.value.code == "correction-mesh"
