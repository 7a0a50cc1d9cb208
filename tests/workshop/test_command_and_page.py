"""The command and the page run the same code: the same pieces to the last digit."""

import json

import pytest
from django.core.management import call_command

from patterns.exchange.foot_file import document_from_foot
from workshop.services.quoting import work_out

pytestmark = [pytest.mark.django_db, pytest.mark.paper]


def test_the_same_choice_by_command_gives_the_same_pieces(choice, tmp_path):
    worked = work_out(choice)
    foot = tmp_path / "foot.json"
    foot.write_text(json.dumps(document_from_foot(worked.foot)))
    out = tmp_path / "pieces.json"
    call_command("draft", str(foot), "--style", "lace-up-ankle-boot", "--out", str(out))
    by_command = json.loads(out.read_text())["pieces"]
    by_page = [piece.name for piece in worked.pieces.pieces]
    assert [piece["name"] for piece in by_command] == by_page
    for piece, other in zip(by_command, worked.pieces.pieces, strict=True):
        assert [tuple(point) for point in piece["cut"]] == list(other.cut_mm)
