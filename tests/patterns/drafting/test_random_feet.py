"""Thirty random sets of measures, 40 to 110 mm, each drafted and looked at by another program."""

import json

import pytest

from patterns.drafting import draft_pieces
from patterns.exchange.pieces_file import document_from_pieces
from patterns.style import load_style
from tests import check_pieces
from tests.patterns.random_feet import random_feet

FEET = random_feet(30)
BOOT = load_style("lace-up-ankle-boot")
WHOLE = 10  # of the feet get every piece, the others the upper's
UPPER_ONLY = {"lining": False, "stiffener": False, "back_stay": False}


@pytest.mark.parametrize("number", range(len(FEET)))
def test_every_foot_gets_pieces_that_pass_the_independent_checks(number, tmp_path, capsys):
    pieces = draft_pieces(FEET[number], BOOT, {} if number < WHOLE else UPPER_ONLY)
    assert [m.text for m in pieces.messages if m.level == "stop"] == []
    path = tmp_path / "pieces.json"
    path.write_text(json.dumps(document_from_pieces(pieces, with_mesh=True)))
    passed = check_pieces.main(str(path)) == 0
    assert passed, capsys.readouterr().out
