"""Thirty random sets of measures, 40 to 110 mm, drafted; some looked at by another program."""

import json

import pytest
from shapely import Polygon

from patterns.drafting import draft_pieces
from patterns.exchange.pieces_file import document_from_pieces
from patterns.style import load_style
from tests import check_pieces
from tests.patterns.random_feet import random_feet

FEET = random_feet(30)
BOOT = load_style("lace-up-ankle-boot")
WHOLE = 5  # of the feet get every piece and the other program's look, the others the upper's
SIDE_STRETCH_PCT, STRETCH_PCT = (6.5, 9.0), {"toe box": (10.0, 14.0)}
UPPER_ONLY = {"lining": False, "stiffener": False, "back_stay": False}


@pytest.mark.parametrize("number", range(WHOLE))
def test_every_foot_gets_pieces_that_pass_the_independent_checks(number, tmp_path, capsys):
    pieces = draft_pieces(FEET[number], BOOT, {})
    assert [m.text for m in pieces.messages if m.level == "stop"] == []
    path = tmp_path / "pieces.json"
    path.write_text(json.dumps(document_from_pieces(pieces, with_mesh=True)))
    passed = check_pieces.main(str(path)) == 0
    assert passed, capsys.readouterr().out


@pytest.mark.parametrize("number", range(WHOLE, len(FEET)))
def test_nothing_flips_or_crosses_itself_and_leather_stretches_little_on_any_foot(number):
    pieces = draft_pieces(FEET[number], BOOT, UPPER_ONLY)
    assert [m.text for m in pieces.messages if m.level == "stop"] == []
    for piece in pieces.pieces:
        assert Polygon(piece.net_mm).is_valid, piece.name
        assert Polygon(piece.cut_mm).is_valid, piece.name
        if piece.checks is not None:
            assert piece.checks.flips == 0, piece.name
            p95, p99 = STRETCH_PCT.get(piece.name, SIDE_STRETCH_PCT)
            assert piece.checks.stretch_p95_pct <= p95, piece.name
            assert piece.checks.stretch_p99_pct <= p99, piece.name
    assert max(seam.mismatch_mm for seam in pieces.seams) <= 0.2
    assert max(abs(c.pattern_mm - c.last_mm) for c in pieces.girth_closure) <= 0.8
